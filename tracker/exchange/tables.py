"""Delimited text with a header into rows, by the standard library's reader, strictly.

Nothing is dropped in silence: what is not understood is reported with its line and column, all at
once. Empty lines, rows of empty cells and lines that begin with `#` are skipped.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tracker.errors import FileFormatError, InputError, ManyProblemsError
from tracker.model.numbers import shown
from tracker.model.texts import TEXT_LIMIT, check_text

__all__ = ["KindOf", "Row", "TableKind", "read_rows"]

_DELIMITERS = (",", ";", "\t")
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab"}
_POINT = re.compile(r"\s*[+\-−]?\d*\.\d")
_COMMA = re.compile(r"(\s*[+\-−]?\d*),(?=\d)")


KindOf = Callable[[str], str]
"""Returns the type of the quantity that has a key, or the kind of another item; empty for none."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row that has a cell for every column of the header.

    Parameters
    ----------
    line : int
        Line of the file it begins on, counted from 1.
    cells : mapping of str to str
        Column → text, without blanks around it.
    """

    line: int
    cells: Mapping[str, str]

    @property
    def place(self) -> str:
        """Where it stands, for errors."""
        return f"line {self.line}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TableKind:
    """What a table of one kind of item looks like.

    Parameters
    ----------
    columns, required : tuple of str
        Columns it may have, and those it must have.
    numbers : frozenset of str
        Columns in which a decimal comma may stand.
    long : frozenset of str
        Columns that may hold text of several lines.
    documents : callable
        Turns rows into item documents, each with the row it comes from.
    """

    columns: tuple[str, ...]
    required: tuple[str, ...]
    numbers: frozenset[str]
    long: frozenset[str]
    documents: Callable[[Sequence[Row], KindOf], Iterable[tuple[Mapping[str, Any], Row]]]


class _Lines:
    """Physical lines with their numbers; skips comments and empty lines between records."""

    def __init__(self, text: str) -> None:
        self._lines = iter(io.StringIO(text, newline=""))
        self._number = 0
        self._record: list[str] = []
        self.first = 0

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        while True:
            line = next(self._lines)
            self._number += 1
            if self._record:
                break
            if line.strip() and not line.startswith("#"):
                self.first = self._number
                break
        self._record.append(line)
        return line

    def begin(self) -> None:
        """Tell that the next line begins a record."""
        self._record.clear()

    @property
    def record(self) -> str:
        """What has been read of the present record."""
        return "".join(self._record)


def read_rows(
    text: str, kind: TableKind, *, item: str, delimiter: str = "", decimal_comma: bool = False
) -> tuple[Row, ...]:
    """Read a table.

    Parameters
    ----------
    text : str
        The file.
    kind : TableKind
        What it should look like.
    item : str
        Name of the file, for errors.
    delimiter : str
        What stands between cells; worked out from the header when empty.
    decimal_comma : bool
        Whether numbers are written with a comma; a point is refused then.

    Raises
    ------
    FileFormatError
        One thing is wrong.
    ManyProblemsError
        Several things are wrong.
    """
    lines = _Lines(text)
    records = _records(lines, delimiter or _delimiter_of(text, kind))
    try:
        header = _header(next(records, None), kind, item)
        problems: list[InputError] = []
        rows = [
            row
            for line, cells in records
            if (row := _row(line, cells, header, kind, decimal_comma, problems)) is not None
        ]
    except csv.Error as error:
        raise _unreadable(error, lines, delimiter or _delimiter_of(text, kind), item) from error
    if len(problems) > 1:
        raise ManyProblemsError([*problems])
    if problems:
        raise problems[0]
    return tuple(rows)


def _records(lines: _Lines, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    for cells in csv.reader(lines, delimiter=delimiter, strict=True):
        if any(each.strip() for each in cells):
            yield lines.first, cells
        lines.begin()


def _delimiter_of(text: str, kind: TableKind) -> str:
    """Return the delimiter under which the header names most columns."""
    header = next(_Lines(text), "")

    def named(delimiter: str) -> int:
        return sum(_name(each) in kind.columns for each in header.split(delimiter))

    return max(_DELIMITERS, key=named)


def _name(cell: str) -> str:
    return cell.strip().strip('"').strip().lower()


def _header(record: tuple[int, list[str]] | None, kind: TableKind, item: str) -> list[str]:
    if record is None:
        raise FileFormatError("the file has no header", item=item, remedy=_wanted(kind))
    line, cells = record
    names = [_name(each) for each in cells]
    strangers = [each for each in names if each not in kind.columns]
    twice = [each for each in kind.columns if names.count(each) > 1]
    missing = [each for each in kind.required if each not in names]
    for found, words in (
        (strangers, "there is no such column"),
        (twice, "the column stands twice"),
        (missing, "the column is missing"),
    ):
        if found:
            raise FileFormatError(
                words,
                item=f"{item}, line {line}",
                field=f"column {shown(found[0])}",
                remedy=_wanted(kind),
            )
    return names


def _wanted(kind: TableKind) -> str:
    must = ", ".join(kind.required)
    return f"Columns are {', '.join(kind.columns)}; {must} are needed"


def _row(
    line: int,
    cells: list[str],
    header: list[str],
    kind: TableKind,
    decimal_comma: bool,
    problems: list[InputError],
) -> Row | None:
    """Check a row; what is wrong with it goes to the problems."""
    if len(cells) != len(header):
        beyond = f"column {min(len(cells), len(header)) + 1}"
        problems.append(
            FileFormatError(
                f"the row has {len(cells)} cells, the header has {len(header)}",
                item=f"line {line}",
                field=beyond,
                remedy='Give every column a cell; put a text that holds the delimiter in "quotes"',
            )
        )
        return None
    found = {}
    for column, cell in zip(header, cells, strict=True):
        try:
            found[column] = _cell(cell.strip(), column, kind, line, decimal_comma)
        except InputError as problem:
            problems.append(problem)
    return Row(line, found)


def _cell(text: str, column: str, kind: TableKind, line: int, decimal_comma: bool) -> str:
    place = {"item": f"line {line}", "field": f"column {column}"}
    check_text(text, long=column in kind.long, **place)
    if not decimal_comma or column not in kind.numbers:
        return text
    if _POINT.match(text):
        raise FileFormatError(
            f"{shown(text)} has a decimal point, but the file is said to use commas",
            remedy="Write it with a comma, or import without --decimal-comma",
            **place,
        )
    return _COMMA.sub(r"\1.", text, count=1)


def _unreadable(error: csv.Error, lines: _Lines, delimiter: str, item: str) -> FileFormatError:
    """Say where the reader gave up, in words of our own."""
    limit = csv.field_size_limit()
    bad = (
        (number, cell)
        for number, cell in enumerate(_cells(lines.record, delimiter), 1)
        if len(cell) > limit or not _is_quoted_well(cell)
    )
    column, cell = next(bad, (1, ""))
    said = f"the quotes do not fit: {error}"
    divided = f"Cells are divided by a {_NAMES.get(delimiter, delimiter)}"
    remedy = f'{divided}; quotes go "around a whole cell" and are doubled inside it'
    if len(cell) > limit:
        said, remedy = f"the cell has {len(cell)} characters", f"Keep it to {TEXT_LIMIT}"
    place = f"{item}, line {lines.first}"
    return FileFormatError(said, item=place, field=f"column {column}", remedy=remedy)


def _cells(record: str, delimiter: str) -> Iterator[str]:
    """Split a record as far as its quotes tell, without judging them."""
    held: list[str] = []
    quoted = False
    for piece in record.rstrip("\r\n").split(delimiter):
        held.append(piece)
        quoted ^= piece.count('"') % 2 == 1
        if not quoted:
            yield delimiter.join(held)
            held.clear()
    if held:
        yield delimiter.join(held)


def _is_quoted_well(cell: str) -> bool:
    if not cell.startswith('"'):
        return True
    return len(cell) > 1 and cell.endswith('"') and '"' not in cell[1:-1].replace('""', "")
