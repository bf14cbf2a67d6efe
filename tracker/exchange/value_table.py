"""The rows of one quantity of type table, into the document of that quantity.

The rows of the file replace the rows there are; every column of the quantity must be in the file.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from tracker.errors import InputError, UnknownKeyError
from tracker.evaluate.binding import Measure
from tracker.exchange.tables import PURE, Document, Row, TableKind, raise_all
from tracker.model.records import Quantity
from tracker.model.units import ONE, conversion
from tracker.model.values import CellKind, Column, Kind
from tracker.services.ports import UnitReader
from tracker.services.reading import read_value
from tracker.services.session import Reading

__all__ = ["known_columns", "table_kind"]

_NUMBERS = (CellKind.REAL, CellKind.INTEGER)


def known_columns(reading: Reading, key: str) -> tuple[Column, ...]:
    """Return the columns of a table there is.

    Raises
    ------
    UnknownKeyError
        Nothing has this key, or it is no table.
    """
    held = reading.programme.find(key)
    if held is None:
        raise UnknownKeyError(
            f"nothing is called {key[:80]!r}",
            field="--table",
            remedy="Say --create to make a new table of the file",
        )
    if not isinstance(held, Quantity) or held.kind is not Kind.TABLE:
        raise UnknownKeyError(
            "it is no table", item=key, field="--table", remedy="Name a quantity of type table"
        )
    return held.columns


def table_kind(columns: Sequence[Column], key: str, made: Document) -> TableKind:
    """Return what a file with the rows of a table looks like.

    Parameters
    ----------
    columns : sequence of Column
        The columns of the table.
    key : str
        Its key.
    made : Document
        What else its document says; empty for a table there is.
    """
    names = tuple(each.name for each in columns)
    numbers = frozenset(each.name for each in columns if each.kind in _NUMBERS)
    return TableKind(
        columns=names,
        required=names,
        numbers=numbers,
        measured=numbers,
        kinds={each.name: each.kind.value for each in columns},
        long=frozenset(),
        documents=partial(_documents, columns, {"kind": "quantity", "key": key, **made}),
    )


def _documents(
    columns: Sequence[Column], document: Document, rows: Sequence[Row], reading: Reading
) -> Sequence[tuple[Document, Row]]:
    """Describe the one quantity; every cell that does not fit is named."""
    units = reading.tools.units
    first = rows[0]
    _check_units(columns, first, units)
    problems: list[InputError] = []
    value = [[_cell(row, each, units, problems) for each in columns] for row in rows]
    raise_all(problems)
    return [({**document, "value": value}, first)]


def _check_units(columns: Sequence[Column], row: Row, units: UnitReader) -> None:
    """Check the header's units once, before every row repeats what is wrong with them."""
    problems: list[InputError] = []
    for column in columns:
        head = row.heads[column.name]
        if head.unit:
            try:
                unit = ONE if head.unit == PURE else units.read(head.unit)
                conversion(unit, column.unit)
            except InputError as problem:
                problem.item, problem.field = f"line {head.line}", row.label(column.name)
                problems.append(problem)
    raise_all(problems)


def _cell(row: Row, column: Column, units: UnitReader, problems: list[InputError]) -> Any:  # noqa: ANN401 - JSON data
    if column.kind is CellKind.TEXT:
        return row.cells[column.name]
    try:
        return _value(row, column, units)
    except InputError as problem:
        problems.append(problem)
        return None


def _value(row: Row, column: Column, units: UnitReader) -> object:
    if not row.cells[column.name]:
        remedy = "A table has a value in every cell: fill it in, or take the row out"
        raise row.wrong(column.name, "the cell is empty", remedy)
    text = row.cells[column.name]
    if column.kind in _NUMBERS:
        text = row.with_unit(column.name, row.heads[column.name].unit)
    measure = Measure(Kind(column.kind.value), column.unit)
    return read_value(text, measure, units, item=row.place, field=row.label(column.name))[0]
