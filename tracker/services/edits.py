"""Setting values: quantities, components, cells, bounds, and what options state."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tracker.errors import (
    BadKeyError,
    BadValueError,
    BindingError,
    DecisionError,
    SourceError,
    UnknownKeyError,
)
from tracker.evaluate.binding import measure_of, part_measure
from tracker.evaluate.sources import row_place
from tracker.model.address import Address, cell_of, parse_address
from tracker.model.changes import Entry
from tracker.model.records import (
    Basis,
    Bound,
    Decision,
    DecisionState,
    Quantity,
    Record,
    Ref,
    Requirement,
    Setting,
)
from tracker.model.units import ONE
from tracker.model.values import AXES, CellKind, Kind
from tracker.services.ports import UnitReader
from tracker.services.reading import read_real, read_span, read_value
from tracker.services.session import Reading

__all__ = ["source_of", "value_entries"]

_BOUNDS = ("lower", "upper", "target", "scale")


def value_entries(
    reading: Reading, edits: Mapping[str, object], basis: Basis | None = None
) -> tuple[Entry, ...]:
    """Turn edits into journal entries.

    Parameters
    ----------
    reading : Reading
        The programme they refer to.
    edits : mapping of str to object
        Address → value as typed. An empty text takes a bound away or makes a value unknown.
    basis : Basis, optional
        Basis of the new values; a guess when not told.

    Returns
    -------
    tuple of Entry
        One per record.

    Raises
    ------
    InputError
        An address or a value does not fit; the item and field are named.
    """
    scratch = _Scratch(reading, basis or Basis())
    for text, raw in edits.items():
        scratch.edit(parse_address(text), raw)
    return scratch.entries()


def source_of(reading: Reading, quantity: Quantity) -> Record | None:
    """Return the decision that owns a quantity or the check that computes it; None for neither."""
    graph, programme = reading.engine.graph, reading.programme
    owner = programme.get(graph.owner.get(quantity.id, ""))
    return owner or programme.get(graph.writer.get(graph.index[quantity.id, ""], ""))


@dataclass(frozen=True, slots=True)
class _Target:
    quantity: Quantity
    setting: Setting | None
    store: Callable[[Setting], None]
    where: str


class _Scratch:
    """Records as edited so far."""

    def __init__(self, reading: Reading, basis: Basis) -> None:
        self._reading = reading
        self._units = reading.tools.units
        self._basis = basis
        self._edited: dict[str, Record] = {}

    def entries(self) -> tuple[Entry, ...]:
        return tuple(
            Entry(self._reading.programme.get(each), record)
            for each, record in self._edited.items()
        )

    def _now(self, record: Record) -> Record:
        return self._edited.get(record.id, record)

    def edit(self, address: Address, raw: object) -> None:
        if address.decision:
            self._edit_target(self._option_value(address), "", raw)
            return
        record = self._reading.programme.find(address.key)
        if record is None:
            raise UnknownKeyError(
                f"nothing is called {address.key!r}",
                item=str(address),
                remedy="`whybone list quantity` shows the keys there are",
            )
        record = self._now(record)
        if isinstance(record, Requirement):
            self._edit_bound(record, address.part, raw)
        elif isinstance(record, Quantity):
            self._edit_target(self._given(record), address.part, raw)
        else:
            raise BadKeyError(
                "only quantities, bounds and option values can be set",
                item=str(address),
                remedy="Write key=VALUE, REQ.upper=VALUE or DECISION/option.key=VALUE",
            )

    def _given(self, quantity: Quantity) -> _Target:
        source = source_of(self._reading, quantity)
        if source is not None:
            owned = isinstance(source, Decision)
            how = f"Write {source.key}/OPTION.{quantity.key}=…" if owned else "Change its inputs"
            word = "is owned by decision" if owned else "is computed by check"
            raise SourceError(f"it {word} {source.key}", item=quantity.key, remedy=how)

        def store(setting: Setting) -> None:
            self._edited[quantity.id] = replace(quantity, given=setting)

        return _Target(quantity, quantity.given, store, quantity.key)

    def _option_value(self, address: Address) -> _Target:
        programme = self._reading.programme
        decision = self._now(programme.named(address.decision, Decision))
        quantity = programme.named(address.key, Quantity)
        assert isinstance(decision, Decision)  # noqa: S101 - an edit keeps a record's kind
        option = next((each for each in decision.options if each.key == address.option), None)
        if option is None or quantity.id not in decision.owns:
            raise UnknownKeyError(
                f"{decision.key} has no option {address.option} that sets {address.key}",
                item=str(address),
                remedy="Options: " + ", ".join(each.key for each in decision.options),
            )
        if decision.state is DecisionState.SETTLED:
            raise DecisionError(
                "the decision is settled", item=str(address), remedy=f"Reopen {decision.key} first"
            )

        def store(setting: Setting) -> None:
            changed = replace(option, settings={**option.settings, quantity.id: setting})
            options = tuple(changed if each.id == option.id else each for each in decision.options)
            self._edited[decision.id] = replace(decision, options=options)

        return _Target(quantity, option.settings.get(quantity.id), store, str(address))

    def _edit_target(self, target: _Target, part: str, raw: object) -> None:
        quantity = target.quantity
        if raw == "" and not part:
            target.store(Setting(basis=self._basis, reason="taken away"))
            return
        if not part:
            measure = part_measure(quantity, "")
            value, typed = read_value(raw, measure, self._units, item=target.where)
        else:
            value, typed = self._with_part(target, part, raw), ""
        target.store(Setting(value=value, typed=typed, basis=self._basis))

    def _with_part(self, target: _Target, part: str, raw: object) -> Any:  # noqa: ANN401 - a Value
        quantity, where = target.quantity, str(Address(target.where, part))
        value = _part_value(self._units, quantity, part, raw, where)
        held = target.setting.value if target.setting else None
        if not isinstance(held, tuple):
            raise BadValueError("the whole has no value yet", item=where, remedy="Give it whole")
        if quantity.kind is Kind.POINT:
            return tuple(
                value if axis == part else old for axis, old in zip(AXES, held, strict=True)
            )
        return _with_cell(quantity, held, part, value, where)

    def _edit_bound(self, requirement: Requirement, part: str, raw: object) -> None:
        ref = Ref(id=requirement.quantity, part=requirement.part)
        unit = measure_of(self._reading.programme, ref).unit
        where = requirement.key
        new: Any
        if part == "guard":
            new = read_real(raw, ONE, self._units, item=where, field=part)[0]
        elif part == "allowed":
            new = _texts(raw)
        elif part not in _BOUNDS:
            raise BadKeyError(
                f"a requirement has no field {part!r} to set",
                item=where,
                remedy="Set " + ", ".join((*_BOUNDS, "guard", "allowed")),
            )
        elif raw == "":
            new = None
        elif part == "scale":
            new = Bound(value=read_span(raw, unit, self._units, item=where, field=part))
        else:
            value, typed = read_real(raw, unit, self._units, item=where, field=part)
            new = Bound(value=value, typed=typed)
        self._edited[requirement.id] = replace(requirement, **{part: new})


def _texts(raw: object) -> tuple[str, ...]:
    """Read a list of texts; one text is split at commas."""
    each = raw if isinstance(raw, list | tuple) else str(raw).split(",")
    return tuple(text for one in each if (text := str(one).strip()))


def _part_value(
    units: UnitReader, quantity: Quantity, part: str, raw: object, where: str
) -> object:
    cell = cell_of(part) if quantity.kind is Kind.TABLE else None
    kinds = {column.name: column.kind for column in quantity.columns}
    if cell is not None and kinds.get(cell[1]) is CellKind.TEXT:
        return str(raw)  # a text cell can be set, though no check can read it alone
    try:
        measure = part_measure(quantity, part)
    except BindingError:
        raise BadKeyError(f"it has no part {part!r}", item=quantity.key) from None
    return read_value(raw, measure, units, item=where)[0]


def _with_cell(quantity: Quantity, rows: Any, part: str, value: object, where: str) -> Any:  # noqa: ANN401 - table rows
    cell = cell_of(part)
    assert cell is not None  # noqa: S101 - the part was resolved above
    number = row_place(quantity, rows, cell[0])
    if number is None:
        raise UnknownKeyError(
            f"it has no row {cell[0]!r}",
            item=where,
            remedy="Rows: " + ", ".join(str(row[0]) for row in rows[:8]),
        )
    place = [column.name for column in quantity.columns].index(cell[1])
    changed = (*rows[number][:place], value, *rows[number][place + 1 :])
    return (*rows[:number], changed, *rows[number + 1 :])
