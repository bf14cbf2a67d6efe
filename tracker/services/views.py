"""Read models: what the front ends show.

All are frozen and carry plain values, and every page carries its revision; no record, session or
array leaves the services. Texts come ready to show (never markup); numbers stand beside them for
JSON.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.contract.figure import Figure
from tracker.model.values import Value

__all__ = [
    "ActionView",
    "CalcResult",
    "CaseResult",
    "CheckLine",
    "Committed",
    "Comparison",
    "DecisionLine",
    "DueLine",
    "FindingChange",
    "FindingView",
    "GateLine",
    "HistoryLine",
    "ItemChange",
    "ItemPage",
    "JournalLine",
    "JournalPage",
    "LinkView",
    "ListLine",
    "Listing",
    "OptionView",
    "Overview",
    "QuantityChange",
    "QuantityLine",
    "RequirementLine",
    "Ripple",
    "RuleResult",
    "SettingView",
    "ShiftView",
    "StandingChange",
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
        Distance and margin as shown: `+0.12 g (+12 %)`; empty where there is none.
    bound : str
        `lower`, `upper` or empty.
    reason : str
        Why it is unknown.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingChange:
    """A finding before and after."""

    judge: str
    before: FindingView | None
    after: FindingView | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingChange:
    """A decision's standing before and after."""

    decision: str
    before: str
    after: str
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantityChange:
    """A value before and after, as shown."""

    key: str
    before: str
    after: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ripple:
    """What a trial changes, worst first.

    Parameters
    ----------
    broken, strained, restored : tuple of str
        Decisions that would newly break, newly strain, or stand again.
    unproven : tuple of str
        Decisions that would become unproven.
    look : tuple of str
        Settled decisions whose ground would shift.
    ran, checks_total : int
        Checks run for the trial, and bound checks.
    """

    revision: int
    edits: tuple[str, ...]
    broken: tuple[str, ...]
    strained: tuple[str, ...]
    unproven: tuple[str, ...]
    restored: tuple[str, ...]
    look: tuple[str, ...]
    findings: tuple[FindingChange, ...]
    standings: tuple[StandingChange, ...]
    quantities: tuple[QuantityChange, ...]
    ran: int
    checks_total: int
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalLine:
    """A change in the journal."""

    revision: int
    hash: str
    at: str
    author: str
    reason: str
    undoes: int
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalPage:
    """A stretch of the journal, newest first."""

    revision: int
    head: str
    lines: tuple[JournalLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemChange:
    """What became of one item between two revisions, in words."""

    key: str
    kind: str
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two revisions compared, worst first.

    Parameters
    ----------
    look : tuple of str
        Settled decisions that ask for another look since.
    """

    earlier: int
    later: int
    standings: tuple[StandingChange, ...]
    look: tuple[str, ...]
    findings: tuple[FindingChange, ...]
    items: tuple[ItemChange, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Committed:
    """Receipt of a stored change.

    Parameters
    ----------
    what : tuple of str
        Its entries in words.
    ripple : Ripple
        What it changed.
    """

    revision: int
    hash: str
    what: tuple[str, ...]
    ripple: Ripple


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleResult:
    """A rule of a check run on its own."""

    output: str
    verdict: str
    margin: float | None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """One case of a check run on its own.

    Parameters
    ----------
    outputs : mapping of str to (value, unit)
        By output port; None where it is unknown or absent.
    problems : tuple of str
        Why something is unknown or absent.
    """

    outputs: Mapping[str, tuple[Value | None, str]]
    rules: tuple[RuleResult, ...]
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CalcResult:
    """Cases of a check run on its own, with its cautions."""

    check: str
    version: str
    cases: tuple[CaseResult, ...]
    cautions: tuple[str, ...]
