"""Figures of checks as a gate pack keeps them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from tracker.contract.figure import Axis, FigureKind, Series
from tracker.model.records import CheckUse
from tracker.services.packs.parts import PackAxis, PackBand, PackFigure, PackSeries
from tracker.services.packs.rounding import LINE_DIGITS, largest, rounded
from tracker.services.packs.trace import Trace
from tracker.services.pictures.picturing import pictures_of
from tracker.services.pictures.views import PictureView
from tracker.services.session import Reading
from tracker.services.wording import visible

__all__ = ["pack_figures"]


def pack_figures(reading: Reading, trace: Trace, use: CheckUse) -> Iterator[PackFigure]:
    """Draw a bound check's figures, with the revision its results and their bands come from."""
    graph = reading.engine.graph
    node = graph.nodes[graph.position[use.id]]
    slots = [*node.outputs, *(gather.slot for gather in node.gathers)]
    judged = (place for slot in slots for place in graph.judged_by[slot])
    revision = max([trace.record(use.id), *map(trace.slot, slots), *map(trace.judged, judged)])
    for each in pictures_of(reading, use, tuple(FigureKind)):
        yield _figure(each, revision)


def _figure(picture: PictureView, revision: int) -> PackFigure:
    figure = picture.figure
    across = _size(each.x for each in figure.series)
    up = _size(each.y for each in figure.series)
    if figure.kind is FigureKind.SKETCH:  # both axes have one scale
        across = up = max(across, up)
    return PackFigure(
        check=picture.check,
        key=visible(figure.key),
        title=visible(figure.title),
        kind=figure.kind.value,
        across=_axis(figure.across, picture.across, _bands(picture, "across"), across),
        up=_axis(figure.up, picture.up, _bands(picture, "up"), up),
        series=tuple(_series(each, across, up) for each in figure.series),
        revision=revision,
    )


def _bands(picture: PictureView, axis: str) -> tuple[PackBand, ...]:
    return tuple(
        PackBand(
            judge=each.judge,
            lower=None if each.lower is None else rounded(each.lower),
            upper=None if each.upper is None else rounded(each.upper),
            verdict=each.verdict,
        )
        for each in picture.bands
        if each.axis == axis
    )


def _axis(axis: Axis, now: float | None, bands: tuple[PackBand, ...], size: float) -> PackAxis:
    return PackAxis(
        title=visible(axis.title),
        unit=visible(axis.unit),
        now=None if now is None else rounded(now, size, LINE_DIGITS),
        bands=bands,
    )


def _size(lines: Iterator[Sequence[float]]) -> float:
    return largest(each for line in lines for each in line if math.isfinite(each))


def _series(series: Series, across: float, up: float) -> PackSeries:
    return PackSeries(
        title=visible(series.title),
        x=_line(series.x, across),
        y=_line(series.y, up),
        labels=tuple(map(visible, series.labels)),
        closed=series.closed,
    )


def _line(numbers: Sequence[float], size: float) -> tuple[float | None, ...]:
    return tuple(
        rounded(float(each), size, LINE_DIGITS) if math.isfinite(each) else None for each in numbers
    )
