"""Where the design stands in a figure and what it is held to: as shapes, and in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from tracker.contract.figure import Axis, Figure
from tracker.report.document import Band
from tracker.report.scales import Scale
from tracker.report.shapes import ALLOWED, BOUND, PRESENT, Line

__all__ = [
    "band_words",
    "ground",
    "marks",
    "names_of_marks",
    "now_words",
    "spelt_bands",
    "with_marks",
]

Point = tuple[float, float, str]
_STRETCH = 2.0
"""How many times as long an axis may become for a bound to be on it."""


def spelt_bands(bands: Iterable[Band], spell: Callable[[str], str]) -> tuple[Band, ...]:
    """Return bands with every text of them written as a format can show it."""
    return tuple(
        replace(each, judge=spell(each.judge), verdict=spell(each.verdict)) for each in bands
    )


def with_marks(values: Iterable[float], axis: Axis, bands: Iterable[Band]) -> list[float]:
    """Return what an axis has to hold: its curves, where the design stands, and near bounds."""
    held = [each for each in values if math.isfinite(each)]
    held += [] if axis.now is None else [axis.now]
    if not held:
        return held
    low, high = min(held), max(held)
    for bound in _bounds(bands):
        if max(high, bound) - min(low, bound) <= _STRETCH * (high - low):
            held.append(bound)
    return held


def _bounds(bands: Iterable[Band]) -> Iterator[float]:
    return (each for band in bands for each in (band.lower, band.upper) if each is not None)


def ground(bands: Iterable[Band], across: Scale, up: Scale) -> Iterator[Line]:
    """Draw the ground that is allowed; all else is drawn upon it."""
    corners = (each for band in bands for each in _ground(band, across, up))
    return (Line(each, ALLOWED, closed=True, filled=True) for each in corners)


def marks(figure: Figure, bands: Sequence[Band], across: Scale, up: Scale) -> Iterator[Line]:
    """Draw the bounds of what is allowed, and where the design stands."""
    yield from (Line(each, BOUND) for band in bands for each, _ in _edges(band, across, up))
    x, y = _placed(figure.across.now, across), _placed(figure.up.now, up)
    if x is not None:
        yield Line(((x, up.start), (x, up.stop)), PRESENT)
    if y is not None:
        yield Line(((across.start, y), (across.stop, y)), PRESENT)
    if x is not None and y is not None:
        yield Line(((x, y),), PRESENT)


def names_of_marks(
    figure: Figure, bands: Sequence[Band], across: Scale, up: Scale
) -> Iterator[Point]:
    """Name the place where the design stands, and each bound at its end."""
    x, y = _placed(figure.across.now, across), _placed(figure.up.now, up)
    if x is not None or y is not None:
        yield (across.stop if x is None else x, up.stop if y is None else y, "now")
    for band in bands:
        for ends, name in _edges(band, across, up):
            yield (*ends[-1], name)


def _placed(value: float | None, scale: Scale) -> float | None:
    inside = value is not None and scale.low <= value <= scale.high
    return scale.at(value) if inside and value is not None else None


def _ground(band: Band, across: Scale, up: Scale) -> Iterator[tuple[tuple[float, float], ...]]:
    """Yield the corners of what a band allows, as far as it is in the drawing."""
    scale = across if band.axis == "across" else up
    low = scale.low if band.lower is None else max(band.lower, scale.low)
    high = scale.high if band.upper is None else min(band.upper, scale.high)
    if low < high:
        a, b = scale.at(low), scale.at(high)
        if band.axis == "across":
            yield (a, up.start), (b, up.start), (b, up.stop), (a, up.stop)
        else:
            yield (across.start, a), (across.stop, a), (across.stop, b), (across.start, b)


def _edges(
    band: Band, across: Scale, up: Scale
) -> Iterator[tuple[tuple[tuple[float, float], ...], str]]:
    """Yield the bounds of a band that are in the drawing, as lines with their names."""
    for bound, side in ((band.lower, "least"), (band.upper, "most")):
        at = _placed(bound, across if band.axis == "across" else up)
        if at is None:
            continue
        if band.axis == "across":
            yield ((at, up.start), (at, up.stop)), f"{band.judge} {side}"
        else:
            yield ((across.start, at), (across.stop, at)), f"{band.judge} {side}"


def now_words(figure: Figure) -> str:
    """Say where the design stands; nothing where nothing tells."""
    stands = [
        f"{each.title} {_number(each.now)} {each.unit}".rstrip()
        for each in (figure.across, figure.up)
        if each.now is not None
    ]
    return f"now: {', '.join(stands)}" if stands else ""


def band_words(figure: Figure, band: Band) -> str:
    """Say what a band allows and what the present value is judged."""
    axis = figure.across if band.axis == "across" else figure.up
    return f"allowed by {band.judge}: {_limits(band)} {axis.unit}".rstrip() + f" ({band.verdict})"


def _limits(band: Band) -> str:
    if band.lower is not None and band.upper is not None:
        return f"{_number(band.lower)} to {_number(band.upper)}"
    if band.lower is not None:
        return f"at least {_number(band.lower)}"
    return "anything" if band.upper is None else f"at most {_number(band.upper)}"


def _number(value: float) -> str:
    return f"{value:.6g}".replace("-", "−")
