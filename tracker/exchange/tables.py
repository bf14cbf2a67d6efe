"""Rows of a table of one kind, checked cell by cell.

Nothing is dropped in silence: what is not understood is reported with its line and column, all at
once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tracker.errors import BadValueError, FileFormatError, InputError, ManyProblemsError
from tracker.exchange.cells import number_cell, text_cell
from tracker.exchange.delimited import Grid
from tracker.exchange.heads import Columns, Head
from tracker.model.numbers import read_typed, shown
from tracker.services.session import Reading

__all__ = [
    "PURE",
    "SHARED_ALIASES",
    "Document",
    "Documents",
    "Row",
    "TableKind",
    "collected",
    "dated",
    "raise_all",
    "read_rows",
]

Document = dict[str, Any]
PURE = "1"
"""Unit text of a pure number, where one has to be said."""
SHARED_ALIASES: Mapping[str, str] = {
    "id": "key",
    "description": "title",
    "units": "unit",
    "reference": "source",
    "date": "dated",
}
_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_UNITLESS = ("-", "−", "–", "—")


@dataclass(frozen=True, slots=True)
class Row:
    """A row that has a cell for every column of the header.

    Parameters
    ----------
    line : int
        Line of the file it begins on, counted from 1.
    cells : mapping of str to str
        Column → text, without blanks around it.
    heads : mapping of str to Head
        Column → how the file names it.
    """

    line: int
    cells: Mapping[str, str]
    heads: Mapping[str, Head] = field(default_factory=dict, compare=False)

    @property
    def place(self) -> str:
        """Where it stands, for errors."""
        return f"line {self.line}"

    def label(self, column: str) -> str:
        """Name a column as the file does, for errors."""
        head = self.heads.get(column)
        return f"column {head.label if head else column}"

    def filled(self, columns: Iterable[str]) -> Document:
        """Return the cells of some columns that hold something."""
        return {name: self.cells[name] for name in columns if self.cells.get(name)}

    def unit(self, column: str) -> str:
        """Return the unit of a column's numbers: as its header says, else as the unit column does.

        Raises
        ------
        BadValueError
            Both say something, and it differs.
        """
        head = self.heads[column].unit if column in self.heads else ""
        own = self.cells.get("unit", "")
        own = PURE if own in _UNITLESS else own
        if head and own and head != own:
            raise self.wrong("unit", f"the header of {column} says {head[:40]}", "Say one of them")
        return own or head

    def typed(self, column: str) -> str:
        """Return a cell with the unit of its column, unless it has a unit of its own."""
        return self.with_unit(column, self.unit(column))

    def with_unit(self, column: str, unit: str) -> str:
        """Return a cell with a unit, unless it has one of its own."""
        text = self.cells[column]
        try:
            bare = unit not in ("", PURE) and not read_typed(text).unit_text
        except BadValueError:
            return text  # whoever reads the value says what is wrong with it
        return f"{text} {unit}" if bare else text

    def wrong(self, column: str, message: str, remedy: str) -> BadValueError:
        """Make an error that names the line and the column."""
        return BadValueError(message, item=self.place, field=self.label(column), remedy=remedy)


Documents = Iterator[tuple[Document, Row]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableKind:
    """What a table of one kind of item looks like.

    Parameters
    ----------
    columns, required : tuple of str
        Columns it may have, and those it must have.
    numbers : frozenset of str
        Columns that may hold numbers.
    measured : frozenset of str
        Those of them whose header may give a unit.
    telling : frozenset of str
        Columns by which a header shows that it is of this kind.
    long : frozenset of str
        Columns that may hold text of several lines.
    aliases : mapping of str to str
        Other names → column.
    kinds : mapping of str to str
        Column → the word that may stand in the place of its unit.
    documents : callable
        Turns rows into item documents, each with the row it comes from.
    """

    columns: tuple[str, ...]
    required: tuple[str, ...]
    numbers: frozenset[str]
    long: frozenset[str]
    documents: Callable[[Sequence[Row], Reading], Iterable[tuple[Mapping[str, Any], Row]]]
    measured: frozenset[str] = frozenset()
    telling: frozenset[str] = frozenset()
    aliases: Mapping[str, str] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)

    def named(self, mapped: Mapping[str, str]) -> Columns:
        """Return its columns, with what the names of a file are told to mean."""
        return Columns(
            names=self.columns,
            required=self.required,
            measured=self.measured,
            aliases=self.aliases,
            mapped=mapped,
            kinds=self.kinds,
        )


def read_rows(
    grid: Grid, kind: TableKind, heads: Sequence[Head], *, decimal_comma: bool = False
) -> tuple[Row, ...]:
    """Read the rows of a table.

    Parameters
    ----------
    grid : Grid
        The table.
    kind : TableKind
        What it should look like.
    heads : sequence of Head
        Its columns, as `read_heads` reads them.
    decimal_comma : bool
        Whether numbers are written with a comma; a point is refused then.

    Raises
    ------
    InputError
        One thing is wrong.
    ManyProblemsError
        Several things are wrong.
    """
    reader = _Reader(kind, heads, decimal_comma)
    rows = [reader.row(line, cells) for line, cells in grid.records]
    raise_all(reader.problems)
    return tuple(each for each in rows if each is not None)


class _Reader:
    """Reads records under a header; what is wrong with them goes to the problems."""

    def __init__(self, kind: TableKind, heads: Sequence[Head], decimal_comma: bool) -> None:
        self.problems: list[InputError] = []
        self._kind = kind
        self._heads = heads
        self._by_column = {each.column: each for each in heads if each.column}
        self._decimal_comma = decimal_comma

    def row(self, line: int, cells: Sequence[str]) -> Row | None:
        if len(cells) != len(self._heads):
            beyond = min(len(cells), len(self._heads)) + 1
            self.problems.append(
                FileFormatError(
                    f"the row has {len(cells)} cells, the header has {len(self._heads)}",
                    item=f"line {line}",
                    field=f"column {beyond}",
                    remedy="Give every column a cell; put a text that holds the delimiter in "
                    '"quotes"',
                )
            )
            return None
        found = {}
        for head, cell in zip(self._heads, cells, strict=True):
            try:
                found[head.column] = self._cell(line, head, cell)
            except InputError as problem:
                self.problems.append(problem)
        return Row(line, found, self._by_column)

    def _cell(self, line: int, head: Head, cell: str) -> str:
        if not head.column:
            return ""
        item, where = f"line {line}", f"column {head.label}"
        text = text_cell(cell, long=head.column in self._kind.long, item=item, field=where)
        if head.column not in self._kind.numbers:
            return text
        return number_cell(text, decimal_comma=self._decimal_comma, item=item, field=where)


def raise_all(problems: Sequence[InputError]) -> None:
    """Raise what there is: one problem as itself, several together."""
    if problems:
        raise problems[0] if len(problems) == 1 else ManyProblemsError([*problems])


def collected(rows: Sequence[Row], describe: Callable[[Row], Iterable[Document]]) -> Documents:
    """Describe every row, then raise everything that was wrong with any of them.

    Parameters
    ----------
    rows : sequence of Row
        The rows.
    describe : callable
        Turns a row into item documents.
    """
    problems: list[InputError] = []
    for row in rows:
        try:
            yield from ((document, row) for document in describe(row))
        except InputError as problem:
            problems.append(problem)
    raise_all(problems)


def dated(row: Row) -> Document:
    """Return the date of a row's source, if it says one.

    Raises
    ------
    BadValueError
        It is not an RFC 3339 full-date.
    """
    text = row.cells.get("dated", "")
    if not text:
        return {}
    if not _is_date(text):
        raise row.wrong("dated", f"{shown(text)} is not a date", "Write YYYY-MM-DD")
    return {"dated": text}


def _is_date(text: str) -> bool:
    try:
        return _DATE.fullmatch(text) is not None and bool(date.fromisoformat(text))
    except ValueError:
        return False
