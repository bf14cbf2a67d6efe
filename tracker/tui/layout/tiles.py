"""Pictures side by side, as many as there is room for, each under its title."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from tracker.tui.layout.paper import Line, Span

__all__ = ["Grid", "beside", "grid_for", "padded"]

_GAP = 2


@dataclass(frozen=True, slots=True)
class Grid:
    """How pictures share a space.

    Parameters
    ----------
    columns, rows : int
        Pictures side by side and on top of each other.
    width, height : int
        Cells for each.
    """

    columns: int
    rows: int
    width: int
    height: int

    @property
    def size(self) -> int:
        """Pictures it holds."""
        return self.columns * self.rows

    def at(self, column: int, row: int) -> tuple[int, int, int]:
        """Return the picture a cell belongs to, and the place of the cell in it."""
        across = min(column // (self.width + _GAP), self.columns - 1)
        down = min(row // self.height, self.rows - 1)
        place = down * self.columns + across
        return place, column - across * (self.width + _GAP), row - down * self.height


def grid_for(count: int, width: int, height: int, least: tuple[int, int] = (70, 17)) -> Grid:
    """Return a grid of pictures that are each at least so wide and high."""
    columns = min(max((width + _GAP) // (least[0] + _GAP), 1), max(count, 1))
    rows = min(max(height // least[1], 1), max(-(-count // columns), 1))
    return Grid(columns, rows, (width - _GAP * (columns - 1)) // columns, max(height // rows, 1))


def padded(line: Line, width: int) -> tuple[Span, ...]:
    """Return a line's spans, filled up to a width."""
    short = width - cell_len(line.text)
    return (*line.spans, Span(" " * short)) if short > 0 else line.spans


def beside(blocks: Sequence[Sequence[Line]], width: int) -> list[Line]:
    """Put blocks of lines next to each other, each in a column of one width."""
    lines = []
    for row in range(max(map(len, blocks), default=0)):
        spans: list[Span] = []
        for number, block in enumerate(blocks):
            if number:
                spans.append(Span(" " * _GAP))
            spans += padded(block[row] if row < len(block) else Line(), width)
        lines.append(Line(tuple(spans)))
    return lines
