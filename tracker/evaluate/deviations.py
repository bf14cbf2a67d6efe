"""Accepted misses: which deviations are in force, and how far each lets a value go.

Only what the journal holds decides: a deviation is in force until a baseline is frozen at the gate
it expires at, or at a gate with a later date. No calendar is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.evaluate.verdict import Band
from tracker.model.programme import Programme
from tracker.model.records import Baseline, Bound, Deviation, Gate

__all__ = ["Cover", "cover_of", "covers_in_force", "is_expired", "widened"]


@dataclass(frozen=True, slots=True)
class Cover:
    """How far a deviation in force lets a value miss.

    Parameters
    ----------
    deviation : str
        Its id.
    lower, upper : float or None
        How far, in the judged value's unit. With neither, any miss is accepted; with one, the other
        side keeps the band's own bound.
    """

    deviation: str
    lower: float | None = None
    upper: float | None = None

    @property
    def anything(self) -> bool:
        """Whether any miss is accepted."""
        return self.lower is None and self.upper is None


def is_expired(programme: Programme, deviation: Deviation) -> bool:
    """Tell whether a deviation is in force no more."""
    expires = programme.at(deviation.expires, Gate)
    return any(
        each.gate == expires.id or programme.at(each.gate, Gate).date > expires.date
        for each in programme.of(Baseline)
    )


def covers_in_force(programme: Programme) -> Mapping[str, tuple[Cover, ...]]:
    """Return the deviations in force, by the id of the requirement that may be missed."""
    found: dict[str, tuple[Cover, ...]] = {}
    for each in programme.of(Deviation):
        if not is_expired(programme, each):
            cover = Cover(each.id, _value(each.lower), _value(each.upper))
            found[each.requirement] = (*found.get(each.requirement, ()), cover)
    return found


def _value(bound: Bound | None) -> float | None:
    return None if bound is None else bound.value


def widened(band: Band, covers: Iterable[Cover]) -> Band | None:
    """Return a band with what deviations accept added to it; None where any value will do."""
    for each in covers:
        if each.anything:
            return None
        band = replace(
            band,
            lower=_outer(band.lower, each.lower, min),
            upper=_outer(band.upper, each.upper, max),
        )
    return band


def _outer(
    bound: float | None, accepted: float | None, pick: Callable[[float, float], float]
) -> float | None:
    return bound if bound is None or accepted is None else pick(bound, accepted)


def cover_of(covers: Sequence[Cover], band: Band, value: float | None) -> str:
    """Return the deviation that accepts a missed value; empty when none does.

    Parameters
    ----------
    covers : sequence of Cover
        Deviations in force on the requirement.
    band : Band
        The band that is missed.
    value : float or None
        The value; None for one that is no number.
    """
    for each in covers:
        wide = widened(band, (each,))
        if wide is None or (value is not None and _within(value, wide)):
            return each.deviation
    return ""


def _within(value: float, band: Band) -> bool:
    return (band.lower is None or value >= band.lower) and (
        band.upper is None or value <= band.upper
    )
