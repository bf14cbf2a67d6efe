"""What is known of curves before they are drawn: what they run along, their extent, their style."""

from __future__ import annotations

import itertools
import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tracker.contract.figure import Figure, Series
from tracker.services.pictures.views import PictureView
from tracker.tui.layout.canvas import SOLID

__all__ = [
    "Plot",
    "Style",
    "extent_along",
    "runs_up",
    "stops",
    "style_of",
    "value_at",
    "worth_closer",
]

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_TONES = ("key", "head", "moved", "open", "strong")
_DASHES = (SOLID, (5, 3), (1, 2), (7, 2), (3, 5), (2, 2))
_EVEN = 1e-6


@dataclass(frozen=True, slots=True)
class Style:
    """How a curve is told from the others.

    Parameters
    ----------
    dash : tuple of int
        Dots on and off.
    """

    letter: str
    tone: str
    dash: tuple[int, int]


def style_of(number: int) -> Style:
    """Return the style of the curve of a number; styles come again where there are many."""
    return Style(
        _LETTERS[number % len(_LETTERS)],
        _TONES[number % len(_TONES)],
        _DASHES[number % len(_DASHES)],
    )


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


def value_at(series: Series, at: float, *, up: bool) -> float | None:
    """Return a curve's value at a place along it, between its points by a straight line.

    Parameters
    ----------
    up : bool
        Whether the curve runs along the vertical axis.
    """
    along, value = (series.y, series.x) if up else (series.x, series.y)
    pairs = sorted(
        (place, number)
        for place, number in zip(along, value, strict=False)
        if math.isfinite(place) and math.isfinite(number)
    )
    places = [each for each, _ in pairs]
    if len(pairs) < 2 or not places[0] <= at <= places[-1]:  # noqa: PLR2004 - a point is no curve
        return None
    right = max(bisect_left(places, at), 1)
    (a, low), (b, high) = pairs[right - 1], pairs[right]
    return low if b == a else low + (high - low) * (at - a) / (b - a)


def extent_along(plot: Plot, axis: str) -> Iterator[float]:
    """Yield what an axis must hold: the curves, the present point, and bounds near to them.

    Parameters
    ----------
    axis : str
        `across` or `up`.
    """
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
    bands = (band for band in picture.bands if band.axis == axis)
    bounds = (each for band in bands for each in (band.lower, band.upper))
    return [each for each in bounds if each is not None]


def worth_closer(picture: PictureView) -> bool:
    """Tell whether the other curves would press the first one and its band flat."""
    axis = "across" if runs_up(picture.figure) else "up"
    if len(picture.figure.series) < 2 or not _limits(picture, axis):  # noqa: PLR2004 - no others
        return False
    first, whole = (
        max(values) - min(values)
        for close in (True, False)
        for values in [list(extent_along(Plot(picture, close=close), axis))]
    )
    return first < whole / 2
