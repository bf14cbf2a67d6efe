"""Curves: axes with round ticks, bands shaded, the present point marked, values at a cursor.

Curves are told apart by a letter and by the way they are broken; without Braille patterns they are
drawn with their letters.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from rich.cells import cell_len

from tracker.contract.figure import Series
from tracker.services.pictures.views import BandView, PictureView
from tracker.tui.face import Face
from tracker.tui.layout.canvas import Canvas
from tracker.tui.layout.curves import Plot, extent_along, runs_up, style_of, value_at
from tracker.tui.layout.frame import Place, framed, label_width
from tracker.tui.layout.paper import Line, Span, tone_of
from tracker.tui.layout.scale import Scale, scale_of

__all__ = ["plot_lines", "value_under"]

_BEFORE = (1, 3)
_TICK_ROOM, _TICK_ROWS = 12, 2
_AROUND = 5  # title of the vertical axis, foot, values, title below, values at the cursor
_LEAST_ROWS = 3
_MARGIN = 0.03
_APART = 3


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
    up = scale_of(extent_along(plot, "up"), max(rows // _TICK_ROWS, 2), margin=_MARGIN)
    room = label_width(up, face)
    columns = max(width - room - 1, 1)
    across = scale_of(extent_along(plot, "across"), max(columns // _TICK_ROOM, 2))
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


def _draw(place: Place, plot: Plot, face: Face) -> None:
    for band in plot.picture.bands:
        _shade(place, band, face)
    _cursor(place, plot, face)
    if plot.before is not None:
        for series in plot.before.series:
            place.canvas.polyline(_dots(place, series), "quiet", dash=_BEFORE, mark=".")
    for number, series in enumerate(plot.picture.figure.series):
        style = style_of(number)
        points = _dots(place, series)
        place.canvas.polyline(points, style.tone, dash=style.dash, mark=style.letter)
    for band in plot.picture.bands:
        _bounds(place, band, face)
    _mark(place, plot.picture, face)
    for number, series in enumerate(plot.picture.figure.series):
        _letter(place, number, series)


def _dots(place: Place, series: Series) -> list[tuple[float, float]]:
    return [place.dot(*each) for each in zip(series.x, series.y, strict=False)]


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
    if across is None or up is None or not math.isfinite(across + up):
        return
    x, y = place.dot(across, up)
    place.canvas.write(
        *place.canvas.cell(round(x), round(y)), "@" if face.ascii_only else "◆", "strong"
    )


def _letter(place: Place, number: int, series: Series) -> None:
    """Put a curve's letter on it, near its end where that is free."""
    canvas, style = place.canvas, style_of(number)
    dots = [each for each in _dots(place, series) if all(map(math.isfinite, each))]
    cells = [canvas.cell(round(x), round(y)) for x, y in dots]
    first = len(cells) * (number % 3) // 12
    for column, row in [*cells[len(cells) - 1 - first :: -1], *cells[::-1]]:
        if not canvas.taken(column, row, 1):
            canvas.write(column, row, style.letter, style.tone)
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
        style = style_of(number)
        yield style.letter, _sample(style.dash, style.letter, face), series.title, style.tone
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
        f"{style_of(number).letter} {text}"
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
