"""Kinds of value a quantity can hold, and their canonical form.

Values are plain Python: `float`, `int`, `str` (choice), `bool` (flag), a 3-tuple (point) or a
tuple of rows (table). Canonical means: finite, no negative zero, tuples instead of lists.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from tracker.errors import BadValueError
from tracker.model.units import ONE, Unit

__all__ = [
    "AXES",
    "WHOLE_LIMIT",
    "Cell",
    "CellKind",
    "Column",
    "Kind",
    "Value",
    "canonical",
    "freeze",
]

AXES = ("x", "y", "z")
WHOLE_LIMIT = 2**53 - 1
"""Largest whole number every reader of JSON keeps exactly (RFC 8259, section 6)."""

Cell = str | float | int | bool
Value = float | int | bool | str | tuple[float, float, float] | tuple[tuple[Cell, ...], ...]


class Kind(StrEnum):
    """Kind of a quantity or port."""

    REAL = "real"
    INTEGER = "integer"
    CHOICE = "choice"
    FLAG = "flag"
    POINT = "point"
    TABLE = "table"


class CellKind(StrEnum):
    """Kind of a table column."""

    TEXT = "text"
    REAL = "real"
    INTEGER = "integer"
    FLAG = "flag"


@dataclass(frozen=True, slots=True)
class Column:
    """A typed table column.

    Parameters
    ----------
    name : str
        Column name.
    kind : CellKind
        Kind of its cells.
    unit : Unit
        Unit of a real column; a pure number otherwise.
    """

    name: str
    kind: CellKind = CellKind.REAL
    unit: Unit = ONE


def freeze(value: object) -> object:
    """Turn what JSON gives back into values: lists into tuples, huge whole numbers into reals.

    RFC 8785 writes a real without a fraction like a whole number; only reals are ever that large.
    """
    if isinstance(value, list | tuple):
        return tuple(freeze(each) for each in value)
    if isinstance(value, int) and abs(value) > WHOLE_LIMIT:
        return float(value)
    return value


def canonical(
    value: object,
    kind: Kind,
    *,
    choices: tuple[str, ...] = (),
    columns: tuple[Column, ...] = (),
    item: str = "",
    field: str = "value",
) -> Value:
    """Check a value against its kind and bring it into canonical form.

    Parameters
    ----------
    value : object
        Candidate value in the quantity's own unit.
    kind : Kind
        Wanted kind.
    choices : tuple of str
        Allowed texts of a choice.
    columns : tuple of Column
        Columns of a table.
    item, field : str
        Named in the error.

    Returns
    -------
    Value
        Canonical value.

    Raises
    ------
    BadValueError
        The value is not of that kind, or not finite.
    """
    match kind:
        case Kind.REAL:
            return _real(value, item, field)
        case Kind.INTEGER:
            return _integer(value, item, field)
        case Kind.FLAG:
            return _flag(value, item, field)
        case Kind.CHOICE:
            return _choice(value, choices, item, field)
        case Kind.POINT:
            return _point(value, item, field)
        case _:
            return _table(value, columns, item, field)


def _real(value: object, item: str, field: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadValueError(f"{value!r} is not a number", item=item, field=field)
    try:
        number = float(value) + 0.0  # adding zero turns −0.0 into 0.0
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise BadValueError("the number is not finite", item=item, field=field)
    return number


def _integer(value: object, item: str, field: str) -> int:
    number = _real(value, item, field)
    if number != int(number):
        raise BadValueError(f"{value!r} is not a whole number", item=item, field=field)
    if abs(number) > WHOLE_LIMIT:
        raise BadValueError(
            "the whole number is too large",
            item=item,
            field=field,
            remedy=f"Keep it within ±{WHOLE_LIMIT}",
        )
    return int(number)


def _flag(value: object, item: str, field: str) -> bool:
    if not isinstance(value, bool):
        raise BadValueError(f"{value!r} is not yes or no", item=item, field=field)
    return value


def _choice(value: object, choices: tuple[str, ...], item: str, field: str) -> str:
    if not isinstance(value, str) or value not in choices:
        raise BadValueError(
            f"{value!r} is not one of its choices",
            item=item,
            field=field,
            remedy="Choose one of: " + ", ".join(choices),
        )
    return value


def _point(value: object, item: str, field: str) -> tuple[float, float, float]:
    if not isinstance(value, list | tuple) or len(value) != len(AXES):
        raise BadValueError(
            "a point has three numbers", item=item, field=field, remedy="Write it as [x, y, z]"
        )
    x, y, z = (_real(each, item, f"{field}.{axis}") for each, axis in zip(value, AXES, strict=True))
    return (x, y, z)


def _table(
    value: object, columns: tuple[Column, ...], item: str, field: str
) -> tuple[tuple[Cell, ...], ...]:
    if not isinstance(value, list | tuple):
        raise BadValueError("a table is a list of rows", item=item, field=field)
    return tuple(
        _row(row, columns, item, f"{field} row {number}") for number, row in enumerate(value, 1)
    )


def _row(row: object, columns: tuple[Column, ...], item: str, field: str) -> tuple[Cell, ...]:
    if not isinstance(row, list | tuple) or len(row) != len(columns):
        names = ", ".join(column.name for column in columns)
        raise BadValueError(
            f"a row needs {len(columns)} cells", item=item, field=field, remedy=f"Columns: {names}"
        )
    return tuple(
        _cell(cell, column, item, f"{field} {column.name}")
        for cell, column in zip(row, columns, strict=True)
    )


def _cell(cell: object, column: Column, item: str, field: str) -> Cell:
    match column.kind:
        case CellKind.REAL:
            return _real(cell, item, field)
        case CellKind.INTEGER:
            return _integer(cell, item, field)
        case CellKind.FLAG:
            return _flag(cell, item, field)
        case _:
            if not isinstance(cell, str):
                raise BadValueError(f"{cell!r} is not text", item=item, field=field)
            return cell
