"""One bound check, compiled: where its inputs come from, where its outputs go, in which units."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from tracker.contract.check import Array, Port, Table
from tracker.errors import BindingError
from tracker.evaluate.plugin import Loaded
from tracker.evaluate.slots import Rows, frozen
from tracker.evaluate.verdict import Band
from tracker.model.address import cell_of
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Quantity, Ref, Requirement
from tracker.model.units import ONE, Conversion, Unit, conversion
from tracker.model.values import AXES, Cell, CellKind, Column, Kind, Value, canonical

__all__ = [
    "BOUND_PARTS",
    "Emit",
    "Gather",
    "Measure",
    "RuleBand",
    "emit_for",
    "gather_for",
    "literal_array",
    "measure_of",
    "part_measure",
    "rule_band",
    "use_signature",
]

BOUND_PARTS = ("lower", "upper", "target", "guard")
_Convert = Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class Measure:
    """Kind and unit of what an address holds."""

    kind: Kind
    unit: Unit = ONE
    choices: tuple[str, ...] = ()
    columns: tuple[Column, ...] = ()


class Gather(NamedTuple):
    """An input port and the slot it reads.

    Parameters
    ----------
    convert : callable or None
        From slot form in the source's unit to the port's.
    """

    port: str
    slot: int
    optional: bool
    convert: _Convert | None


class Emit(NamedTuple):
    """An output port and the slot it writes.

    Parameters
    ----------
    dtype, shape : numpy.dtype, tuple of int
        What a batch of one must come back as.
    codes : int
        Number of choices; 0 when it is no choice.
    plain : bool
        Whether it is a real in the slot's own unit.
    """

    port: str
    slot: int
    optional: bool
    dtype: np.dtype[Any]
    shape: tuple[int, ...]
    codes: int
    convert: _Convert | None
    plain: bool


@dataclass(frozen=True, slots=True)
class RuleBand:
    """A rule of a check, in the unit of the slot it judges."""

    output: str
    slot: int
    band: Band
    measure: Measure
    reason: str
    source: str


def measure_of(programme: Programme, ref: Ref) -> Measure:
    """Return kind and unit of what a reference points at.

    Raises
    ------
    BindingError
        The item is gone, or has no such part.
    """
    record = programme.get(ref.id)
    if isinstance(record, Requirement):
        return _bound_measure(programme, record, ref.part)
    if not isinstance(record, Quantity):
        raise BindingError("it points at something that no longer exists or holds no value")
    return part_measure(record, ref.part)


def part_measure(quantity: Quantity, part: str) -> Measure:
    """Return kind and unit of a quantity, or of a component or cell of it.

    Raises
    ------
    BindingError
        It has no such part.
    """
    if not part:
        return Measure(quantity.kind, quantity.unit, quantity.choices, quantity.columns)
    if quantity.kind is Kind.POINT and part in AXES:
        return Measure(Kind.REAL, quantity.unit)
    cell = cell_of(part)
    if quantity.kind is Kind.TABLE and cell is not None:
        return _cell_measure(quantity, cell[1])
    raise BindingError(f"a {quantity.kind} has no part {part!r}", item=quantity.key)


def _bound_measure(programme: Programme, requirement: Requirement, part: str) -> Measure:
    if part not in BOUND_PARTS:
        raise BindingError(
            f"a requirement has no part {part!r}",
            item=requirement.key,
            remedy="Use " + ", ".join(BOUND_PARTS),
        )
    if part == "guard":
        return Measure(Kind.REAL)
    judged = measure_of(programme, Ref(id=requirement.quantity, part=requirement.part))
    return Measure(Kind.REAL, judged.unit)


def _cell_measure(quantity: Quantity, name: str) -> Measure:
    column = next((each for each in quantity.columns if each.name == name), None)
    if column is None or column.kind is CellKind.TEXT:
        raise BindingError(f"the table has no value column {name!r}", item=quantity.key)
    return Measure(Kind(column.kind.value), column.unit)


def gather_for(loaded: Loaded, port: Port, slot: int, source: Measure) -> Gather:
    """Compile an input.

    Raises
    ------
    BindingError, DimensionError
        The source does not fit the port.
    """
    return Gather(port.key, slot, port.optional, _inward(loaded, port, source))


def _inward(loaded: Loaded, port: Port, source: Measure) -> _Convert | None:
    if source.kind is Kind.INTEGER and port.kind is Kind.REAL:
        return _affine(source.unit, loaded.units[port.key], port.key, widen=True)
    if source.kind is not port.kind:
        raise BindingError(
            f"a {source.kind} cannot feed a {port.kind}", field=port.key, remedy=port.doc
        )
    if port.kind is Kind.CHOICE:
        return _codes(source.choices, port)
    if port.kind is Kind.TABLE:
        return _table_reader(loaded, port, source.columns)
    if port.kind in (Kind.REAL, Kind.POINT):
        return _affine(source.unit, loaded.units[port.key], port.key)
    _refuse_scaling(source.unit, loaded.units[port.key], port.key)
    return None


def _refuse_scaling(source: Unit, target: Unit, port: str) -> None:
    """Refuse to convert whole numbers: they would not stay whole."""
    if conversion(source, target, field=port) is not None:
        raise BindingError(
            f"a whole number of {source.describe()} is not converted to {target.describe()}",
            field=port,
            remedy=f"Count it in {target.describe()}",
        )


def _affine(source: Unit, target: Unit, port: str, *, widen: bool = False) -> _Convert | None:
    convert = conversion(source, target, field=port)
    if convert is None:
        return (lambda array: frozen(array.astype(np.float64))) if widen else None
    scale, offset = convert.scale, convert.offset
    return lambda array: frozen(array * scale + offset)


def _codes(choices: tuple[str, ...], port: Port) -> _Convert | None:
    if choices == port.choices:
        return None
    strangers = [each for each in choices if each not in port.choices]
    if strangers:
        raise BindingError(
            "the check does not know the choice " + ", ".join(map(repr, strangers)),
            field=port.key,
            remedy="It knows " + ", ".join(port.choices),
        )
    codes = np.array([port.choices.index(each) for each in choices], dtype=np.int64)
    return lambda array: frozen(codes[array])


def _table_reader(loaded: Loaded, port: Port, columns: tuple[Column, ...]) -> _Convert:
    """Return a reader of rows into a `Table`, remembering the last rows it read."""
    readers = _column_readers(loaded, port, columns)
    last: list[tuple[Rows, Table]] = []

    def read(rows: Rows) -> Table:
        if not last or last[0][0] is not rows:
            made = {name: reader(rows) for name, reader in readers.items()}
            last[:] = [(rows, Table(MappingProxyType(made), len(rows)))]
        return last[0][1]

    return read


def _column_readers(
    loaded: Loaded, port: Port, columns: tuple[Column, ...]
) -> Mapping[str, Callable[[Rows], Array | tuple[str, ...]]]:
    places = {column.name: place for place, column in enumerate(columns)}
    readers: dict[str, Callable[[Rows], Array | tuple[str, ...]]] = {}
    for wanted in port.columns:
        place = places.get(wanted.name)
        if place is not None:
            target = loaded.units[f"{port.key}.{wanted.name}"]
            readers[wanted.name] = _column_reader(place, columns[place], wanted.kind, target)
        elif wanted.default is not None:
            readers[wanted.name] = _column_filler(wanted.kind, wanted.default)
        else:
            raise BindingError(f"the table lacks the column {wanted.name!r}", field=port.key)
    return readers


_CELL_DTYPES = {CellKind.REAL: np.float64, CellKind.INTEGER: np.int64, CellKind.FLAG: np.bool_}


def _column_reader(
    place: int, column: Column, wanted: CellKind, target: Unit
) -> Callable[[Rows], Array | tuple[str, ...]]:
    if wanted is not column.kind and (column.kind, wanted) != (CellKind.INTEGER, CellKind.REAL):
        raise BindingError(f"{column.kind} cells cannot feed {wanted} cells", field=column.name)
    if wanted is CellKind.TEXT:
        return lambda rows: tuple(str(row[place]) for row in rows)
    dtype = _CELL_DTYPES[wanted]
    if wanted is not CellKind.REAL:
        _refuse_scaling(column.unit, target, column.name)
        return lambda rows: frozen(np.array([row[place] for row in rows], dtype=dtype))
    convert = conversion(column.unit, target, field=column.name) or Conversion(1.0, 0.0)
    scale, offset = convert.scale, convert.offset
    return lambda rows: frozen(np.array([row[place] for row in rows], dtype=dtype) * scale + offset)


def _column_filler(wanted: CellKind, default: Cell) -> Callable[[Rows], Array | tuple[str, ...]]:
    if wanted is CellKind.TEXT:
        return lambda rows: (str(default),) * len(rows)
    return lambda rows: frozen(np.full(len(rows), default, dtype=_CELL_DTYPES[wanted]))


_PORT_DTYPES: Mapping[Kind, tuple[np.dtype[Any], tuple[int, ...]]] = {
    Kind.REAL: (np.dtype(np.float64), (1,)),
    Kind.INTEGER: (np.dtype(np.int64), (1,)),
    Kind.CHOICE: (np.dtype(np.int64), (1,)),
    Kind.FLAG: (np.dtype(np.bool_), (1,)),
    Kind.POINT: (np.dtype(np.float64), (1, 3)),
}


def emit_for(loaded: Loaded, port: Port, slot: int, quantity: Quantity | None) -> Emit:
    """Compile an output; without a quantity it stays in the port's unit.

    Raises
    ------
    BindingError, DimensionError
        The quantity does not fit the port.
    """
    if port.kind is Kind.TABLE:
        raise BindingError("a table output cannot be bound", field=port.key)
    convert = None if quantity is None else _outward(loaded, port, quantity)
    dtype, shape = _PORT_DTYPES[port.kind]
    plain = port.kind is Kind.REAL and convert is None
    return Emit(port.key, slot, port.optional, dtype, shape, len(port.choices), convert, plain)


def _outward(loaded: Loaded, port: Port, quantity: Quantity) -> _Convert | None:
    widen = port.kind is Kind.INTEGER and quantity.kind is Kind.REAL
    if quantity.kind is not port.kind and not widen:
        raise BindingError(
            f"the {port.kind} {port.key} cannot set a {quantity.kind}", item=quantity.key
        )
    if port.kind is Kind.CHOICE and quantity.choices != port.choices:
        raise BindingError(
            "its choices are not the check's", item=quantity.key, remedy=", ".join(port.choices)
        )
    unit = loaded.units[port.key]
    if quantity.kind in (Kind.REAL, Kind.POINT):
        return _affine(unit, quantity.unit, port.key, widen=widen)
    _refuse_scaling(unit, quantity.unit, port.key)
    return None


def rule_band(loaded: Loaded, number: int, slot: int, quantity: Quantity | None) -> RuleBand:
    """Compile a rule, its band in the unit of the slot it judges."""
    rule = loaded.manifest.rules[number]
    port = loaded.outputs[rule.output]
    unit = loaded.units[port.key] if quantity is None else quantity.unit
    band = Band(rule.lower, rule.upper, rule.scale, rule.guard, rule.allowed)
    return RuleBand(
        rule.output,
        slot,
        band.convert(conversion(loaded.units[port.key], unit)),
        Measure(port.kind if quantity is None else quantity.kind, unit, port.choices),
        rule.reason,
        rule.source,
    )


def literal_array(port: Port, value: Value) -> Any:  # noqa: ANN401 - array or Table, as Inputs
    """Put a literal or default into the form a check receives, in the port's unit.

    Raises
    ------
    BadValueError
        It is no value of the port.
    """
    columns = tuple(Column(each.name, each.kind) for each in port.columns)
    value = canonical(value, port.kind, choices=port.choices, columns=columns, field=port.key)
    if port.kind is Kind.TABLE:
        return _literal_table(port, value)
    if port.kind is Kind.CHOICE:
        return frozen(np.array([port.choices.index(str(value))], dtype=np.int64))
    return frozen(np.array([value], dtype=_PORT_DTYPES[port.kind][0]))


def _literal_table(port: Port, value: Value) -> Table:
    rows: Rows = value  # type: ignore[assignment] # canonical() made it rows
    columns: dict[str, Array | tuple[str, ...]] = {}
    for place, column in enumerate(port.columns):
        cells = [row[place] for row in rows]
        if column.kind is CellKind.TEXT:
            columns[column.name] = tuple(map(str, cells))
        else:
            columns[column.name] = frozen(np.array(cells, dtype=_CELL_DTYPES[column.kind]))
    return Table(MappingProxyType(columns), len(rows))


def use_signature(
    programme: Programme, use: CheckUse, loaded: Loaded, fed: Sequence[Measure]
) -> tuple[object, ...]:
    """Return all that the outputs of a check whose binding holds depend on, besides values.

    Parameters
    ----------
    fed : sequence of Measure
        Kind and unit of what feeds its bound inputs, in the manifest's order.
    """
    given = [part_measure(programme.at(each, Quantity), "") for each in use.outputs.values()]
    return (use.config, use.inputs, use.literals, use.outputs, loaded, fed, given)
