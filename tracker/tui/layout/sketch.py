"""Sketches: outlines to one scale on both axes, their points named where there is room."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from tracker.contract.figure import Figure, Series
from tracker.tui.face import Face
from tracker.tui.layout.canvas import Canvas
from tracker.tui.layout.frame import Place, framed, label_width
from tracker.tui.layout.paper import Line
from tracker.tui.layout.scale import Scale, scale_of

__all__ = ["Sketch", "Spot", "extent_of", "sketch_lines", "spot_under"]

_TICK_ROOM, _TICK_ROWS = 10, 4
_AROUND = 4  # titles of both axes, foot, values
_LEAST_ROWS = 3
_LONGEST = 22
_NEAR = 1
_BEFORE = (1, 3)
_CELL = 2.0  # height of a terminal cell over its width, as most terminals have it


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of the vehicle to show on top of the sketch.

    Parameters
    ----------
    x, y : float
        On the sketch's axes.
    name : str
        What it is called.
    chosen : bool
        Whether it is the one being moved.
    """

    x: float
    y: float
    name: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Sketch:
    """What to draw.

    Parameters
    ----------
    figure : Figure
        Outlines and points.
    before : Figure or None
        The same as stored, where a trial is drawn.
    spots : tuple of Spot
        Points to mark.
    extent : tuple of float or None
        Least and greatest x, least and greatest y to show; what the figure needs when None. Keeping
        it keeps the picture still while a point moves.
    """

    figure: Figure
    before: Figure | None = None
    spots: tuple[Spot, ...] = ()
    extent: tuple[float, float, float, float] | None = None


def extent_of(figure: Figure) -> tuple[float, float, float, float] | None:
    """Return the least and greatest x and y of a figure; None when it has no point."""
    xs = [x for each in figure.series for x in each.x if math.isfinite(x)]
    ys = [y for each in figure.series for y in each.y if math.isfinite(y)]
    return (min(xs), max(xs), min(ys), max(ys)) if xs and ys else None


def sketch_lines(sketch: Sketch, width: int, height: int, face: Face) -> list[Line]:
    """Lay out a sketch.

    Parameters
    ----------
    width, height : int
        Cells to fill.

    Returns
    -------
    list of Line
        At most `height` lines where `height` allows for the axes and three rows between them.
    """
    figure = sketch.figure
    place, room = _place(sketch, width, height, face)
    canvas = place.canvas
    if sketch.before is not None:
        for series in sketch.before.series:
            canvas.polyline(_dots(place, series), "quiet", dash=_BEFORE, mark=".")
    for series in figure.series:
        canvas.polyline(_dots(place, series), _tone(series))
    _joints(place, figure, face)
    _spots(place, sketch.spots, face)
    _names(place, figure, face)
    return framed(place, (figure.across, figure.up), room, face)


def _place(sketch: Sketch, width: int, height: int, face: Face) -> tuple[Place, int]:
    """Return the drawing with its scales, and the cells left of it."""
    extent = sketch.extent or extent_of(sketch.figure) or (0.0, 1.0, 0.0, 1.0)
    rows = max(height - _AROUND, _LEAST_ROWS)
    room = 1
    while True:
        place = _fitted(Canvas(max(width - room - 1, 1), rows, face), extent)
        needed = label_width(place.up, face)
        if needed <= room:
            return place, room
        room = needed


def spot_under(sketch: Sketch, size: tuple[int, int], cell: tuple[int, int], face: Face) -> str:
    """Return the name of the spot at a cell, or next to it; empty where there is none.

    Parameters
    ----------
    size : tuple of int
        Width and height the sketch is laid out for.
    cell : tuple of int
        Column and row in it.
    """
    place, room = _place(sketch, *size, face)
    at = cell[0] - room - 1, cell[1] - 1
    reach: list[tuple[int, str]] = []
    for spot in sketch.spots:
        dot = place.dot(spot.x, spot.y)
        column, row = place.canvas.cell(round(dot[0]), round(dot[1]))
        reach.append((max(abs(column - at[0]), abs(row - at[1])), spot.name))
    distance, name = min(reach, default=(_NEAR + 1, ""))
    return name if distance <= _NEAR else ""


def _tone(series: Series) -> str:
    """Return the tone of an outline: closed ones, such as wheels, stand back."""
    return "quiet" if series.closed else "key"


def _dots(place: Place, series: Series) -> list[tuple[float, float]]:
    points = [place.dot(*each) for each in zip(series.x, series.y, strict=False)]
    return [*points, points[0]] if series.closed and points else points


def _fitted(canvas: Canvas, extent: tuple[float, float, float, float]) -> Place:
    """Return scales of which a unit is as long across as up."""
    left, right, bottom, top = extent
    across, down = canvas.dots
    tall = _CELL * canvas.across / canvas.down  # height of a dot over its width
    per_dot = max((right - left) / max(across - 3, 1), (top - bottom) / max((down - 3) * tall, 1))
    per_dot = per_dot if per_dot > 0.0 else 1.0
    half_wide, half_high = per_dot * (across - 1) / 2, per_dot * tall * (down - 1) / 2
    middle, centre = (left + right) / 2, (bottom + top) / 2
    return Place(
        canvas,
        _scale(middle - half_wide, middle + half_wide, canvas.columns // _TICK_ROOM),
        _scale(centre - half_high, centre + half_high, canvas.rows // _TICK_ROWS),
    )


def _scale(low: float, high: float, most: int) -> Scale:
    return scale_of((low, high if high > low else low + 1.0), max(most, 2))


def _joints(place: Place, figure: Figure, face: Face) -> None:
    """Mark the points that have a name."""
    for series in figure.series:
        for x, y, label in zip(series.x, series.y, series.labels, strict=False):
            if label and math.isfinite(x + y):
                _put(place, x, y, "o" if face.ascii_only else "•", "strong")


def _put(place: Place, x: float, y: float, char: str, tone: str) -> None:
    dot = place.dot(x, y)
    place.canvas.write(*place.canvas.cell(round(dot[0]), round(dot[1])), char, tone)


def _spots(place: Place, spots: Sequence[Spot], face: Face) -> None:
    """Mark the points that can be moved, the chosen one last and with its name."""
    plain, chosen = ("#", "@") if face.ascii_only else ("◇", "◆")
    for spot in sorted(spots, key=lambda each: each.chosen):
        _put(place, spot.x, spot.y, chosen if spot.chosen else plain, "near")
        if spot.chosen:
            _name(place, spot.x, spot.y, face.clip(spot.name, _LONGEST), "near")


def _names(place: Place, figure: Figure, face: Face) -> None:
    for x, y, name in _wanted(figure):
        _name(place, x, y, face.clip(name, _LONGEST), "quiet")


def _wanted(figure: Figure) -> Iterator[tuple[float, float, str]]:
    """Yield the names worth showing: labels that are nobody else's, else the outline's title."""
    count = Counter(label for each in figure.series for label in set(each.labels) if label)
    titled: list[tuple[float, float, str]] = []
    for series in figure.series:
        labels = series.labels or ("",) * len(series.x)
        points = [
            (x, y, label)
            for x, y, label in zip(series.x, series.y, labels, strict=False)
            if math.isfinite(x + y)
        ]
        own = [each for each in points if count[each[2]] == 1]
        yield from own
        if points and not own:
            x, y, _ = max(points, key=lambda each: each[1]) if series.closed else points[0]
            titled.append((x, y, series.title))
    yield from titled


def _name(place: Place, x: float, y: float, text: str, tone: str) -> None:
    """Write a name beside a point where it covers no other name and least of the drawing."""
    canvas = place.canvas
    dot = place.dot(x, y)
    column, row = canvas.cell(round(dot[0]), round(dot[1]))
    size = cell_len(text)
    beside = [(column + 2, row), (column - 1 - size, row)]
    offsets = (-1, 1, -2, 2)
    near = [
        (at, row + by) for by in offsets for at in (column + 1, column - size, column - size // 2)
    ]
    free = [(at, line) for at, line in (*beside, *near) if not canvas.taken(at, line, size)]
    if free:
        at, line = min(free, key=lambda cell: canvas.busy(cell[0], cell[1], size))
        canvas.write(at, line, text, tone)
