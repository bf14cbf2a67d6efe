"""Read models of changes: what a trial does, what the journal tells, how two revisions differ."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.services.views import FindingView, HistoryLine

__all__ = [
    "CONSEQUENCES",
    "Committed",
    "Comparison",
    "FindingChange",
    "ItemChange",
    "JournalLine",
    "JournalPage",
    "QuantityChange",
    "Ripple",
    "StandingChange",
]

CONSEQUENCES = (
    "broken",
    "missed",
    "unproven",
    "unknown",
    "shifted",
    "strained",
    "tight",
    "changed",
    "new",
    "gone",
    "restored",
)
"""What may come of a change, worst first."""


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
    """What became of one item between two revisions.

    Parameters
    ----------
    what : tuple of str
        What differs, in words: of the item itself, then of what is computed for it.
    title : str
        What it is about.
    consequence : str
        The worst that came of it: one of `CONSEQUENCES`.
    reasons : tuple of HistoryLine
        The changes that led there, oldest first: its own, and the nearest behind what is computed
        for it.
    """

    key: str
    kind: str
    what: tuple[str, ...]
    title: str = ""
    consequence: str = "changed"
    reasons: tuple[HistoryLine, ...] = ()


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
