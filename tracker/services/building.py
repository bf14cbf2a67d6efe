"""What building records from documents needs: ids by key, kinds, units."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TypeVar

from tracker.errors import InputError, UnknownKeyError
from tracker.model.records import Bound, Decision, Quantity, Record, kind_of
from tracker.model.units import Unit
from tracker.services.fields import Fields
from tracker.services.reading import read_real
from tracker.services.session import Reading

__all__ = ["Builder", "about", "bound_of", "gate_id", "ids_of"]

R = TypeVar("R", bound=Record)


@contextmanager
def about(item: str, field: str) -> Iterator[None]:
    """Name item and field in errors that name none."""
    try:
        yield
    except InputError as problem:
        problem.item = problem.item or item
        problem.field = problem.field or field
        raise


@dataclass
class Builder:
    """The programme, the items being built, and who has which key.

    Parameters
    ----------
    reading : Reading
        The programme the items go into.
    built : dict of str to Record
        Records built so far, by id.
    """

    reading: Reading
    built: dict[str, Record] = field(default_factory=dict)
    _claims: dict[str, tuple[str, str]] = field(default_factory=dict)

    def claim(self, key: str, record_id: str, kind: str) -> str:
        """Give a key to an id, before its record exists."""
        self._claims[key] = (record_id, kind)
        return record_id

    def claimed(self, key: str) -> bool:
        """Tell whether a key has been given away."""
        return key in self._claims

    def own_id(self, key: str) -> str:
        """Return the id a key was given to."""
        return self._claims[key][0]

    def id_of(self, key: str, kinds: tuple[str, ...], item: str, where: str) -> str:
        """Return the id of an item of some kind that exists or is being built.

        Raises
        ------
        UnknownKeyError
            Neither, or it is of another kind; `item` and `where` are named.
        """
        found = self.reading.programme.find(key)
        held = self._claims.get(key, ("", "") if found is None else (found.id, kind_of(found)))
        if held[1] in kinds:
            return held[0]
        if held[1]:
            message, remedy = f"{key} is a {held[1]}, not a {' or '.join(kinds)}", ""
        else:
            message, remedy = f"nothing is called {key[:80]!r}", "Add it first"
        raise UnknownKeyError(message, item=item, field=where, remedy=remedy)

    def quantity(self, key: str, item: str, where: str) -> Quantity:
        """Return a quantity that exists or has been built.

        Raises
        ------
        UnknownKeyError
            As `record`.
        """
        return self.record(key, Quantity, item, where)

    def record(self, key: str, cls: type[R], item: str, where: str) -> R:
        """Return an item of a type that exists or has been built.

        Raises
        ------
        UnknownKeyError
            There is none, it is another kind of item, or it could not be built.
        """
        record_id = self.id_of(key, (cls.__name__.lower(),), item, where)
        record = self.built.get(record_id) or self.reading.programme.get(record_id)
        if isinstance(record, cls):
            return record
        raise UnknownKeyError(f"{key} is wrong itself", item=item, field=where)

    def known(self, record_id: str, cls: type[R]) -> R:
        """Return what an item that exists or has been built refers to."""
        record = self.built.get(record_id)
        return record if isinstance(record, cls) else self.reading.programme.at(record_id, cls)

    def held(self, key: str) -> Decision | None:
        """Return the decision an amendment starts from; None for a new item."""
        record = self.reading.programme.get(self.own_id(key))
        return record if isinstance(record, Decision) else None

    def unit(self, text: str, item: str, where: str) -> Unit:
        """Read a unit text."""
        with about(item, where):
            return self.reading.tools.units.read(text)


def ids_of(builder: Builder, fields: Fields, name: str, kinds: tuple[str, ...]) -> tuple[str, ...]:
    """Return the ids of the items that a field lists by key."""
    return tuple(builder.id_of(each, kinds, fields.key, name) for each in fields.texts(name))


def gate_id(builder: Builder, fields: Fields) -> str:
    """Return the id of the gate that something is due at; empty when at none."""
    gate = fields.text("gate")
    return builder.id_of(gate, ("gate",), fields.key, "gate") if gate else ""


def bound_of(builder: Builder, fields: Fields, name: str, unit: Unit) -> Bound | None:
    """Read a bound in a unit; None when the field is empty."""
    raw = fields.raw(name)
    if raw is None:
        return None
    units = builder.reading.tools.units
    value, typed = read_real(raw, unit, units, item=fields.key, field=name)
    return Bound(value=value, typed=typed)
