"""Curves: axes with round ticks, bands shaded, the present point marked, values at a cursor.

Curves are told apart by a letter and by the way they are broken; without Braille patterns they are
drawn with their letters.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from tracker.contract.figure import Figure, Series
from tracker.services.picture_views import BandView, PictureView
from tracker.tui.face import Face
from tracker.tui.layout.canvas import SOLID, Canvas
from tracker.tui.layout.frame import Place, framed, label_width
from tracker.tui.layout.paper import Line, Span, tone_of
from tracker.tui.layout.scale import Scale, scale_of

__all__ = ["Plot", "plot_lines", "runs_up", "stops", "value_at", "value_under", "worth_closer"]

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_TONES = ("key", "head", "moved", "open", "strong")
_DASHES = (SOLID, (5, 3), (1, 2), (7, 2), (3, 5), (2, 2))
_BEFORE = (1, 3)
_EVEN = 1e-6
_TICK_ROOM, _TICK_ROWS = 12, 2
_AROUND = 5  # title of the vertical axis, foot, values, title below, values at the cursor
_LEAST_ROWS = 3
_MARGIN = 0.03
_APART = 3


@dataclass(frozen=True, slots=True)
class Plot:
    """What to draw.

    Parameters
    ----------
    picture : PictureView
        A curve with its present point and its bands.
    before : Figure or None
        The same figure as stored, where a trial is drawn.
    cursor : float or None
        Where values are read, along the axis that the curves run along.
    close : bool
        Whether the first curve alone makes the scales.
    """

    picture: PictureView
    before: Figure | None = None
    cursor: float | None = None
    close: bool = False


def runs_up(figure: Figure) -> bool:
    """Tell whether the curves of a figure run along its vertical axis.

    What a curve runs along is walked in one direction, and where that is true of both axes, it is
    the one walked in even steps.
    """
    lines = [each for each in figure.series if len(each.x) > 1]
    if not all(_monotone(each.y) for each in lines):
        return False
    if not all(_monotone(each.x) for each in lines):
        return True
    return max(map(_uneven, (each.x for each in lines)), default=0.0) > _EVEN and all(
        _uneven(each.y) <= _EVEN for each in lines
    )


def _steps(values: Sequence[float]) -> list[float]:
    return [b - a for a, b in itertools.pairwise(values)]


def _monotone(values: Sequence[float]) -> bool:
    steps = _steps(values)
    return all(step > 0 for step in steps) or all(step < 0 for step in steps)


def _uneven(values: Sequence[float]) -> float:
    """Return how much the largest step of a walk exceeds the smallest."""
    steps = [abs(step) for step in _steps(values)]
    return max(steps) / min(steps) - 1.0


def stops(figure: Figure) -> list[float]:
    """Return where the cursor can stand: the places the longest curve is known at."""
    longest = max(figure.series, key=lambda each: len(each.x), default=Series(title=""))
    return sorted(longest.y if runs_up(figure) else longest.x)


def plot_lines(plot: Plot, width: int, height: int, face: Face) -> list[Line]:
    """Lay out curves.

    Parameters
    ----------
    width, height : int
        Cells to fill; narrow or low ones are filled as well as they can be.

    Returns
    -------
    list of Line
        At most `height` lines where `height` allows for the axes and three rows between them.
    """
    figure = plot.picture.figure
    legend = _legend(plot, width, face)
    place, room = _place(plot, width, height - len(legend), face)
    _draw(place, plot, face)
    lines = framed(place, (figure.across, figure.up), room, face)
    return [*legend, *lines, _read(plot, place, width, face)]


def _place(plot: Plot, width: int, height: int, face: Face) -> tuple[Place, int]:
    """Return the drawing with its scales, and the cells left of it."""
    rows = max(height - _AROUND, _LEAST_ROWS)
    up = scale_of(_extent(plot, "up"), max(rows // _TICK_ROWS, 2), margin=_MARGIN)
    room = label_width(up, face)
    columns = max(width - room - 1, 1)
    across = scale_of(_extent(plot, "across"), max(columns // _TICK_ROOM, 2))
    return Place(Canvas(columns, rows, face), across, up), room


def value_under(
    plot: Plot, size: tuple[int, int], cell: tuple[int, int], face: Face
) -> float | None:
    """Return where the cursor goes when a cell of the picture is pointed at.

    Parameters
    ----------
    size : tuple of int
        Width and height the curves are laid out for.
    cell : tuple of int
        Column and row in them.
    """
    width, height = size
    legend = len(_legend(plot, width, face))
    place, room = _place(plot, width, height - legend, face)
    column, row = cell[0] - room - 1, cell[1] - legend - 1
    if not (0 <= column < place.canvas.columns and 0 <= row < place.canvas.rows):
        return None
    if runs_up(plot.picture.figure):
        share, scale = 1.0 - (row + 0.5) / place.canvas.rows, place.up
    else:
        share, scale = (column + 0.5) / place.canvas.columns, place.across
    return scale.low + share * (scale.high - scale.low)


def _extent(plot: Plot, axis: str) -> Iterator[float]:
    """Yield what an axis must hold: the curves, the present point, and bounds near to them."""
    picture = plot.picture
    shown = picture.figure.series[:1] if plot.close else picture.figure.series
    before = plot.before.series[: len(shown)] if plot.before else ()
    values = [
        value
        for each in (*shown, *before)
        for value in (each.x if axis == "across" else each.y)
        if math.isfinite(value)
    ]
    now = picture.across if axis == "across" else picture.up
    values += [] if now is None else [now]
    yield from values
    if values:
        reach = (max(values) - min(values)) / 2
        for each in _limits(picture, axis):
            if min(values) - reach <= each <= max(values) + reach:
                yield each


def _limits(picture: PictureView, axis: str) -> list[float]:
    bounds = (each for band in picture.bands if band.axis == axis for each in _both(band))
    return [each for each in bounds if each is not None]


def _both(band: BandView) -> tuple[float | None, float | None]:
    return band.lower, band.upper


def worth_closer(picture: PictureView) -> bool:
    """Tell whether the other curves would press the first one and its band flat."""
    axis = "across" if runs_up(picture.figure) else "up"
    if len(picture.figure.series) < 2 or not _limits(picture, axis):  # noqa: PLR2004 - no others
        return False
    first, whole = (
        max(values) - min(values)
        for close in (True, False)
        for values in [list(_extent(Plot(picture, close=close), axis))]
    )
    return first < whole / 2


def _draw(place: Place, plot: Plot, face: Face) -> None:
    for band in plot.picture.bands:
        _shade(place, band, face)
    _cursor(place, plot, face)
    if plot.before is not None:
        for series in plot.before.series:
            points = [place.dot(*each) for each in zip(series.x, series.y, strict=True)]
            place.canvas.polyline(points, "quiet", dash=_BEFORE, mark=".")
    for number, series in enumerate(plot.picture.figure.series):
        points = [place.dot(*each) for each in zip(series.x, series.y, strict=True)]
        letter = _LETTERS[number % len(_LETTERS)]
        tone = _TONES[number % len(_TONES)]
        dash = _DASHES[number % len(_DASHES)]
        place.canvas.polyline(points, tone, dash=dash, mark=letter)
        if len(points) == 1:
            place.canvas.write(*place.canvas.cell(*map(round, points[0])), letter, tone)
    for band in plot.picture.bands:
        _bounds(place, band, face)
    _mark(place, plot.picture, face)
    for number, series in enumerate(plot.picture.figure.series):
        _letter(place, number, series)


def _shade(place: Place, band: BandView, face: Face) -> None:
    """Fill the band."""
    char = "." if face.ascii_only else "░"
    scale = place.up if band.axis == "up" else place.across
    low = scale.low if band.lower is None else band.lower
    high = scale.high if band.upper is None else band.upper
    low, high = max(low, scale.low), min(high, scale.high)
    if low > high:
        return
    tone = "quiet"
    if band.axis == "up":
        rows = range(place.row(high), place.row(low) + 1)
        cells = [(at, row) for row in rows for at in range(place.canvas.columns)]
    else:
        columns = range(place.column(low), place.column(high) + 1)
        cells = [(at, row) for row in range(place.canvas.rows) for at in columns]
    for column, row in cells:
        place.canvas.shade(column, row, char, tone)


def _bounds(place: Place, band: BandView, face: Face) -> None:
    """Draw the bounds, named where there is room."""
    canvas, tone = place.canvas, tone_of(band.verdict)
    scale = place.up if band.axis == "up" else place.across
    flat, steep = ("=", "!") if face.ascii_only else ("┄", "┆")
    for name, bound in (("lower", band.lower), ("upper", band.upper)):
        if bound is None or not scale.low <= bound <= scale.high:
            continue
        if band.axis == "up":
            row = place.row(bound)
            for column in range(canvas.columns):
                if not canvas.busy(column, row, 1):
                    canvas.shade(column, row, flat, tone)
            _name(canvas, row, face.line(f"{band.judge} {name}"), tone)
        else:
            column = place.column(bound)
            for row in range(canvas.rows):
                if not canvas.busy(column, row, 1):
                    canvas.shade(column, row, steep, tone)
            text = face.clip(f"{band.judge} {name}", canvas.columns)
            start = min(column + 1, canvas.columns - cell_len(text))
            if not canvas.taken(start, 0, cell_len(text)):
                canvas.write(start, 0, text, tone)


def _name(canvas: Canvas, row: int, text: str, tone: str) -> None:
    """Write a name on a row where it covers least of the drawing."""
    size = cell_len(text)
    starts = [
        at for at in range(1, canvas.columns - size) if not canvas.taken(at - 1, row, size + 2)
    ]
    if starts:
        best = min(starts, key=lambda at: (canvas.busy(at, row, size), -at))
        canvas.write(best, row, text, tone)


def _cursor(place: Place, plot: Plot, face: Face) -> None:
    at = plot.cursor
    if at is None:
        return
    if runs_up(plot.picture.figure):
        if place.up.low <= at <= place.up.high:
            for column in range(place.canvas.columns):
                place.canvas.shade(column, place.row(at), "-" if face.ascii_only else "╌", "strong")
    elif place.across.low <= at <= place.across.high:
        for row in range(place.canvas.rows):
            place.canvas.shade(place.column(at), row, "|" if face.ascii_only else "┊", "strong")


def _mark(place: Place, picture: PictureView, face: Face) -> None:
    """Mark the present point: on the first curve where only one axis tells where it is."""
    across, up = picture.across, picture.up
    along = up if runs_up(picture.figure) else across
    if (across is None or up is None) and along is not None:
        on_it = [
            each
            for series in picture.figure.series
            if len(series.x) > 1
            for each in [value_at(series, along, up=runs_up(picture.figure))]
        ]
        value = next((each for each in on_it if each is not None), None)
        across, up = (value, along) if runs_up(picture.figure) else (along, value)
    if across is None or up is None:
        return
    x, y = place.dot(across, up)
    place.canvas.write(
        *place.canvas.cell(round(x), round(y)), "@" if face.ascii_only else "◆", "strong"
    )


def _letter(place: Place, number: int, series: Series) -> None:
    """Put a curve's letter on it, near its end where that is free."""
    canvas = place.canvas
    points = [place.dot(*each) for each in zip(series.x, series.y, strict=True)]
    cells = [canvas.cell(round(x), round(y)) for x, y in points if math.isfinite(x + y)]
    first = len(cells) * (number % 3) // 12
    for column, row in [*cells[len(cells) - 1 - first :: -1], *cells[::-1]]:
        if not canvas.taken(column, row, 1):
            canvas.write(
                column, row, _LETTERS[number % len(_LETTERS)], _TONES[number % len(_TONES)]
            )
            return


def _legend(plot: Plot, width: int, face: Face) -> list[Line]:
    """Name the curves, over as many lines as that takes."""
    lines: list[Line] = []
    spans: list[Span] = []
    used = 0
    entries = list(_entries(plot, face))
    for letter, sample, title, tone in entries:
        lead = f"{letter} {sample} "
        text = face.clip(title, max(width - cell_len(lead), 0))
        size = cell_len(lead) + cell_len(text)
        if spans and used + _APART + size > width:
            lines.append(Line(tuple(spans)))
            spans, used = [], 0
        gap = " " * _APART if spans else ""
        spans += [Span(gap + lead, tone), Span(text)]
        used += len(gap) + size
    return [*lines, Line(tuple(spans))] if spans else lines


def _entries(plot: Plot, face: Face) -> Iterator[tuple[str, str, str, str]]:
    for number, series in enumerate(plot.picture.figure.series):
        letter, tone = _LETTERS[number % len(_LETTERS)], _TONES[number % len(_TONES)]
        dash = _DASHES[number % len(_DASHES)]
        yield letter, _sample(dash, letter, face), series.title, tone
    mark = "@" if face.ascii_only else "◆"
    if plot.picture.across is not None or plot.picture.up is not None:
        yield mark, "", "now" if plot.before is None else "tried", "strong"
    if plot.before is not None:
        yield "", _sample(_BEFORE, ".", face), "as stored", "quiet"


def _sample(dash: tuple[int, int], mark: str, face: Face) -> str:
    canvas = Canvas(1 if face.ascii_only else 4, 1, face)
    wide, high = canvas.dots
    canvas.polyline([(0, high // 2), (wide - 1, high // 2)], dash=dash, mark=mark)
    return "" if face.ascii_only and mark != "." else canvas.lines()[0].text


def value_at(series: Series, at: float, *, up: bool) -> float | None:
    """Return a curve's value at a place along it, between its points by a straight line.

    Parameters
    ----------
    up : bool
        Whether the curve runs along the vertical axis.
    """
    along, value = (series.y, series.x) if up else (series.x, series.y)
    pairs = sorted(zip(along, value, strict=True))
    places = [each for each, _ in pairs]
    if len(pairs) < 2 or not places[0] <= at <= places[-1]:  # noqa: PLR2004 - a point is no curve
        return None
    right = max(bisect_left(places, at), 1)
    (a, low), (b, high) = pairs[right - 1], pairs[right]
    return low if b == a else low + (high - low) * (at - a) / (b - a)


def _read(plot: Plot, place: Place, width: int, face: Face) -> Line:
    """Tell the values at the cursor."""
    figure = plot.picture.figure
    if plot.cursor is None:
        return Line()
    up = runs_up(figure)
    along, other = (figure.up, figure.across) if up else (figure.across, figure.up)
    here, there = (place.up, place.across) if up else (place.across, place.up)
    head = f"at {here.fine(plot.cursor)} {along.unit}".rstrip()
    parts = [
        f"{_LETTERS[number % len(_LETTERS)]} {text}"
        for number, text in enumerate(_values(figure.series, plot, there, up=up))
        if text
    ]
    text = f"{head}:  " + "   ".join(parts) + (f"  {other.unit}" if parts else " no curve is here")
    return Line((Span(face.clip(text, width), "strong"),))


def _values(all_series: Iterable[Series], plot: Plot, scale: Scale, *, up: bool) -> Iterator[str]:
    assert plot.cursor is not None  # noqa: S101 - values are read at the cursor
    before = plot.before.series if plot.before else ()
    for number, series in enumerate(all_series):
        value = value_at(series, plot.cursor, up=up)
        if value is None:
            yield ""
            continue
        was = value_at(before[number], plot.cursor, up=up) if number < len(before) else None
        moved = was is not None and scale.fine(was) != scale.fine(value)
        tail = f" (was {scale.fine(was)})" if moved and was is not None else ""
        yield f"{scale.fine(value)}{tail}"
