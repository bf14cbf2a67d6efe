"""Delimited text into a header and records, by the standard library's reader, strictly.

Empty lines, rows of empty cells, columns without name and cells at the right-hand end, and lines
that begin with `#` are skipped; everything else is kept or reported.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tracker.errors import FileFormatError
from tracker.exchange.cells import FAILED
from tracker.model.texts import TEXT_LIMIT

__all__ = ["Grid", "read_grid"]

_DELIMITERS = (",", ";", "\t")
_WIDEST = 1000
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(frozen=True, slots=True)
class Grid:
    """A table as it stands in a file.

    Parameters
    ----------
    item : str
        Name of the file, for errors.
    line : int
        Line the header stands on, counted from 1.
    header : tuple of str
        Column names with their blanks evened out, the last one not empty.
    records : tuple of (int, tuple of str)
        Line each record begins on, and its cells as they are. Empty cells beyond the header are
        left out.
    """

    item: str
    line: int
    header: tuple[str, ...]
    records: tuple[tuple[int, tuple[str, ...]], ...]


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
            if line.strip() and not _is_comment(line):
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


def _is_comment(line: str) -> bool:
    """Tell a comment from a row whose first cell is what a spreadsheet writes for an error."""
    return line.startswith("#") and not FAILED.match(line)


def read_grid(
    text: str, *, item: str, delimiter: str = "", known: Callable[[str], bool] = bool
) -> Grid:
    """Read a table.

    Parameters
    ----------
    text : str
        The file.
    item : str
        Name of the file, for errors.
    delimiter : str
        What stands between cells; worked out from the header when empty.
    known : callable
        Tells whether a cell of the header is the name of a column.

    Raises
    ------
    FileFormatError
        The quotes do not fit, a cell is too long, or there is no header.
    """
    delimiter = delimiter or _delimiter_of(text, known)
    lines = _Lines(text)
    try:
        records = [*_records(lines, delimiter)]
    except csv.Error as error:
        raise _unreadable(error, lines, delimiter, item) from error
    if not records:
        raise FileFormatError(
            "the file has no header", item=item, remedy="Name the columns in its first line"
        )
    line, names = records[0]
    if len(names) > _WIDEST:
        raise FileFormatError(
            f"the header has {len(names)} columns",
            item=f"{item}, line {line}",
            remedy=f"Keep it to {_WIDEST}, or say how cells are divided with --delimiter",
        )
    header = _trimmed([" ".join(each.split()) for each in names], 0)
    rows = [(number, _trimmed(cells, len(header))) for number, cells in records[1:]]
    return Grid(item, line, header, tuple(rows))


def _records(lines: _Lines, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    for cells in csv.reader(lines, delimiter=delimiter, strict=True):
        if any(each.strip() for each in cells):
            yield lines.first, cells
        lines.begin()


def _trimmed(cells: list[str], least: int) -> tuple[str, ...]:
    """Leave out empty cells at the right-hand end, down to a width."""
    width = len(cells)
    while width > least and not cells[width - 1].strip():
        width -= 1
    return tuple(cells[:width])


def _delimiter_of(text: str, known: Callable[[str], bool]) -> str:
    """Return the delimiter under which the header names most columns, or has most cells."""

    def named(delimiter: str) -> tuple[int, int]:
        cells = _first_record(text, delimiter)[:_WIDEST]
        return sum(known(each) for each in cells), len(cells)

    return max(_DELIMITERS, key=named)


def _first_record(text: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader(_Lines(text), delimiter=delimiter), [])
    except csv.Error:
        return []


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
