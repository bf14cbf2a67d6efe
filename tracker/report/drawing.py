"""Figures as shapes: what the formats that can draw put on paper alike."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.report.document import Band
from tracker.report.marks import band_words, ground, marks, names_of_marks, now_words, with_marks
from tracker.report.point_labels import spots
from tracker.report.scales import Scale, scale_of
from tracker.report.shapes import ALLOWED, BOUND, GRID, PRESENT, Canvas, Label, Line, Shape

__all__ = ["describe", "draw", "spelt"]

_WIDTH, _HEIGHT = 640.0, 360.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 74.0, 14.0, 12.0, 48.0
_TALLEST = 380.0
_LINE = 15.0
"""Height of a line of text."""
_CHAR = 6.1
"""Mean width of a character of the text size, for wrapping."""
_SWATCH = 60.0
"""Room in front of and behind an entry of the legend."""


def spelt(figure: Figure, spell: Callable[[str], str]) -> Figure:
    """Return a figure with every text of it written as a format can show it."""

    def axis(each: Axis) -> Axis:
        return replace(each, title=spell(each.title), unit=spell(each.unit))

    return replace(
        figure,
        title=spell(figure.title),
        across=axis(figure.across),
        up=axis(figure.up),
        series=tuple(
            replace(each, title=spell(each.title), labels=tuple(map(spell, each.labels)))
            for each in figure.series
        ),
    )


def draw(figure: Figure, bands: Sequence[Band] = ()) -> Canvas:
    """Draw a curve, a sketch or bars, with what is allowed on its axes; its texts are spelt."""
    if figure.kind is FigureKind.BARS:
        return _bars(figure)
    across, up, height = _scales(figure, bands)
    shapes = [
        *ground(bands, across, up),
        *_frame(across, up, figure),
        *_grid(across, up),
        *marks(figure, bands, across, up),
        *(
            shape
            for place, series in enumerate(figure.series)
            for shape in _line(series, place, across, up)
        ),
        *_names_of_points(figure, bands, across, up),
    ]
    legend, low = _legend(_entries(figure, bands), height)
    return Canvas(_WIDTH, low, (*shapes, *legend))


def _scales(figure: Figure, bands: Sequence[Band]) -> tuple[Scale, Scale, float]:
    if figure.kind is FigureKind.SKETCH:
        return _sketch_scales(figure)
    return _curve_scales(figure, bands)


def _entries(figure: Figure, bands: Sequence[Band]) -> list[tuple[int, str]]:
    """Return what the legend tells, each with its ink."""
    now = now_words(figure)
    return [
        *((place, each.title) for place, each in enumerate(figure.series)),
        *([(PRESENT, now)] if now else []),
        *((ALLOWED, band_words(figure, each)) for each in bands),
    ]


def _xs(figure: Figure) -> Iterator[float]:
    return (each for series in figure.series for each in series.x)


def _ys(figure: Figure) -> Iterator[float]:
    return (each for series in figure.series for each in series.y)


def _curve_scales(figure: Figure, bands: Sequence[Band]) -> tuple[Scale, Scale, float]:
    xs, ys = (
        with_marks(held, axis, (each for each in bands if each.axis == name))
        for name, axis, held in (
            ("across", figure.across, _xs(figure)),
            ("up", figure.up, _ys(figure)),
        )
    )
    across = scale_of(xs, _LEFT, _WIDTH - _RIGHT)
    return across, scale_of(ys, _HEIGHT - _BOTTOM, _TOP), _HEIGHT


def _sketch_scales(figure: Figure) -> tuple[Scale, Scale, float]:
    """Lay both axes out to one scale within a sheet no higher than `_TALLEST`."""
    wide, high = scale_of(_xs(figure), 0, 1), scale_of(_ys(figure), 0, 1)
    room = _WIDTH - _LEFT - _RIGHT
    each = min(room / (wide.high - wide.low), _TALLEST / (high.high - high.low))
    tall = each * (high.high - high.low)
    across = scale_of(_xs(figure), _LEFT, _LEFT + each * (wide.high - wide.low))
    up = scale_of(_ys(figure), _TOP + tall, _TOP)
    return across, up, _TOP + tall + _BOTTOM


def _frame(across: Scale, up: Scale, figure: Figure) -> Iterator[Shape]:
    for tick in across.ticks:
        yield Label(across.at(tick), up.start + _LINE, across.label(tick), "middle")
    for tick in up.ticks:
        yield Label(across.start - 6, up.at(tick) + 4, up.label(tick), "end")
    middle = (across.start + across.stop) / 2
    yield Label(middle, up.start + 2.2 * _LINE, _axis(figure.across), "middle")
    yield Label(14, (up.start + up.stop) / 2, _axis(figure.up), "middle", turned=True)


def _axis(axis: Axis) -> str:
    return f"{axis.title} [{axis.unit}]" if axis.unit else axis.title


def _grid(across: Scale, up: Scale) -> Iterator[Line]:
    for tick in across.ticks:
        yield Line(((across.at(tick), up.start), (across.at(tick), up.stop)), GRID)
    for tick in up.ticks:
        yield Line(((across.start, up.at(tick)), (across.stop, up.at(tick))), GRID)
    yield Line(((across.start, up.stop), (across.start, up.start), (across.stop, up.start)))


def _line(series: Series, ink: int, across: Scale, up: Scale) -> Iterator[Line]:
    for run in _runs(series):
        points = tuple((across.at(x), up.at(y)) for x, y in run)
        whole = len(run) == len(series.x)
        yield Line(points, ink, closed=series.closed and whole)


def _names_of_points(
    figure: Figure, bands: Sequence[Band], across: Scale, up: Scale
) -> Iterator[Label]:
    points = (
        (across.at(x), up.at(y), text)
        for series in figure.series
        for x, y, text in zip(series.x, series.y, series.labels, strict=False)
        if text and math.isfinite(x + y)
    )
    named = [*names_of_marks(figure, bands, across, up), *points]
    for x, y, side, text in spots(named, _WIDTH):
        yield Label(x, y, text, side)


def _runs(series: Series) -> Iterator[list[tuple[float, float]]]:
    """Yield the stretches of a line between points that have no value."""
    run: list[tuple[float, float]] = []
    for x, y in zip(series.x, series.y, strict=True):
        if math.isfinite(x + y):
            run.append((x, y))
        elif run:
            yield run
            run = []
    if run:
        yield run


def _legend(entries: Sequence[tuple[int, str]], top: float) -> tuple[list[Shape], float]:
    """Tell what is drawn below a drawing, in two columns where all is short.

    Returns the shapes, and where they end.
    """
    half = (_WIDTH - _LEFT) / 2
    short = all(len(text) * _CHAR <= half - _SWATCH for _, text in entries)
    columns = 2 if short else 1
    shapes: list[Shape] = []
    y = top + 4
    for first in range(0, len(entries), columns):
        lines = 1
        for place, (ink, text) in enumerate(entries[first : first + columns]):
            x = _LEFT + place * half
            told = _wrapped(text, half * (3 - columns) - _SWATCH)
            shapes += _swatch(x, y, ink)
            shapes += [Label(x + 42, y + 4 + n * _LINE, each) for n, each in enumerate(told)]
            lines = max(lines, len(told))
        y += lines * _LINE
    return shapes, y


def _swatch(x: float, y: float, ink: int) -> list[Shape]:
    """Show what an entry of the legend looks like in the drawing."""
    if ink == ALLOWED:
        low, high = y - 5, y + 5
        box = ((x, low), (x + 34, low), (x + 34, high), (x, high))
        edges = (Line(((x, each), (x + 34, each)), BOUND) for each in (low, high))
        return [Line(box, ALLOWED, closed=True, filled=True), *edges]
    line = Line(((x, y), (x + 34, y)), ink)
    return [line, Line(((x + 17, y),), PRESENT)] if ink == PRESENT else [line]


def _wrapped(text: str, width: float) -> list[str]:
    """Break a text at a width, between words where it can."""
    most, lines = int(width / _CHAR), [""]
    for word in text.split():
        rest = word
        while rest:
            joined = f"{lines[-1]} {rest}".strip()
            if len(joined) <= most:
                lines[-1], rest = joined, ""
            elif lines[-1]:
                lines.append("")
            else:
                lines[-1], rest = rest[:most], rest[most:]
    return lines


_BAR, _GAP, _NAMES = 12.0, 10.0, 190.0


def _bars(figure: Figure) -> Canvas:
    """Draw groups of bars to the right, one group a label and one bar a series in it."""
    across = scale_of((0.0, *_ys(figure)), _NAMES + 50, _WIDTH - 60)
    shapes: list[Shape] = []
    y = _TOP
    for place, name in enumerate(_names(figure.series)):
        lines = _wrapped(name, _NAMES - 20)
        rows = [
            _bar(across, each.y[place], y + row * _BAR, row)
            for row, each in enumerate(figure.series)
            if place < len(each.y)
        ]
        shapes += [
            Label(_NAMES - 8, y + 11 + n * _LINE, text, "end") for n, text in enumerate(lines)
        ]
        shapes += [shape for row in rows for shape in row]
        y += max(len(rows) * _BAR, len(lines) * _LINE) + _GAP
    shapes += _value_axis(across, y, figure.up)
    legend, low = _legend(_entries(figure, ()), y + _BOTTOM)
    return Canvas(_WIDTH, low, (*shapes, *legend))


def _names(series: Iterable[Series]) -> Sequence[str]:
    return max((each.labels for each in series), key=len, default=())


def _bar(across: Scale, value: float, y: float, ink: int) -> list[Shape]:
    if not math.isfinite(value):
        return []
    zero, end = across.at(0.0), across.at(value)
    box = ((zero, y), (end, y), (end, y + _BAR - 2), (zero, y + _BAR - 2))
    text = f"{value:.5g}".replace("-", "−")
    beside = Label(end + 5, y + _BAR - 2, text)
    if value < 0:
        beside = Label(end - 5, y + _BAR - 2, text, "end")
    return [Line(box, ink, closed=True, filled=True), beside]


def _value_axis(across: Scale, y: float, axis: Axis) -> list[Shape]:
    shapes: list[Shape] = [Line(((across.start, y), (across.stop, y)))]
    shapes += [Line(((across.at(0.0), _TOP), (across.at(0.0), y)))]
    shapes += [
        Label(across.at(each), y + _LINE, across.label(each), "middle") for each in across.ticks
    ]
    middle = (across.start + across.stop) / 2
    return [*shapes, Label(middle, y + 2.2 * _LINE, _axis(axis), "middle")]


def describe(figure: Figure, bands: Sequence[Band] = ()) -> str:
    """Say what a figure shows, for those who cannot see it."""
    kinds = {FigureKind.BARS: "Bars", FigureKind.SKETCH: "Sketch"}
    head = f"{kinds.get(figure.kind, 'Curve')}: {_axis(figure.up)} over {_axis(figure.across)}."
    now = now_words(figure)
    marked = [*([now] if now else []), *(band_words(figure, each) for each in bands)]
    ends = (f"{each[0].upper()}{each[1:]}." for each in marked)
    return " ".join([head, *(_told(each) for each in figure.series), *ends])


def _told(series: Series) -> str:
    ys = [each for each in series.y if math.isfinite(each)]
    if not ys:
        return f"{series.title}: nothing to show."
    ends = f"{min(ys):.4g} to {max(ys):.4g}".replace("-", "−")
    turns = sum(1 for one, two in pairwise(ys) if two < one)
    course = "rising" if not turns else "falling" if turns == len(ys) - 1 else "both ways"
    return f"{series.title}: {ends}" + (f", {course}." if len(ys) > 1 else ".")
