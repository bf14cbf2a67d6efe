"""Judging a value against a band.

The margin is the distance to the nearest bound, as a share of the band's scale: half its width when
it has two bounds, else the bound's size, or a scale given with the band. Outside the band it is
negative.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tracker.model.records import Requirement
from tracker.model.units import Conversion
from tracker.model.values import Cell

__all__ = ["UNJUDGED", "Band", "Judgement", "Verdict", "band_of", "judge_number", "judge_text"]


class Verdict(StrEnum):
    """Outcome of judging a value."""

    MET = "met"
    TIGHT = "tight"
    MISSED = "missed"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Band:
    """What a value is held against, in the value's unit.

    Parameters
    ----------
    lower, upper, scale : float or None
        Bounds and, where the bounds give none, the scale of the margin.
    guard : float
        Share below which a met value is tight.
    allowed : tuple of str
        Allowed texts of a choice or flag.
    """

    lower: float | None = None
    upper: float | None = None
    scale: float | None = None
    guard: float = 0.1
    allowed: tuple[str, ...] = ()

    @property
    def width(self) -> float | None:
        """The scale in force; None when the band has none."""
        if self.lower is not None and self.upper is not None and self.upper > self.lower:
            return (self.upper - self.lower) / 2
        if self.scale is not None:
            return self.scale
        bound = self.lower if self.lower is not None else self.upper
        two_sided = self.lower is not None and self.upper is not None
        return None if two_sided or not bound else abs(bound)

    def convert(self, to: Conversion | None) -> Band:
        """Return the band in another unit."""
        if to is None:
            return self
        return Band(
            None if self.lower is None else to(self.lower),
            None if self.upper is None else to(self.upper),
            None if self.scale is None else abs(to.span(self.scale)),
            self.guard,
            self.allowed,
        )

    def facts(self) -> tuple[Cell | None, ...]:
        """Return everything that is judged, in a form a footing can keep."""
        return (self.lower, self.upper, self.scale, self.guard, *self.allowed)


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict with its margin.

    Parameters
    ----------
    margin : float or None
        Share of the band's scale.
    distance : float or None
        Distance to the nearest bound in the value's unit.
    bound : str
        The nearest bound, `lower` or `upper`.
    """

    verdict: Verdict
    margin: float | None = None
    distance: float | None = None
    bound: str = ""


UNJUDGED = Judgement(Verdict.UNKNOWN)


def band_of(requirement: Requirement) -> Band:
    """Return the band a requirement states."""
    lower, upper, scale = requirement.lower, requirement.upper, requirement.scale
    return Band(
        None if lower is None else lower.value,
        None if upper is None else upper.value,
        None if scale is None else scale.value,
        requirement.guard,
        requirement.allowed,
    )


def judge_number(value: float, band: Band) -> Judgement:
    """Judge a finite number."""
    sides = []
    if band.lower is not None:
        sides.append((value - band.lower, "lower"))
    if band.upper is not None:
        sides.append((band.upper - value, "upper"))
    if not sides:
        return UNJUDGED
    distance, bound = min(sides)
    width = band.width
    margin = None if width is None else distance / width
    if distance < 0:
        return Judgement(Verdict.MISSED, margin, distance, bound)
    tight = margin is not None and margin < band.guard
    return Judgement(Verdict.TIGHT if tight else Verdict.MET, margin, distance, bound)


def judge_text(text: str, band: Band) -> Judgement:
    """Judge a choice or a flag ("yes", "no")."""
    return Judgement(Verdict.MET if text in band.allowed else Verdict.MISSED)
