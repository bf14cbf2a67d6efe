"""How a stated value moved, in words: old to new with unit and basis, tables cell by cell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tracker.evaluate.slots import Rows
from tracker.model.address import Address, part_of_cell
from tracker.model.records import Quantity, Setting
from tracker.model.values import CellKind, Column, Kind
from tracker.services.wording import value_with_unit, visible

__all__ = ["Stated", "row_changes", "value_changes"]

Stated = Mapping[str, Setting]
"""Quantity id → what is stated for it."""

_Named = dict[str, tuple[object, ...]]
_MOST = 6
"""Changed cells told one by one."""


def value_changes(
    where: str, quantity: Quantity, before: Setting | None, after: Setting | None
) -> Iterator[str]:
    """Say how a stated value moved; nothing when it did not.

    Parameters
    ----------
    where : str
        Its address.
    quantity : Quantity
        What it is a value of.
    before, after : Setting or None
        What was and is stated.
    """
    if before == after:
        return
    rows = _rows(quantity, before), _rows(quantity, after)
    if rows[0] is not None and rows[1] is not None and rows[0] != rows[1]:
        yield from _cells(row_changes(where, quantity, rows[0], rows[1]))
        return
    old, new = _text(before, quantity), _text(after, quantity)
    change = new if old == new else f"{old} → {new}"
    yield f"{where}: {change}{_basis(after)}"


def _text(setting: Setting | None, quantity: Quantity) -> str:
    if setting is None:
        return "not stated"
    if setting.value is None:
        return f"unknown, {visible(setting.reason)}"
    return value_with_unit(setting.value, quantity.kind, quantity.unit)


def _basis(setting: Setting | None) -> str:
    if setting is None or setting.value is None:
        return ""
    words = (setting.basis.kind.value, visible(setting.basis.source))
    return f" ({', '.join(word for word in words if word)})"


def _rows(quantity: Quantity, setting: Setting | None) -> Rows | None:
    if quantity.kind is not Kind.TABLE or setting is None:
        return None
    return setting.value  # type: ignore[return-value] # the rows of a table, or None


def _cells(changes: Sequence[tuple[str, str, str]]) -> Iterator[str]:
    for what, old, new in changes[:_MOST]:
        yield f"{what}: {old} → {new}" if old else f"{what}: {new}"
    if len(changes) > _MOST:
        yield f"and {len(changes) - _MOST} more changes of {changes[0][0].partition('[')[0]}"


def row_changes(
    where: str, quantity: Quantity, before: Rows, after: Rows
) -> Sequence[tuple[str, str, str]]:
    """Return what differs between two tables: address, old and new in words."""
    return list(_row_changes(where, quantity, before, after)) or [
        (where, "", "rows in another order")
    ]


def _row_changes(
    where: str, quantity: Quantity, before: Rows, after: Rows
) -> Iterator[tuple[str, str, str]]:
    old, new = _by_name(quantity, before, after)
    for name, row in new.items():
        held = old.get(name)
        if held is None:
            yield f"{where}[{visible(name)}]", "", "new row"
            continue
        for column, was, now in zip(quantity.columns, held, row, strict=True):
            if was != now:
                cell = Address(where, part_of_cell(visible(name), visible(column.name)))
                yield str(cell), _cell(column, was), _cell(column, now)
    for name in old:
        if name not in new:
            yield f"{where}[{visible(name)}]", "", "row removed"


def _by_name(quantity: Quantity, before: Rows, after: Rows) -> tuple[_Named, _Named]:
    """Return both tables' rows by the text in the first column.

    By number, where that text names no single row, or where a row was renamed in place.
    """
    old, new = _named(before), _named(after)
    unique = len(old) == len(before) and len(new) == len(after)
    renamed = len(old) == len(new) and old.keys() != new.keys()
    if quantity.columns[0].kind is CellKind.TEXT and unique and not renamed:
        return old, new
    return _numbered(before), _numbered(after)


def _named(rows: Rows) -> _Named:
    return {str(row[0]): row for row in rows}


def _numbered(rows: Rows) -> _Named:
    return {str(number): row for number, row in enumerate(rows, 1)}


def _cell(column: Column, cell: object) -> str:
    kind = Kind.CHOICE if column.kind is CellKind.TEXT else Kind(column.kind.value)
    return value_with_unit(cell, kind, column.unit)  # type: ignore[arg-type] # a cell is a value
