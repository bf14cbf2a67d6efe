"""Read models: what the front ends show.

All are frozen and carry plain values, and every page carries its revision; no record, session or
array leaves the services. Texts come ready to show (never markup); numbers stand beside them for
JSON.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracker.contract.figure import Figure
from tracker.model.values import Value
from tracker.services.run_views import RunView

__all__ = [
    "ActionView",
    "CheckLine",
    "DecisionLine",
    "DueLine",
    "FindingView",
    "GateLine",
    "HistoryLine",
    "ItemPage",
    "LinkView",
    "ListLine",
    "Listing",
    "OptionView",
    "Overview",
    "QuantityLine",
    "RequirementLine",
    "SettingView",
    "ShiftView",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
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
        The band in words: `1.1 to 1.5 g`, `at most 550 000 USD`.
    verdict : str
        met, tight, missed or unknown.
    value, lower, upper, target : Value or None
        In the quantity's unit.
    text, unit : str
        The value as shown, without and the unit.
    margin : float or None
        Distance to the nearest bound as a share of the band's scale, negative outside.
    distance : float or None
        The same distance in the unit.
    distance_text : str
        Distance and margin as shown: `+0.12 g (+12 %)`, and the deviation that accepts a miss;
        empty where there is neither.
    bound : str
        `lower`, `upper` or empty.
    reason : str
        Why it is unknown.
    deviation : str
        Key of the deviation that accepts the miss; empty where none does.
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
    lower: float | None = None
    upper: float | None = None
    target: float | None = None
    margin: float | None = None
    distance: float | None = None
    distance_text: str = ""
    bound: str = ""
    reason: str = ""
    deviation: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RequirementLine:
    """A requirement at a glance."""

    key: str
    statement: str
    finding: FindingView
    gate: str = ""
    owner: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionLine:
    """A decision at a glance.

    Parameters
    ----------
    standing : str
        stands, strained, broken or unproven; empty when withdrawn.
    why : str
        The first thing that makes the standing what it is.
    """

    key: str
    question: str
    state: str
    standing: str
    shifted: bool
    chosen: str = ""
    why: str = ""
    owner: str = ""
    gate: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """A bound check at a glance.

    Parameters
    ----------
    state : str
        current, waiting (an input is unknown), failed, or unbound (the binding does not hold).
    message : str
        Why it is not current.
    """

    key: str
    title: str
    check: str
    decision: str
    state: str
    message: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantityLine:
    """A quantity at a glance.

    Parameters
    ----------
    source : str
        given, `decision KEY` or `check KEY`.
    basis : str
        How well a given value is known; empty for a computed one.
    """

    key: str
    title: str
    kind: str
    text: str
    unit: str
    source: str
    basis: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GateLine:
    """A gate at a glance: what is due there and not in order."""

    key: str
    title: str
    date: str
    due: int = 0
    pending: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class DueLine:
    """Something due at a gate that is not in order, and why."""

    key: str
    kind: str
    title: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The three answers: what stands, what broke or shifted, what is due."""

    title: str
    store: str
    currency: str
    revision: int
    head: str
    requirements: tuple[RequirementLine, ...]
    decisions: tuple[DecisionLine, ...]
    checks: tuple[CheckLine, ...]
    gates: tuple[GateLine, ...]
    next_gate: GateLine | None
    due: tuple[DueLine, ...]
    quantities: int
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingView:
    """A value an option states."""

    quantity: str
    text: str
    basis: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionView:
    """An option and what the checks say of it.

    Parameters
    ----------
    findings : tuple of FindingView
        What the decision's requirements and rules would find with this option applied.
    standing : str
        The decision's standing with this option applied.
    against : str
        The reason against it.
    """

    key: str
    title: str
    notes: str
    chosen: bool
    settings: tuple[SettingView, ...]
    findings: tuple[FindingView, ...]
    standing: str
    against: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkView:
    """A neighbour in the graph.

    Parameters
    ----------
    role : str
        What it is to the item: `judges it`, `sets it`, `feeds port mass` …
    text : str
        Its present value or standing.
    """

    key: str
    kind: str
    title: str
    role: str
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftView:
    """What moved under a settled decision since its footing was taken."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLine:
    """A change that touched an item."""

    revision: int
    at: str
    author: str
    reason: str
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ActionView:
    """Something that can be done with an item now, or why not."""

    name: str
    enabled: bool
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemPage:
    """One item with its whole why.

    Parameters
    ----------
    sign : str
        Its verdict, standing or check state; empty when it has none.
    facts : tuple of (label, text)
        Short fields.
    paragraphs : tuple of (heading, text)
        Long texts: rationale, reasons against, notes.
    ran : RunView or None
        Of a check: why it ran last, or why it does not run.
    """

    revision: int
    kind: str
    key: str
    title: str
    sign: str
    shifted: bool
    facts: tuple[tuple[str, str], ...]
    paragraphs: tuple[tuple[str, str], ...]
    findings: tuple[FindingView, ...]
    options: tuple[OptionView, ...]
    shifts: tuple[ShiftView, ...]
    upstream: tuple[LinkView, ...]
    downstream: tuple[LinkView, ...]
    history: tuple[HistoryLine, ...]
    actions: tuple[ActionView, ...]
    figures: tuple[Figure, ...] = ()
    cautions: tuple[str, ...] = ()
    value: Value | None = None
    unit: str = ""
    ran: RunView | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ListLine:
    """A row of a list of one kind."""

    key: str
    title: str
    sign: str
    text: str
    shifted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """All items of one kind."""

    revision: int
    kind: str
    lines: tuple[ListLine, ...]
