"""Pieces of a gate pack: values judged, options, figures, headroom, history.

Plain JSON-able values only. Computed numbers are rounded (`tracker.services.packs.rounding`);
texts are ready to show and never markup. A `revision` beside a figure is the last change that
anything it was made from went through: the programme opened at that revision shows the same
figure.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracker.model.values import Value

__all__ = [
    "PackAxis",
    "PackBand",
    "PackFigure",
    "PackFinding",
    "PackGround",
    "PackHeadroom",
    "PackHistory",
    "PackOption",
    "PackReview",
    "PackSeries",
    "PackSetting",
    "PackShift",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackFinding:
    """One value judged against one band.

    Parameters
    ----------
    judge : str
        Key of the requirement, or `check.output` of a rule the check carries.
    rule : bool
        Whether a check carries it.
    statement : str
        The requirement, or the rule's reason, in words.
    subject : str
        Address of the judged value.
    required : str
        The band in words.
    verdict : str
        met, tight, missed or unknown.
    value, lower, upper, target : Value or None
        In `unit`.
    text, unit : str
        The value as shown, without and the unit.
    margin : float or None
        Distance to the nearest bound as a share of the band's scale, negative outside.
    percent : float or None
        The same in percent.
    distance : float or None
        The same distance in the unit.
    margin_text : str
        Distance and percent as shown; empty where there is none.
    bound : str
        `lower`, `upper` or empty.
    reason : str
        Why it is unknown.
    deviation : str
        Key of the deviation that covers a miss; empty without.
    revision : int
        Last change that value and band were made from.
    """

    judge: str
    rule: bool
    statement: str
    subject: str
    required: str
    verdict: str
    value: Value | None
    text: str
    unit: str
    lower: float | None
    upper: float | None
    target: float | None
    margin: float | None
    percent: float | None
    distance: float | None
    margin_text: str
    bound: str
    reason: str
    deviation: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackSetting:
    """A value an option states, with how well it is known."""

    quantity: str
    value: Value | None
    text: str
    unit: str
    basis: str
    source: str
    dated: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOption:
    """An option and what is found with it applied.

    Parameters
    ----------
    chosen : bool
        Whether it is the applied one.
    against : str
        The reason against it.
    standing : str
        How the decision stands with it: stands, strained, broken or unproven.
    """

    key: str
    title: str
    notes: str
    chosen: bool
    against: str
    standing: str
    settings: tuple[PackSetting, ...]
    findings: tuple[PackFinding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackGround:
    """A stated value a decision directly rests on, with how well it is known."""

    quantity: str
    title: str
    value: Value | None
    text: str
    unit: str
    basis: str
    source: str
    dated: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackBand:
    """A band on what an axis shows, in the axis's unit.

    Parameters
    ----------
    judge : str
        Key of the requirement, or `check.output` of a rule.
    verdict : str
        met, tight, missed or unknown.
    """

    judge: str
    lower: float | None
    upper: float | None
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackAxis:
    """An axis of a figure.

    Parameters
    ----------
    now : float or None
        Where the design stands on it.
    bands : tuple of PackBand
        What that is judged against.
    """

    title: str
    unit: str
    now: float | None = None
    bands: tuple[PackBand, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PackSeries:
    """One line of a curve, one polyline of a sketch, one group of bars or one listing column.

    As `tracker.contract.figure.Series`; a coordinate without a value is None.
    """

    title: str
    x: tuple[float | None, ...]
    y: tuple[float | None, ...]
    labels: tuple[str, ...]
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PackFigure:
    """A figure of a check.

    Parameters
    ----------
    check : str
        Key of the bound check that drew it.
    kind : str
        curve, sketch, bars or listing.
    revision : int
        Last change its inputs were made from.
    """

    check: str
    key: str
    title: str
    kind: str
    across: PackAxis
    up: PackAxis
    series: tuple[PackSeries, ...]
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackHeadroom:
    """How far a value may move before this decision stops standing.

    Parameters
    ----------
    subject : str
        Address of what moves.
    low, high : float or None
        The last values with which it stands; None where nothing breaks as far as was looked.
    low_breaks, high_breaks : bool
        Whether it stops standing there.
    certified : bool
        Whether it is proven in between; else it was sampled, `resolution` apart at most.
    words : str
        `Reopen if wheelbase falls below 2890 mm or exceeds 3010 mm (now 2950 mm).`
    lost : tuple of str
        Of a choice or flag: the values with which it does not stand.
    """

    subject: str
    value: Value | None
    text: str
    unit: str
    low: float | None
    high: float | None
    low_breaks: bool
    high_breaks: bool
    certified: bool
    resolution: float | None
    words: str
    revision: int
    lost: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PackShift:
    """What moved under a settled decision since it was settled or last reviewed."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackReview:
    """A look at a settled decision: who, when, what it came to and why."""

    by: str
    on: str
    outcome: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackHistory:
    """A change of the journal that touched an item.

    Parameters
    ----------
    at : str
        UTC time, RFC 3339.
    reason : str
        Why, as the author said.
    what : tuple of str
        What it did to the item, one sentence each.
    """

    revision: int
    at: str
    author: str
    reason: str
    what: tuple[str, ...]
