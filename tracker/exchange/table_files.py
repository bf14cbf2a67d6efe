"""A file with a table into item documents: which kind of table it is, and where each row stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tracker.errors import FileFormatError
from tracker.exchange.delimited import Grid, read_grid
from tracker.exchange.files import decode
from tracker.exchange.heads import Columns, Head, read_heads
from tracker.exchange.item_files import ItemFile
from tracker.exchange.new_table import new_columns, new_document
from tracker.exchange.point_table import POINTS
from tracker.exchange.quantity_table import QUANTITIES
from tracker.exchange.requirement_table import REQUIREMENTS
from tracker.exchange.tables import TableKind, read_rows
from tracker.exchange.value_table import known_columns, table_kind
from tracker.services.session import Reading

__all__ = ["KINDS", "TableStyle", "read_table"]

_ITEMS: Mapping[str, TableKind] = {
    "requirements": REQUIREMENTS,
    "points": POINTS,
    "quantities": QUANTITIES,
}
KINDS = (*_ITEMS, "table")
"""Kinds of table there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TableStyle:
    """How a table is written and what it holds.

    Parameters
    ----------
    delimiter : str
        What stands between cells; worked out from the header when empty.
    decimal_comma : bool
        Whether numbers have a decimal comma.
    kind : str
        One of `KINDS`; worked out from the header when empty.
    table : str
        Key of the quantity whose rows it holds.
    create : bool
        Whether that quantity is made of the file.
    mapped : mapping of str to str
        Names of the file → column.
    """

    delimiter: str = ""
    decimal_comma: bool = False
    kind: str = ""
    table: str = ""
    create: bool = False
    mapped: Mapping[str, str] = field(default_factory=dict)


def read_table(data: bytes, name: str, reading: Reading, style: TableStyle) -> ItemFile:
    """Read a table.

    Raises
    ------
    InputError
        Something in it is not understood; line and column are named.
    """
    _check_style(style)
    text = decode(data, name)
    known = _names(reading, style)
    grid = read_grid(
        text,
        item=name,
        delimiter=style.delimiter,
        known=lambda cell: any(columns.place(" ".join(cell.split())) for columns in known),
    )
    kind, heads = _kind(grid, reading, style)
    rows = read_rows(grid, kind, heads, decimal_comma=style.decimal_comma)
    if not rows:
        raise FileFormatError(
            "it has a header and no rows", item=name, remedy="Put something under the header"
        )
    pairs = list(kind.documents(rows, reading))
    labels = {each: each for each in kind.columns}
    labels |= {each.column: each.label for each in heads if each.column}
    return ItemFile(
        documents=tuple(document for document, _ in pairs),
        places=("",) if style.table else tuple(row.place for _, row in pairs),
        columns=labels,
        updates=kind is not REQUIREMENTS,
    )


def _check_style(style: TableStyle) -> None:
    for wrong, field_name, message, remedy in (
        (style.create and not style.table, "--create", "there is no key", "Say --table KEY"),
        (style.kind == "table" and not style.table, "--kind", "there is no key", "Say --table KEY"),
        (
            style.table and style.kind not in ("", "table"),
            "--table",
            f"a file of {style.kind} does not go into one table",
            "Leave out --kind or --table",
        ),
    ):
        if wrong:
            raise FileFormatError(message, field=field_name, remedy=remedy)


def _names(reading: Reading, style: TableStyle) -> Sequence[Columns]:
    """Return the columns by which a header is recognised."""
    if not style.table:
        kinds = [_ITEMS[style.kind]] if style.kind else [*_ITEMS.values()]
        return [each.named(style.mapped) for each in kinds]
    columns = () if style.create else known_columns(reading, style.table)
    return [table_kind(columns, style.table, {}).named(style.mapped)]


def _kind(grid: Grid, reading: Reading, style: TableStyle) -> tuple[TableKind, Sequence[Head]]:
    if style.create:
        columns, heads = new_columns(
            grid, style.table, reading, style.mapped, decimal_comma=style.decimal_comma
        )
        return table_kind(columns, style.table, new_document(style.table, columns)), heads
    if style.table:
        kind = table_kind(known_columns(reading, style.table), style.table, {})
    else:
        kind = _ITEMS[style.kind or _told_by(grid, style.mapped)]
    return kind, read_heads(grid, kind.named(style.mapped))


def _told_by(grid: Grid, mapped: Mapping[str, str]) -> str:
    """Return the kind of table that a header belongs to, when it can be only one.

    Raises
    ------
    FileFormatError
        It could be several, or none.
    """
    found = {}
    for name, kind in _ITEMS.items():
        places = [kind.named(mapped).place(each) for each in grid.header]
        telling = [place[0] for place in places if place and place[0] in kind.telling]
        if telling:
            found[name] = telling
    if len(found) == 1:
        return next(iter(found))
    many = " or ".join(f"{name} (it has {', '.join(each)})" for name, each in found.items())
    raise FileFormatError(
        f"its header could be one of {many}" if found else "its header shows no kind of table",
        item=f"{grid.item}, line {grid.line}",
        field="--kind",
        remedy=f"Say --kind {' or '.join(found or _ITEMS)}, or --table KEY for the rows of one",
    )
