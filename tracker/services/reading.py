"""Typed text and JSON data into values, bounds and spans.

A text without a unit means the item's own unit; with one, it is converted and both the text as
typed and the converted number are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tracker.contract.check import Port
from tracker.errors import BadValueError, DimensionError, InputError
from tracker.evaluate.binding import Measure
from tracker.evaluate.plugin import Loaded
from tracker.model.numbers import read_typed
from tracker.model.units import Unit, conversion
from tracker.model.values import CellKind, Column, Kind, Value, canonical
from tracker.services.ports import UnitReader

__all__ = ["read_port", "read_real", "read_span", "read_value"]

_YES = {"yes": True, "true": True, "no": False, "false": False}


def read_value(
    raw: object, measure: Measure, units: UnitReader, *, item: str, field: str = "value"
) -> tuple[Value, str]:
    """Read a value as typed or as JSON gives it.

    Parameters
    ----------
    raw : object
        Text, number, bool, list of three numbers or list of rows.
    measure : Measure
        What it must be.
    units : UnitReader
        Reads unit texts.
    item, field : str
        Named in errors.

    Returns
    -------
    value : Value
        Canonical value in the measure's unit.
    typed : str
        The text as typed; empty for what was not typed as a text: JSON numbers, tables.

    Raises
    ------
    BadValueError, BadUnitError, DimensionError
        It is not such a value.
    """
    match measure.kind:
        case Kind.TABLE:
            return _read_table(raw, measure, units, item, field), ""
        case Kind.CHOICE:
            return canonical(
                raw, Kind.CHOICE, choices=measure.choices, item=item, field=field
            ), str(raw)
        case Kind.FLAG:
            value = raw if isinstance(raw, bool) else _YES.get(str(raw).strip().lower())
            if value is None:
                raise BadValueError(
                    f"{str(raw)[:40]!r} is not yes or no",
                    item=item,
                    field=field,
                    remedy="Say yes or no",
                )
            return value, "" if isinstance(raw, bool) else str(raw).strip()
        case _:
            return _read_numbers(raw, measure, units, item, field)


def _read_numbers(
    raw: object, measure: Measure, units: UnitReader, item: str, field: str
) -> tuple[Value, str]:
    if not isinstance(raw, str):
        return canonical(raw, measure.kind, item=item, field=field), ""
    typed = read_typed(raw, item=item, field=field)
    number: Any = typed.value
    if typed.unit_text:
        source = _unit(units, typed.unit_text, item, field)
        convert = conversion(source, measure.unit, item=item, field=field)
        if convert is not None:
            number = (
                tuple(convert(each) for each in number)
                if isinstance(number, tuple)
                else convert(number)
            )
    return canonical(number, measure.kind, item=item, field=field), raw.strip()


def _unit(units: UnitReader, text: str, item: str, field: str) -> Unit:
    try:
        return units.read(text)
    except InputError as problem:
        problem.item, problem.field = item, field
        raise


def _read_table(raw: object, measure: Measure, units: UnitReader, item: str, field: str) -> Value:
    if not isinstance(raw, list | tuple):
        raise BadValueError(
            "a table is given as a list of rows", item=item, field=field, remedy="Import a file"
        )
    rows = [
        _read_row(row, measure.columns, units, item, f"{field} row {number}")
        for number, row in enumerate(raw, 1)
    ]
    return canonical(rows, Kind.TABLE, columns=measure.columns, item=item, field=field)


def _read_row(
    row: object, columns: Sequence[Column], units: UnitReader, item: str, field: str
) -> object:
    if isinstance(row, dict):
        strangers = sorted(set(row) - {column.name for column in columns})
        missing = [column.name for column in columns if column.name not in row]
        if strangers or missing:
            wrong = [f"there is no column {each!r}" for each in strangers]
            wrong += [f"the column {each!r} is missing" for each in missing]
            raise BadValueError(
                "; ".join(wrong),
                item=item,
                field=field,
                remedy="Columns: " + ", ".join(column.name for column in columns),
            )
        row = [row[column.name] for column in columns]
    if not isinstance(row, list | tuple) or len(row) != len(columns):
        return row
    return [
        _read_cell(cell, column, units, item, f"{field} {column.name}")
        for cell, column in zip(row, columns, strict=True)
    ]


def _read_cell(cell: object, column: Column, units: UnitReader, item: str, field: str) -> object:
    if column.kind is CellKind.TEXT or not isinstance(cell, str):
        return cell
    kind = Kind(column.kind.value)
    return read_value(cell, Measure(kind, column.unit), units, item=item, field=field)[0]


def read_port(
    raw: object, loaded: Loaded, port: Port, units: UnitReader, *, item: str
) -> tuple[Value, str]:
    """Read what a check is to get at one of its input ports, in the port's unit.

    Columns that a table row given as an object leaves out get the port's defaults.

    Raises
    ------
    BadValueError, BadUnitError, DimensionError
        It is no value of that port.
    """
    columns = tuple(
        Column(each.name, each.kind, loaded.units[f"{port.key}.{each.name}"])
        for each in port.columns
    )
    measure = Measure(port.kind, loaded.units[port.key], port.choices, columns)
    defaults = {each.name: each.default for each in port.columns if each.default is not None}
    if port.kind is Kind.TABLE and isinstance(raw, list | tuple):
        raw = [{**defaults, **row} if isinstance(row, dict) else row for row in raw]
    return read_value(raw, measure, units, item=item, field=port.key)


def read_real(
    raw: object, unit: Unit, units: UnitReader, *, item: str, field: str
) -> tuple[float, str]:
    """Read a number in a unit; returns it with the text as typed."""
    value, typed = read_value(raw, Measure(Kind.REAL, unit), units, item=item, field=field)
    return float(value), typed  # type: ignore[arg-type] # a real


def read_span(raw: object, unit: Unit, units: UnitReader, *, item: str, field: str) -> float:
    """Read a difference (tolerance, scale) in a unit: an offset of the unit does not count."""
    if not isinstance(raw, str):
        return read_real(raw, unit, units, item=item, field=field)[0]
    typed = read_typed(raw, item=item, field=field)
    if isinstance(typed.value, tuple):
        raise BadValueError("one number is wanted, not a point", item=item, field=field)
    if not typed.unit_text:
        return typed.value
    source = _unit(units, typed.unit_text, item, field)
    if source.dimension != unit.dimension:
        raise DimensionError(
            f"{source.describe()} does not measure the same thing as {unit.describe()}",
            item=item,
            field=field,
            remedy=f"Give it in {unit.describe()} or a unit that converts to it",
        )
    return typed.value * source.scale / unit.scale
