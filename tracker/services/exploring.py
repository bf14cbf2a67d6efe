"""Seeing further than one edit: headroom, drivers, spread.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.exploring import headroom

    session = open_session("programme.db")
    for each in headroom(session, "wheelbase").intervals:
        print(each.low, each.high, each.breaks_low)

All of them only look: nothing is stored. `cancel` stops a long run between two checks; `progress`
is told in words how far it got.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from tracker.errors import BadKeyError, UnknownKeyError
from tracker.evaluate.engine import Cancel
from tracker.explore.drivers import Driver
from tracker.explore.drivers import drivers as find_drivers
from tracker.explore.headroom import POINTS, Headroom, Stretch
from tracker.explore.headroom import headroom as find_headroom
from tracker.explore.owners import Owner
from tracker.explore.scatter import COVERAGE_FACTOR, Scatter
from tracker.explore.sources import Source, adjustables, bounds, sources_at
from tracker.explore.spread import Chance, Plan, Spread, Summary
from tracker.explore.spread import spread as find_spread
from tracker.model.address import parse_address
from tracker.model.records import Requirement, ToleranceShape
from tracker.model.units import ONE, Unit
from tracker.model.values import Kind, Value
from tracker.services.explore_views import (
    ChanceView,
    DriversView,
    DriverView,
    HeadroomView,
    IntervalView,
    OwnerView,
    PairView,
    ScatterView,
    SpreadView,
    StretchView,
    SummaryView,
)
from tracker.services.present import address_text, finding_view, key_of
from tracker.services.session import Reading
from tracker.services.wording import CAUTION, number_text, value_text, visible, with_unit

__all__ = ["Plan", "drivers", "headroom", "spread"]

Progress = Callable[[str], None]

_MEANINGS: Mapping[ToleranceShape, str] = {
    ToleranceShape.NORMAL: f"± is {COVERAGE_FACTOR:g} standard deviations and covers 95.45 %",
    ToleranceShape.RECTANGULAR: "± holds every value, all equally likely",
    ToleranceShape.TRIANGULAR: "± holds every value, the middle ones likelier",
}


def headroom(
    reading: Reading,
    key: str = "",
    *,
    points: int = POINTS,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> HeadroomView:
    """Return how far values may move before a decision that stands stops standing.

    A decision that is broken or unproven has stopped standing; a strained one has not.

    Parameters
    ----------
    key : str
        Address of a quantity, a component or cell, or a bound; a point means its components, a
        requirement its bounds. Empty: every adjustable quantity and every bound.
    points : int
        Stretches between samples where nothing is certified.

    Raises
    ------
    UnknownKeyError
        Nothing is called that.
    InputError
        It cannot be moved by itself, or has no value now.
    CancelledError
        `cancel` asked to stop.
    """
    sources = _sources(reading, key)
    found = find_headroom(reading.engine, sources, points=points, cancel=cancel, progress=progress)
    standings = reading.engine.state.standings.items()
    return HeadroomView(
        revision=reading.head.revision,
        intervals=tuple(_interval(reading, each) for each in found),
        standing=tuple(
            key_of(reading, each)
            for each, held in standings
            if held.standing in ("stands", "strained")
        ),
        caution=CAUTION,
    )


def _sources(reading: Reading, key: str) -> list[Source]:
    if not key:
        return [*adjustables(reading.engine), *bounds(reading.engine)]
    address = parse_address(key)
    if address.decision:
        raise BadKeyError(
            "what an option states moves as the quantity itself",
            item=key,
            remedy=f"Lean to the option, then ask for {address.key}",
        )
    record = reading.programme.find(address.key)
    if record is None:
        raise UnknownKeyError(
            f"nothing is called {address.key!r}",
            item=key,
            remedy="`whybone list quantity` shows the keys there are",
        )
    return sources_at(reading.engine, record.id, address.part)


def _interval(reading: Reading, found: Headroom) -> IntervalView:
    source = found.source
    return IntervalView(
        key=_address(reading, source),
        value=source.value,
        unit=source.unit.text,
        low=found.low.at,
        high=found.high.at,
        breaks_low=_keys(reading, found.low.breaks),
        breaks_high=_keys(reading, found.high.breaks),
        because_low=_judges(reading, found.low.judges),
        because_high=_judges(reading, found.high.judges),
        certified=found.certified,
        resolution=found.resolution,
        decisions=tuple(_stretch(reading, each) for each in found.decisions),
        kept=found.kept,
        lost=found.lost,
        text=value_text(source.value, source.kind, source.unit),
        low_text=_end_text(found.low.at, source.unit),
        high_text=_end_text(found.high.at, source.unit),
    )


def _address(reading: Reading, source: Source) -> str:
    return address_text(reading, source.id, source.part)


def _keys(reading: Reading, ids: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(key_of(reading, each) for each in ids)


def _judges(reading: Reading, places: tuple[int, ...]) -> tuple[str, ...]:
    return tuple(finding_view(reading, place).judge for place in places)


def _end_text(number: float | None, unit: Unit) -> str:
    return "any" if number is None else number_text(number, unit)


def _stretch(reading: Reading, found: Stretch) -> StretchView:
    return StretchView(
        key=key_of(reading, found.decision),
        low=found.low.at,
        high=found.high.at,
        breaks_low=bool(found.low.breaks),
        breaks_high=bool(found.high.breaks),
        certified=found.certified,
    )


def drivers(
    reading: Reading,
    key: str,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> DriversView:
    """Return the values that a requirement's verdict depends on, the strongest first.

    What an effect is measured by: a value's tolerance, else half its adjustable range, else 1 % of
    its size, but 1 mm for a coordinate without either. Last come the values with a slope alone.

    Raises
    ------
    UnknownKeyError
        No requirement is called that.
    BadValueError
        It judges no number, or its value is unknown.
    CancelledError
        `cancel` asked to stop.
    """
    requirement = reading.programme.named(key, Requirement)
    place = reading.engine.graph.judges_of[requirement.id][0]
    judged, finding = reading.engine.graph.judges[place], finding_view(reading, place)
    found = find_drivers(reading.engine, requirement.id, cancel, progress)
    unit = judged.measure.unit
    return DriversView(
        revision=reading.head.revision,
        requirement=requirement.key,
        subject=finding.subject,
        text=finding.text,
        unit=finding.unit,
        verdict=finding.verdict,
        drivers=tuple(_driver(reading, each, finding.subject, unit) for each in found),
        caution=CAUTION,
    )


def _driver(reading: Reading, found: Driver, subject: str, unit: Unit) -> DriverView:
    source = found.source
    known = math.isfinite(found.slope)
    return DriverView(
        key=_address(reading, source),
        text=value_text(source.value, source.kind, source.unit),
        unit=source.unit.text,
        slope=found.slope if known else None,
        slope_unit=f"{unit.text or 1} per {source.unit.text or 1}",
        slope_text=_signed(found.slope) if known else "",
        doubt=found.doubt if known else None,
        analytic=found.analytic,
        swing=found.swing,
        by=found.by.value,
        effect=found.effect if known else None,
        share=found.share if known else None,
        words=_driver_words(found, subject, unit),
    )


def _signed(slope: float) -> str:
    """Write a slope: its sign and four significant digits."""
    return f"{'−' if slope < 0 else '+'}{_rounded(abs(slope), 4)}"


def _rounded(number: float, digits: int) -> str:
    return number_text(float(f"{number:.{digits}g}"), ONE)


def _driver_words(found: Driver, subject: str, unit: Unit) -> str:
    """Say in words which way a value pushes, and how far."""
    if not math.isfinite(found.slope):
        return f"{subject} has no slope here"
    if found.slope == 0:
        return f"{subject} does not feel a small change of it"
    verb = "raises" if found.slope > 0 else "lowers"
    if found.swing is None or found.effect is None:
        return f"more of it {verb} {subject}; not ranked: it has {found.by}"
    share = (
        "" if found.share is None else f", {_rounded(100 * found.share, 2)} % of the band's scale"
    )
    swing = f"+{with_unit(found.swing, found.source.unit)} ({found.by})"
    effect = f"{_rounded(found.effect, 3)} {unit.text}".rstrip()
    return f"{swing} {verb} {subject} by {effect}{share}"


def spread(
    reading: Reading,
    plan: Plan | None = None,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> SpreadView:
    """Return how likely each decision is to stand, given the tolerances.

    Parameters
    ----------
    plan : Plan
        How well to know it, the seed, and pairs that scatter together.

    Raises
    ------
    BadValueError
        Nothing scatters, or the correlations do not hold.
    CancelledError
        `cancel` asked to stop.
    """
    asked = plan or Plan()
    found = find_spread(reading.engine, asked, cancel=cancel, progress=progress)
    return SpreadView(
        revision=reading.head.revision,
        n=found.samples,
        reached=found.reached,
        half_width=asked.half_width,
        confidence=asked.confidence,
        seed=asked.seed,
        decisions=tuple(_chance(reading, each, found) for each in found.chances),
        quantities=tuple(_summary(reading, each) for each in found.summaries),
        scatter=tuple(_scatter(reading, each) for each in found.drawn),
        idle=tuple(each.key for each in found.idle),
        correlated=tuple(_pairs(reading, found)),
        unpaired=tuple(each.key for each in found.unpaired),
        caution=CAUTION,
    )


def _pairs(reading: Reading, found: Spread) -> Iterator[PairView]:
    for (one, other), coefficient in found.correlated.items():
        names = (address_text(reading, *each) for each in (one, other))
        yield PairView(one=next(names), other=next(names), coefficient=coefficient)


def _chance(reading: Reading, found: Chance, whole: Spread) -> ChanceView:
    return ChanceView(
        key=key_of(reading, found.decision),
        standing=reading.engine.state.standings[found.decision].standing.value,
        p_stands=found.share,
        low=found.low,
        high=found.high,
        n=whole.samples,
        owners=_owners(reading, found.owners),
    )


def _owners(reading: Reading, found: tuple[Owner, ...]) -> tuple[OwnerView, ...]:
    return tuple(
        OwnerView(key=key_of(reading, each.quantity), first=each.first, total=each.total)
        for each in found
    )


def _summary(reading: Reading, found: Summary) -> SummaryView:
    finding = finding_view(reading, found.judge)
    return SummaryView(
        judge=finding.judge,
        subject=finding.subject,
        required=finding.required,
        unit=finding.unit,
        missed=found.missed,
        unknown=found.unknown,
        mean=_finite(found.mean),
        deviation=_finite(found.deviation),
        low=_finite(found.low),
        high=_finite(found.high),
        edges=found.edges,
        counts=found.counts,
        owners=_owners(reading, found.owners),
        lower=finding.lower,
        upper=finding.upper,
    )


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None


def _scatter(reading: Reading, found: Scatter) -> ScatterView:
    source = found.source
    value: Value = source.value
    return ScatterView(
        key=_address(reading, source),
        text=value_text(value, Kind.REAL, source.unit),
        unit=visible(source.unit.text),
        half_width=found.half_width,
        shape=found.shape.value,
        meaning=_MEANINGS[found.shape],
    )
