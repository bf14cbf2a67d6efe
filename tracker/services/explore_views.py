"""Read models of exploring: how far a value may move, what drives it, how likely all stands."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.model.values import Value

__all__ = [
    "ChanceView",
    "DriverView",
    "DriversView",
    "HeadroomView",
    "IntervalView",
    "OwnerView",
    "PairView",
    "ScatterView",
    "SpreadView",
    "StretchView",
    "SummaryView",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class StretchView:
    """How far a value may move for one decision.

    Parameters
    ----------
    key : str
        The decision.
    low, high : float or None
        As in `IntervalView`.
    breaks_low, breaks_high : bool
        Whether it stops standing there.
    """

    key: str
    low: float | None
    high: float | None
    breaks_low: bool
    breaks_high: bool
    certified: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalView:
    """How far one value may move before a decision that stands stops standing.

    Parameters
    ----------
    key : str
        Address of what moves.
    value : Value
        The present value.
    unit : str
        Unit of all numbers.
    low, high : float or None
        The last values that keep everything standing, or the ends of where it may move; None where
        nothing breaks however far it moves, and for a choice or flag.
    breaks_low, breaks_high : tuple of str
        Decisions that stop standing first beyond each end; empty where none does.
    because_low, because_high : tuple of str
        Requirements, or `check.output` of rules, that they break on.
    certified : bool
        Whether it is proven that nothing breaks inside.
    resolution : float or None
        Widest gap between neighbouring samples, where it is not proven.
    decisions : tuple of StretchView
        The interval of each decision that depends on it.
    kept, lost : tuple of Value
        Of a choice or flag: values that keep everything standing, and the others.
    text, low_text, high_text : str
        As shown, without the unit.
    """

    key: str
    value: Value
    unit: str
    low: float | None
    high: float | None
    breaks_low: tuple[str, ...]
    breaks_high: tuple[str, ...]
    because_low: tuple[str, ...]
    because_high: tuple[str, ...]
    certified: bool
    resolution: float | None
    decisions: tuple[StretchView, ...]
    kept: tuple[Value, ...]
    lost: tuple[Value, ...]
    text: str
    low_text: str
    high_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadroomView:
    """How far values may move, each by itself.

    Parameters
    ----------
    standing : tuple of str
        Decisions that stand now (strained included): the ones the intervals are about.
    """

    revision: int
    intervals: tuple[IntervalView, ...]
    standing: tuple[str, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverView:
    """One value that drives a verdict.

    Parameters
    ----------
    key : str
        Address of what drives.
    text, unit : str
        Its present value and unit.
    slope : float or None
        Change of the judged value by change of this one, in `slope_unit`; None where the judged
        value has no derivative here.
    doubt : float or None
        Estimate of the slope's error; 0 where the checks know their derivatives.
    slope_text : str
        The slope as shown, without its unit.
    swing, by : float or None, str
        Half-width this value is taken to move by, and where that comes from: its tolerance, its
        range, 1 % of its size, or 1 mm; None where nothing tells.
    effect, share : float or None
        How far the judged value then moves, in its unit and as a share of the band's scale; None
        where the slope or the half-width is.
    words : str
        What more of it does: `more of it raises SENS by 0.13 g (63 % of the band)`.
    """

    key: str
    text: str
    unit: str
    slope: float | None
    slope_unit: str
    slope_text: str
    doubt: float | None
    analytic: bool
    swing: float | None
    by: str
    effect: float | None
    share: float | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DriversView:
    """What a requirement's value depends on, the strongest first."""

    revision: int
    requirement: str
    subject: str
    text: str
    unit: str
    verdict: str
    drivers: tuple[DriverView, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerView:
    """A quantity's part in a variance: by itself, and with its interactions."""

    key: str
    first: float
    total: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceView:
    """How likely a decision is to stand, strained included.

    Parameters
    ----------
    standing : str
        How it stands now.
    low, high : float
        Interval of the probability.
    n : int
        Samples behind it.
    owners : tuple of OwnerView
        Whose scatter decides, the largest first.
    """

    key: str
    standing: str
    p_stands: float
    low: float
    high: float
    n: int
    owners: tuple[OwnerView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SummaryView:
    """Distribution of a judged number.

    Parameters
    ----------
    judge, subject, required : str
        Requirement or rule, address of the value, and the band in words.
    lower, upper : float or None
        The band's bounds.
    missed, unknown : float
        Shares of the samples.
    mean, deviation, low, high : float or None
        Mean, standard uncertainty and the probabilistically symmetric interval; None where no
        sample has a value.
    edges, counts : tuple
        Histogram.
    owners : tuple of OwnerView
        Whose scatter makes the variance, the largest first.
    """

    judge: str
    subject: str
    required: str
    unit: str
    missed: float
    unknown: float
    mean: float | None
    deviation: float | None
    low: float | None
    high: float | None
    edges: tuple[float, ...]
    counts: tuple[int, ...]
    owners: tuple[OwnerView, ...]
    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterView:
    """A value that scatters: its tolerance, and what that stands for in words."""

    key: str
    text: str
    unit: str
    half_width: float
    shape: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PairView:
    """Two values that scatter together: the coefficient is that of their normal scores."""

    one: str
    other: str
    coefficient: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadView:
    """How likely everything is to stand, given the tolerances.

    Parameters
    ----------
    n : int
        Samples drawn.
    reached : bool
        Whether every probability is known to `half_width`.
    half_width, confidence, seed
        As asked.
    idle : tuple of str
        Quantities whose tolerance does not count, since it is no known number given from outside.
    correlated : tuple of PairView
        Pairs that scatter together; with them the owners of a risk cannot be told apart.
    unpaired : tuple of str
        Quantities whose stated correlation does not count, since one of the two does not scatter.
    """

    revision: int
    n: int
    reached: bool
    half_width: float
    confidence: float
    seed: int
    decisions: tuple[ChanceView, ...]
    quantities: tuple[SummaryView, ...]
    scatter: tuple[ScatterView, ...]
    idle: tuple[str, ...]
    correlated: tuple[PairView, ...]
    unpaired: tuple[str, ...]
    caution: str
