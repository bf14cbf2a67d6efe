"""A rectangle of terminal cells to draw on: dots, lines, shades and text.

Where the terminal has Braille patterns (ISO/IEC 10646, block 2800-28FF), a cell is two dots wide
and four high; else a dot is a character of its own.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from rich.cells import cell_len

from tracker.tui.face import Face
from tracker.tui.layout.paper import Line, Span

__all__ = ["SOLID", "Canvas"]

SOLID: tuple[int, int] = (1, 0)
"""Dots on and dots off along an unbroken line."""

_BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
_BRAILLE = 0x2800
_HIGH = 2.0  # height of a cell over its width
_FLAT = 0.4


class Canvas:
    """Cells to draw on; what is drawn later lies on top, texts on top of all.

    Parameters
    ----------
    columns, rows : int
        Size in terminal cells.
    face : Face
        Decides between the two sets of characters.
    """

    def __init__(self, columns: int, rows: int, face: Face) -> None:
        self.columns, self.rows, self._face = max(columns, 1), max(rows, 1), face
        self.across, self.down = (1, 1) if face.ascii_only else (2, 4)
        self._dots: dict[tuple[int, int], tuple[int, str]] = {}
        self._marks: dict[tuple[int, int], tuple[str, str]] = {}
        self._ground: dict[tuple[int, int], tuple[str, str]] = {}

    @property
    def dots(self) -> tuple[int, int]:
        """Size in dots."""
        return self.columns * self.across, self.rows * self.down

    def cell(self, x: float, y: float) -> tuple[int, int]:
        """Return the column and row of a dot."""
        return int(x) // self.across, int(y) // self.down

    def taken(self, column: int, row: int, length: int) -> bool:
        """Tell whether a stretch of a row holds a text, or is not on the canvas."""
        if not (0 <= row < self.rows and column >= 0 and column + length <= self.columns):
            return True
        return any((at, row) in self._marks for at in range(column, column + length))

    def busy(self, column: int, row: int, length: int) -> int:
        """Count the cells of a stretch of a row that something is drawn in."""
        return sum((at, row) in self._dots for at in range(column, column + length))

    def shade(self, column: int, row: int, char: str, tone: str = "") -> None:
        """Put a character under all that is drawn."""
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self._ground[column, row] = (char, tone)

    def write(self, column: int, row: int, text: str, tone: str = "") -> None:
        """Write a safe text over what is drawn, each character in a cell of its own."""
        for char in text:
            size = max(cell_len(char), 1)
            if 0 <= row < self.rows and column >= 0 and column + size <= self.columns:
                self._mark(column, row, char, size, tone)
            column += size

    def _mark(self, column: int, row: int, char: str, size: int, tone: str) -> None:
        """Put a character down; what it leaves half of becomes a space."""
        if self._marks.get((column, row), ("x", ""))[0] == "":
            self._marks[column - 1, row] = (" ", "")
        if self._marks.get((column + size, row), ("x", ""))[0] == "":
            self._marks[column + size, row] = (" ", "")
        self._marks[column, row] = (char, tone)
        for more in range(1, size):
            self._marks[column + more, row] = ("", tone)

    def dot(self, x: float, y: float, tone: str = "", mark: str = "*") -> None:
        """Set a dot; `mark` is its character where dots are characters."""
        if not (0 <= x < self.columns * self.across and 0 <= y < self.rows * self.down):
            return
        at = self.cell(x, y)
        if self._face.ascii_only:
            self._dots[at] = (ord(mark), tone)
            return
        bit = _BITS[int(x) % 2][int(y) % 4]
        self._dots[at] = (self._dots.get(at, (0, ""))[0] | bit, tone)

    def polyline(
        self,
        points: Sequence[tuple[float, float]],
        tone: str = "",
        *,
        dash: tuple[int, int] = SOLID,
        mark: str = "",
    ) -> None:
        """Draw a line through points given in dots; a point that is not finite breaks it.

        Parameters
        ----------
        points : sequence of (x, y)
            In dots, from the top left.
        dash : tuple of int
            Dots on and off, counted along the whole line.
        mark : str
            Character of a dot where dots are characters; one that follows the slope when empty.
        """
        count = 0
        for start, end in itertools.pairwise(points):
            ends = self._inside(start, end)
            if ends is None:
                continue
            (ax, ay), (bx, by) = ends
            steps = max(math.ceil(max(abs(bx - ax), abs(by - ay))), 1)
            char = mark or _stroke(bx - ax, by - ay)
            for step in range(steps + 1):
                if self._face.ascii_only or count % (dash[0] + dash[1]) < dash[0]:
                    share = step / steps
                    x, y = ax + (bx - ax) * share, ay + (by - ay) * share
                    self.dot(round(x), round(y), tone, char)
                count += step < steps
        if len(points) == 1 and all(map(math.isfinite, points[0])):
            self.dot(round(points[0][0]), round(points[0][1]), tone, mark or "*")

    def _inside(
        self, start: tuple[float, float], end: tuple[float, float]
    ) -> tuple[tuple[float, float], tuple[float, float]] | None:
        """Cut a stretch to the canvas (Liang and Barsky, 1984); None where nothing is left."""
        if not all(map(math.isfinite, (*start, *end))):
            return None
        low, high = 0.0, 1.0
        for at, to, most in zip(start, end, self.dots, strict=True):
            run = to - at
            for towards, room in ((-run, at), (run, most - 1 - at)):
                if towards == 0.0 and room < 0.0:
                    return None
                if towards < 0.0:
                    low = max(low, room / towards)
                elif towards > 0.0:
                    high = min(high, room / towards)
        if low > high:
            return None
        (ax, ay), (bx, by) = start, end
        return (
            (ax + low * (bx - ax), ay + low * (by - ay)),
            (ax + high * (bx - ax), ay + high * (by - ay)),
        )

    def spans(self, row: int) -> tuple[Span, ...]:
        """Return a row as spans that fill its width."""
        spans: list[Span] = []
        text, tone = "", ""
        for column in range(self.columns):
            char, own = self._shown(column, row)
            if own != tone and text:
                spans.append(Span(text, tone))
                text = ""
            text, tone = text + char, own
        return (*spans, Span(text, tone))

    def _shown(self, column: int, row: int) -> tuple[str, str]:
        at = (column, row)
        if at in self._marks:
            return self._marks[at]
        if at in self._dots:
            bits, tone = self._dots[at]
            return chr(bits if self._face.ascii_only else _BRAILLE + bits), tone
        return self._ground.get(at, (" ", ""))

    def lines(self) -> list[Line]:
        """Return the drawing."""
        return [Line(self.spans(row)) for row in range(self.rows)]


def _stroke(run: float, drop: float) -> str:
    """Return the character nearest to a slope; cells are about twice as high as wide."""
    across, down = abs(run), _HIGH * abs(drop)
    if down < _FLAT * across:
        return "-"
    if across < _FLAT * down:
        return "|"
    return "\\" if run * drop > 0 else "/"
