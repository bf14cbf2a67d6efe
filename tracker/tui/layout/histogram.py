"""Histogram of a judged number: its bins, the band, and how likely it is missed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from tracker.services.explore_views import SummaryView
from tracker.tui.face import Face
from tracker.tui.layout.paper import Line, Span
from tracker.tui.layout.scale import Scale, scale_of

__all__ = ["Histogram", "histogram_lines", "histogram_of"]

_EIGHTHS = " ▁▂▃▄▅▆▇█"
_FLAT = " ...::::#"
_LEAST_HEIGHT = 3
_TICK_ROOM = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Histogram:
    """How a number scatters.

    Parameters
    ----------
    edges : sequence of float
        Ends of the bins, one more than there are bins.
    counts : sequence of int
        Samples in each.
    unit : str
        Of all numbers.
    lower, upper : float or None
        The band; None where it has no such bound.
    low, high : float or None
        The interval that is told beside it, where there is one.
    mean : float or None
        Told beside it.
    missed : float or None
        Share of the samples outside the band.
    """

    edges: Sequence[float]
    counts: Sequence[int]
    unit: str = ""
    lower: float | None = None
    upper: float | None = None
    low: float | None = None
    high: float | None = None
    mean: float | None = None
    missed: float | None = None


def histogram_of(summary: SummaryView) -> Histogram:
    """Return the histogram of a judged number of a spread."""
    return Histogram(
        edges=summary.edges,
        counts=summary.counts,
        unit=summary.unit,
        lower=summary.lower,
        upper=summary.upper,
        low=summary.low,
        high=summary.high,
        mean=summary.mean,
        missed=summary.missed,
    )


def histogram_lines(what: Histogram, width: int, height: int, face: Face) -> list[Line]:
    """Lay out a histogram.

    Bins outside the band are filled differently, bounds are drawn as lines from top to bottom,
    and below the axis stand round values, the mean and the interval.

    Parameters
    ----------
    width, height : int
        Cells to fill; three lines of the height are the axis and what stands below it.

    Returns
    -------
    list of Line
        `max(height, 6)` lines, or one that says there is nothing to draw.
    """
    if not what.counts or not any(what.counts):
        return [Line((Span(face.clip("no sample has a value", width), "quiet"),))]
    columns = max(width, 1)
    bounds = [each for each in (what.lower, what.upper) if each is not None]
    shown = [*what.edges, *_near(bounds, what.edges)]
    scale = scale_of(shown, max(columns // _TICK_ROOM, 2))
    rows = max(height - 3, _LEAST_HEIGHT)
    heights = _heights(what, scale, columns)
    tallest = max(heights)
    return [
        *(
            _row(what, scale, [each / tallest * rows for each in heights], rows - 1 - at, face)
            for at in range(rows)
        ),
        _axis(scale, columns, face),
        _labels(scale, columns, what.unit, face),
        _summary(what, scale, columns, face),
    ]


def _near(bounds: Sequence[float], edges: Sequence[float]) -> list[float]:
    """Return the bounds close enough to the samples to be shown with them."""
    reach = edges[-1] - edges[0]
    return [each for each in bounds if edges[0] - reach <= each <= edges[-1] + reach]


def _heights(what: Histogram, scale: Scale, columns: int) -> list[float]:
    """Return samples for each column: a bin's share by how much of it lies in the column."""
    step = (scale.high - scale.low) / columns
    found = [0.0] * columns
    for left, right, count in zip(what.edges[:-1], what.edges[1:], what.counts, strict=True):
        first = max(math.floor((left - scale.low) / step), 0)
        last = min(math.ceil((right - scale.low) / step), columns)
        for at in range(first, last):
            start = scale.low + at * step
            part = min(right, start + step) - max(left, start)
            if part > 0.0:
                found[at] += count * part / (right - left)
    return found if any(found) else [1.0] * columns


def _row(what: Histogram, scale: Scale, heights: Sequence[float], row: int, face: Face) -> Line:
    columns = len(heights)
    marks = {
        _column(scale, each, columns)
        for each in (what.lower, what.upper)
        if each is not None and scale.low <= each <= scale.high
    }
    spans = []
    for at, tall in enumerate(heights):
        value = scale.low + (at + 0.5) / columns * (scale.high - scale.low)
        inside = not _outside(what, value)
        part = min(max(tall - row, 0.0), 1.0)
        char = _block(part, inside=inside, face=face)
        if at in marks:
            spans.append(Span("|" if face.ascii_only else "│", "strong"))
        else:
            spans.append(Span(char, "good" if inside else "bad"))
    return Line(_joined(spans))


def _outside(what: Histogram, value: float) -> bool:
    too_low = what.lower is not None and value < what.lower
    return too_low or (what.upper is not None and value > what.upper)


def _block(part: float, *, inside: bool, face: Face) -> str:
    eighths = round(part * 8)
    if part > 0.0 and eighths == 0:
        eighths = 1
    if face.ascii_only:
        char = _FLAT[eighths]
        return "x" if char == "#" and not inside else char
    return "▓" if eighths == 8 and not inside else _EIGHTHS[eighths]  # noqa: PLR2004 - a whole cell


def _column(scale: Scale, value: float, columns: int) -> int:
    return min(math.floor(scale.share(value) * columns), columns - 1)


def _axis(scale: Scale, columns: int, face: Face) -> Line:
    line, tick = ("-", "+") if face.ascii_only else ("─", "┴")
    cells = [line] * columns
    for each in scale.ticks:
        cells[_column(scale, each, columns)] = tick
    return Line((Span("".join(cells), "quiet"),))


def _labels(scale: Scale, columns: int, unit: str, face: Face) -> Line:
    unit = face.clip(unit, columns // 3)
    room = columns - (cell_len(unit) + 1 if unit else 0)
    cells = [" "] * room
    free = 0
    for each in scale.ticks:
        text = face.line(scale.label(each))
        at = _column(scale, each, columns)
        start = min(max(at - len(text) // 2, 0), room - len(text))
        if start >= free and at <= start + len(text):  # else it would stand beside its tick
            cells[start : start + len(text)] = text
            free = start + len(text) + 1
    return Line((Span("".join(cells), "quiet"), Span(f" {unit}" if unit else "", "quiet")))


def _summary(what: Histogram, scale: Scale, columns: int, face: Face) -> Line:
    parts = []
    if what.missed is not None:
        parts.append(f"missed by {what.missed * 100:.3g} %")
    for name, bound in (("lower", what.lower), ("upper", what.upper)):
        if bound is not None:
            beyond = "" if scale.low <= bound <= scale.high else ", beyond the picture"
            parts.append(f"{name} {scale.fine(bound)}{beyond}")
    if what.mean is not None:
        parts.append(f"mean {scale.fine(what.mean)}")
    if what.low is not None and what.high is not None:
        parts.append(f"interval {scale.fine(what.low)} to {scale.fine(what.high)}")
    return Line((Span(face.clip(" · ".join(parts), columns), "quiet"),))


def _joined(spans: Sequence[Span]) -> tuple[Span, ...]:
    """Join neighbours of one tone."""
    joined: list[Span] = []
    for each in spans:
        if joined and joined[-1].tone == each.tone:
            joined[-1] = Span(joined[-1].text + each.text, each.tone)
        else:
            joined.append(each)
    return tuple(joined)
