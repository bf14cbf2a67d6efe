"""Laying out text: headings, paragraphs, aligned rows that fold where a terminal is narrow."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from tracker.cli.terminal import Look

__all__ = ["Cell", "Page", "Row", "one_line", "width_of"]

_GAP = 2
_INDENT = 2
_LEAST = 24
"""Fewest columns worth wrapping a last cell into; below that it starts a line of its own."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A text with the word that decides its colour."""

    text: str
    word: str = ""


Row = Sequence[Cell | str]


def one_line(text: str) -> str:
    """Return a text with its line breaks and tabs as single spaces."""
    return " ".join(text.split())


def width_of(text: str) -> int:
    """Return how many columns a text takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )


def _wrapped(text: str, width: int | None) -> list[str]:
    """Break a text at spaces; a word that is longer than the line is cut."""
    if width is None or width_of(text) <= width:
        return [text]
    lines, line = [], ""
    for word in text.split(" "):
        joined = f"{line} {word}" if line else word
        if width_of(joined) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        *whole, line = _cut(word, width)
        lines.extend(whole)
    return [*lines, line]


def _cut(word: str, width: int) -> list[str]:
    pieces, piece, taken = [], "", 0
    for char in word:
        size = width_of(char)
        if taken + size > width:
            pieces.append(piece)
            piece, taken = "", 0
        piece, taken = piece + char, taken + size
    return [*pieces, piece]


class Page:
    """Text being laid out for a look.

    Parameters
    ----------
    look : Look
        What may be used.
    """

    def __init__(self, look: Look) -> None:
        self.look = look
        self._lines: list[str] = []

    def __str__(self) -> str:
        return "".join(f"{line.rstrip()}\n" for line in self._lines)

    def blank(self) -> None:
        """Leave a line empty, once."""
        if self._lines and self._lines[-1]:
            self._lines.append("")

    def heading(self, text: str, aside: str = "") -> None:
        """Start a section."""
        self.blank()
        self.text(f"{text}  {aside}" if aside else text, word="bold")

    def text(self, text: str, indent: int = 0, word: str = "") -> None:
        """Add a text of one or several lines, wrapped."""
        width = None if self.look.width is None else self.look.width - indent
        for line in text.expandtabs(4).split("\n"):
            for piece in _wrapped(line, width):
                self._lines.append(" " * indent + self.look.paint(piece, word))

    def sign(self, word: str, *more: str) -> Cell:
        """Return the cell of a verdict or standing, with further words behind."""
        return Cell(" ".join(self.look.sign(each) for each in (word, *more) if each), word)

    def rows(self, rows: Sequence[Row], indent: int = _INDENT, fold: int = 1) -> None:
        """Add aligned rows.

        Parameters
        ----------
        rows : sequence of rows
            Cells or plain texts; every row has the same number.
        indent : int
            Columns left of the rows.
        fold : int
            Where the rows are too wide, the cells from this one on flow into one.
        """
        cells = [[_cell(each) for each in row] for row in rows]
        if not cells:
            return
        if self._too_wide(cells, indent):
            cells = [_folded(row, fold) for row in cells]
        widths = [max(width_of(row[place].text) for row in cells) for place in range(len(cells[0]))]
        for row in cells:
            self._row(row, widths[:-1], indent)

    def columns(self, rows: Sequence[Row]) -> None:
        """Add a table whose first column names the rows; columns without room go below.

        Parameters
        ----------
        rows : sequence of rows
            As for `rows`, the first of them the heads. Every part begins with the first column.
        """
        cells = [[_cell(each) for each in row] for row in rows]
        start, count = 1, len(cells[0])
        while start < count:
            end = start + 1
            while end < count and not self._too_wide(_part(cells, start, end + 1), _INDENT):
                end += 1
            if start > 1:
                self.blank()
            self.rows(_part(cells, start, end))
            start = end

    def _too_wide(self, cells: Sequence[Sequence[Cell]], indent: int) -> bool:
        if self.look.width is None:
            return False
        widths = (max(width_of(row[place].text) for row in cells) for place in range(len(cells[0])))
        return indent + sum(widths) + _GAP * (len(cells[0]) - 1) > self.look.width

    def _row(self, row: Sequence[Cell], widths: Sequence[int], indent: int) -> None:
        lead, taken = " " * indent, indent
        for each, width in zip(row[:-1], widths, strict=True):
            pad = " " * (width - width_of(each.text) + _GAP)
            lead += self.look.paint(each.text, each.word) + pad
            taken += width + _GAP
        self._last(row[-1], lead, taken, indent)

    def _last(self, cell: Cell, lead: str, taken: int, indent: int) -> None:
        """Add the last cell of a row behind what leads it, wrapped."""
        width = self.look.width
        if width is not None and width - taken < min(_LEAST, width_of(cell.text)):
            self._lines.append(lead)
            taken = indent + 4
            lead = " " * taken
        lines = _wrapped(cell.text, None if width is None else width - taken)
        for number, line in enumerate(lines):
            painted = self.look.paint(line, cell.word)
            self._lines.append((lead if number == 0 else " " * taken) + painted)


def _cell(each: Cell | str) -> Cell:
    if isinstance(each, str):
        return Cell(one_line(each))
    return Cell(one_line(each.text), each.word)


def _part(rows: Sequence[Sequence[Cell]], start: int, end: int) -> list[list[Cell]]:
    """Return the first column and those from `start` up to `end`."""
    return [[row[0], *row[start:end]] for row in rows]


def _folded(row: Sequence[Cell], fold: int) -> list[Cell]:
    tail = "; ".join(each.text for each in row[fold:] if each.text)
    return [*row[:fold], Cell(tail)]
