"""Read models of mending: what would make a decision stand again, and why a verdict is missed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "CauseView",
    "EditView",
    "MendView",
    "MendedView",
    "ProposalView",
    "RangeView",
    "WhyView",
    "WorseView",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class EditView:
    """One edit of a proposal.

    Parameters
    ----------
    key : str
        Address of the number, or key of the decision that leans to another option.
    before, after : float, int, str or None
        Numbers in `unit`, or keys of options; None where no option is applied.
    before_text, after_text : str
        As shown, without the unit.
    """

    key: str
    before: float | str | None
    after: float | str
    unit: str
    before_text: str
    after_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WorseView:
    """A verdict that a proposal makes worse, and its value then."""

    judge: str
    before: str
    after: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposalView:
    """Edits that make a decision stand again. It is a trial: adopt it with its values and leanings.

    Parameters
    ----------
    decision : str
        The decision it mends.
    cost : float
        Share of the adjustable ranges it moves through, other options counting as 1 each, or what
        the prices say; and the money.
    money : float
        The largest rise of a budgeted amount, as a share of its budget; part of the cost.
    proven : bool
        Whether no nearer value of the same number mends; never of a pair.
    restores, breaks : tuple of str
        Decisions that stand again, and that stop standing.
    worsens : tuple of WorseView
        Verdicts that get worse.
    look : tuple of str
        Settled decisions that want another look then.
    values : mapping of str to str
        Address → value, as `set_values` and `whybone set` take them.
    leans : mapping of str to str
        Decision → option, as `lean` takes them.
    """

    decision: str
    edits: tuple[EditView, ...]
    cost: float
    money: float
    proven: bool
    restores: tuple[str, ...]
    breaks: tuple[str, ...]
    worsens: tuple[WorseView, ...]
    look: tuple[str, ...]
    values: Mapping[str, str]
    leans: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeView:
    """A number that was moved, and how far."""

    key: str
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MendedView:
    """What was found for one decision.

    Parameters
    ----------
    standing, why : str
        How it stands now, and what makes it so.
    stands : bool
        Whether there is nothing to mend.
    mended : bool
        Whether there is a proposal.
    proposals : tuple of ProposalView
        Fewest edits first, then the cheapest; other options last.
    ranges : tuple of RangeView
        The numbers that may be moved and have a say in it.
    paired : bool
        Whether pairs of them were tried.
    options : int
        How many other options were tried.
    """

    decision: str
    standing: str
    why: str
    stands: bool
    mended: bool
    proposals: tuple[ProposalView, ...]
    ranges: tuple[RangeView, ...]
    paired: bool
    options: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MendView:
    """What would mend some decisions, each for itself."""

    revision: int
    decisions: tuple[MendedView, ...]
    caution: str

    @property
    def bad_news(self) -> bool:
        """Whether a decision cannot be mended."""
        return any(not (each.stands or each.mended) for each in self.decisions)


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseView:
    """A value, an option or a band that differs from when the verdict was met."""

    key: str
    then: str
    now: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyView:
    """Why a verdict is not met any more.

    Parameters
    ----------
    met_at : int or None
        The last revision at which it was met; None when it never was, or still is.
    broken_by : str
        Who changed what for which reason in the revision after.
    sets : tuple of tuple of CauseView
        The smallest sets of values that, put back together, would have it met again. Empty where
        putting back values does not do.
    smallest : bool
        Whether no smaller set does; else only no part of the one shown.
    changed : tuple of CauseView
        Everything upstream that differs.
    checks : tuple of str
        Checks upstream that were added or bound otherwise.
    """

    revision: int
    requirement: str
    verdict: str
    text: str
    unit: str
    required: str
    met_at: int | None
    broken_by: str
    sets: tuple[tuple[CauseView, ...], ...]
    smallest: bool
    changed: tuple[CauseView, ...]
    checks: tuple[str, ...]
    caution: str
