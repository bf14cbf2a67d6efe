"""A table of requirements into item documents; quantities it names for the first time are made."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial

from tracker.errors import BadKeyError, BadValueError
from tracker.exchange.tables import (
    PURE,
    SHARED_ALIASES,
    Document,
    Documents,
    Row,
    TableKind,
    collected,
)
from tracker.model.address import parse_address
from tracker.model.records import Quantity, kind_of
from tracker.model.texts import LINE_LIMIT
from tracker.services.session import Reading

__all__ = ["REQUIREMENTS", "KindOf", "requirement_documents"]

_BOUNDS = ("lower", "upper", "target", "scale")
_AS_THEY_ARE = ("statement", "quantity", "guard", "source", "owner", "verification", "gate")
_LISTS = ("allowed", "parents")
_SEPARATORS = re.compile(r"[,;|]")
_CREATED = ("real", "integer", "flag", "point")
_REMEDIES: Mapping[str, str] = {
    "type": "New ones are real, integer or flag, or point for a component; add others first",
    "unit": "Leave it empty",
}

KindOf = Callable[[str], str]
"""Returns the type of the quantity that has a key, or the kind of another item; empty for none."""


def requirement_documents(rows: Sequence[Row], kind_of: KindOf) -> Documents:
    """Describe the requirements of a table, and the quantities it names for the first time.

    Parameters
    ----------
    rows : sequence of Row
        The rows.
    kind_of : callable
        Tells the types of the quantities there are.
    """
    return collected(rows, partial(_described, kind_of, {}))


def _described(kind_of: KindOf, made: dict[str, str], row: Row) -> Iterator[Document]:
    yield from _quantity(row, kind_of, made)
    yield _requirement(row)


def _requirement(row: Row) -> Document:
    document: Document = {"kind": "requirement", "key": row.cells["key"]}
    document |= row.filled(_AS_THEY_ARE)
    document |= {name: row.typed(name) for name in row.filled(_BOUNDS)}
    for name in _LISTS:
        parts = [each.strip() for each in _SEPARATORS.split(row.cells.get(name, ""))]
        if any(parts):
            document[name] = [each for each in parts if each]
    return document


def _quantity(row: Row, kind_of: KindOf, made: dict[str, str]) -> Iterator[Document]:
    """Describe the quantity of a row, where neither programme nor file has it yet."""
    said = row.cells.get("type", "").lower()
    try:
        address = parse_address(row.cells["quantity"])
    except BadKeyError:
        return  # whoever reads the requirement's document says what is wrong with it
    held = kind_of(address.key) or made.get(address.key, "")
    if held and said not in ("", held):
        raise _wrong(row, "type", f"{address.key} is of type {held}, not {said[:40]}")
    kind = held or said or "real"
    unit = _unit(row)
    if unit and kind in ("flag", "choice"):
        raise _wrong(row, "unit", f"{address.key} is of type {kind} and has no unit")
    if unit == PURE:
        raise _wrong(row, "unit", "a pure number has no sign for its unit")
    if held:
        return
    if kind not in _CREATED or (kind == "point") is not bool(address.part):
        raise _wrong(row, "type", f"{address.key} is new and cannot be made as {kind[:40]} here")
    made[address.key] = kind
    title = " ".join(row.cells["statement"].split())[:LINE_LIMIT] or address.key
    yield {"kind": "quantity", "key": address.key, "title": title, "type": kind, "unit": unit}


def _unit(row: Row) -> str:
    """Return the unit a row's bounds are in; empty when it says none."""
    units = (row.unit(name) for name in ("lower", "upper", "target"))
    return next((each for each in units if each), "")


def _wrong(row: Row, column: str, message: str) -> BadValueError:
    return row.wrong(column, message, _REMEDIES[column])


def _in_programme(rows: Sequence[Row], reading: Reading) -> Documents:
    def kind(key: str) -> str:
        record = reading.programme.find(key)
        if isinstance(record, Quantity):
            return record.kind.value
        return kind_of(record) if record else ""

    return requirement_documents(rows, kind)


REQUIREMENTS = TableKind(
    columns=(
        "key", "statement", "quantity", "type", "unit", "lower", "upper", "target", "guard",
        "scale", "allowed", "source", "owner", "verification", "parents", "gate",
    ),
    required=("key", "statement", "quantity"),
    numbers=frozenset({*_BOUNDS, "guard"}),
    measured=frozenset(_BOUNDS),
    telling=frozenset({"statement", "quantity", "lower", "upper", "target", "guard", "allowed"}),
    long=frozenset({"statement"}),
    aliases={name: column for name, column in SHARED_ALIASES.items() if column in ("key", "unit")},
    documents=_in_programme,
)  # fmt: skip
"""A table of requirements, one to a row."""
