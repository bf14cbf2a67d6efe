"""The parts records are built from: settings with their basis, bounds, ranges, reviews.

Parts have no identity of their own; a record holds them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tracker.model.values import Value

__all__ = [
    "Basis",
    "BasisKind",
    "Bound",
    "DecisionState",
    "Level",
    "Literal",
    "Outcome",
    "Range",
    "Ref",
    "Review",
    "Setting",
    "Tolerance",
    "ToleranceShape",
    "Verification",
]


class BasisKind(StrEnum):
    """How well a given value is known, from worst to best."""

    GUESS = "guess"
    ESTIMATE = "estimate"
    CALCULATED = "calculated"
    QUOTED = "quoted"
    MEASURED = "measured"


class Verification(StrEnum):
    """Verification methods of ISO/IEC/IEEE 29148."""

    ANALYSIS = "analysis"
    TEST = "test"
    INSPECTION = "inspection"
    DEMONSTRATION = "demonstration"


class DecisionState(StrEnum):
    """State of a decision."""

    OPEN = "open"
    LEANING = "leaning"
    SETTLED = "settled"
    WITHDRAWN = "withdrawn"


class ToleranceShape(StrEnum):
    """Distribution a tolerance stands for (JCGM 101 names)."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"


class Level(StrEnum):
    """How much of something, in the three words of ISO/IEC/IEEE 29148 (recalled from memory)."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


class Outcome(StrEnum):
    """What a review of a settled decision came to."""

    CONFIRMED = "confirmed"
    REOPEN = "reopen needed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """Where a given value comes from.

    Parameters
    ----------
    kind : BasisKind
        How well it is known.
    source : str
        Reference in words.
    dated : str
        Date of the source, RFC 3339 full-date; may be empty.
    """

    kind: BasisKind = BasisKind.GUESS
    source: str = ""
    dated: str = ""


_GUESSED = Basis()


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A stated value with its basis, or a stated unknown with its reason.

    Parameters
    ----------
    value : Value or None
        In the quantity's unit; None means unknown.
    typed : str
        Number and unit as typed.
    basis : Basis
        How well it is known.
    reason : str
        Why it is unknown.
    """

    value: Value | None = None
    typed: str = ""
    basis: Basis = _GUESSED
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """Half-width of a symmetric tolerance in the quantity's unit."""

    half_width: float
    shape: ToleranceShape = ToleranceShape.RECTANGULAR


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """How far one component of a quantity may be adjusted, in the quantity's unit."""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """One bound of a band, in the judged quantity's unit, and as typed."""

    value: float
    typed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ref:
    """An input taken from a quantity, or from a bound of a requirement."""

    id: str
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Literal:
    """An input stated in the binding itself, in the port's unit, and as typed."""

    value: Value
    typed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """One look at a settled decision after its ground moved.

    Parameters
    ----------
    by : str
        Who looked.
    outcome : Outcome
        Confirmed replaces the footing; otherwise what moved keeps showing.
    reason : str
        Why that outcome.
    on : str
        RFC 3339 date and time.
    """

    by: str
    outcome: Outcome
    reason: str
    on: str
