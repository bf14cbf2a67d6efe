"""The frame around a drawing: axes with round ticks, their values, titles and units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from tracker.contract.figure import Axis
from tracker.tui.face import Face
from tracker.tui.layout.canvas import Canvas
from tracker.tui.layout.paper import Line, Span
from tracker.tui.layout.scale import Scale

__all__ = ["Place", "axis_text", "framed", "label_width"]

_GAP = 2


@dataclass(frozen=True, slots=True)
class Place:
    """How values become dots of a canvas.

    Parameters
    ----------
    canvas : Canvas
        What is drawn on.
    across, up : Scale
        What its left and right, its bottom and top stand for.
    """

    canvas: Canvas
    across: Scale
    up: Scale

    def dot(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point is, in dots from the top left."""
        wide, high = self.canvas.dots
        return self.across.share(x) * (wide - 1), (1.0 - self.up.share(y)) * (high - 1)

    def column(self, x: float) -> int:
        """Return the column of a value across."""
        return round(self.dot(x, self.up.low)[0]) // self.canvas.across

    def row(self, y: float) -> int:
        """Return the row of a value up."""
        return round(self.dot(self.across.low, y)[1]) // self.canvas.down


def axis_text(axis: Axis) -> str:
    """Return an axis's title with its unit."""
    return f"{axis.title} [{axis.unit}]" if axis.unit else axis.title


def label_width(up: Scale, face: Face) -> int:
    """Return the cells the values of the vertical axis need."""
    return max((len(face.line(up.label(each))) for each in up.ticks), default=1)


def framed(place: Place, axes: tuple[Axis, Axis], room: int, face: Face) -> list[Line]:
    """Put axes around a drawing.

    Parameters
    ----------
    place : Place
        The drawing and its scales.
    axes : tuple of Axis
        Across and up.
    room : int
        Cells for the values of the vertical axis.

    Returns
    -------
    list of Line
        The vertical axis's title, the drawing, its axis, the values, the horizontal axis's title.
    """
    canvas = place.canvas
    width = room + 1 + canvas.columns
    side, tick = ("|", "+") if face.ascii_only else ("│", "┤")
    at = {place.row(each): face.line(place.up.label(each)) for each in place.up.ticks}
    lines = [Line((Span(face.clip(axis_text(axes[1]), width), "quiet"),))]
    for row in range(canvas.rows):
        label = at.get(row, "")
        edge = tick if row in at else side
        lines.append(Line((Span(label.rjust(room) + edge, "quiet"), *canvas.spans(row))))
    columns = [place.column(each) for each in place.across.ticks]
    lines.append(_foot(canvas.columns, columns, room, face))
    lines.append(_values(place, columns, room, face))
    title = face.clip(axis_text(axes[0]), width)
    lines.append(Line((Span(" " * (width - cell_len(title)) + title, "quiet"),)))
    return lines


def _foot(columns: int, ticks: Sequence[int], room: int, face: Face) -> Line:
    corner, line, tick = ("+", "-", "+") if face.ascii_only else ("└", "─", "┬")
    cells = [tick if at in ticks else line for at in range(columns)]
    return Line((Span(" " * room + corner + "".join(cells), "quiet"),))


def _values(place: Place, columns: Sequence[int], room: int, face: Face) -> Line:
    """Write the values of the horizontal axis below their ticks, as many as there is room for."""
    width = room + 1 + place.canvas.columns
    text, free = "", 0
    for value, column in zip(place.across.ticks, columns, strict=True):
        label = face.line(place.across.label(value))
        start = min(max(room + 1 + column - len(label) // 2, 0), width - len(label))
        if start >= free:
            text = text.ljust(start) + label
            free = start + len(label) + _GAP
    return Line((Span(text.ljust(width), "quiet"),))
