"""Read models of option sets: what is alive, the best of it, and what rules an option out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "BesideView",
    "ChoiceView",
    "ConflictView",
    "GroupView",
    "KilledView",
    "OpenDecisionView",
    "SetView",
    "SetsView",
    "ShareView",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceView:
    """An option of a decision, by their keys."""

    decision: str
    option: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConflictView:
    """A requirement that a few options together do not meet, whatever else is chosen.

    Parameters
    ----------
    requirement : str
        Requirement, or `check.output` of a rule.
    verdict : str
        `missed` or `unknown`.
    choices : tuple of ChoiceView
        Options of other decisions it takes; none where the option alone is enough.
    itself : bool
        Whether the option that is ruled out has a part in it.
    words : str
        `MASS-1 missed with D-2/cast`.
    """

    requirement: str
    verdict: str
    choices: tuple[ChoiceView, ...]
    itself: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KilledView:
    """An option that is in no combination, and why.

    Parameters
    ----------
    others : tuple of str
        The smallest set of other decisions none of whose options go with it.
    conflicts : tuple of ConflictView
        Together they rule out every choice of those; the smallest first.
    left_out : int
        Number of further conflicts.
    smallest : bool
        Whether it is proven that no fewer decisions rule it out.
    """

    decision: str
    option: str
    others: tuple[str, ...]
    conflicts: tuple[ConflictView, ...]
    left_out: int
    smallest: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareView:
    """An option and the number of combinations alive that it is in.

    Parameters
    ----------
    count : int
        Of all decisions.
    group_count : int
        Of the decisions of its group alone: not 0 where only another group has none left.
    """

    option: str
    title: str
    count: int
    group_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenDecisionView:
    """A decision in play with its options."""

    key: str
    question: str
    state: str
    options: tuple[ShareView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupView:
    """Decisions that share findings, and their combinations; groups do not touch each other."""

    decisions: tuple[str, ...]
    total: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SetView:
    """A combination that meets every requirement.

    Parameters
    ----------
    options : mapping of str to str
        Decision → option.
    margin : float or None
        Least margin as a share of its band; None where nothing is measured.
    closest : str
        Requirement with that margin.
    value : float or None
        What was to be small or large, in its unit; None where it is unknown or not asked.
    text : str
        The same as shown, with its unit.
    """

    options: Mapping[str, str]
    margin: float | None
    closest: str
    value: float | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BesideView:
    """A requirement or rule that no choice here can change, and its verdict."""

    requirement: str
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetsView:
    """Which combinations of open options meet every requirement that depends on them.

    Parameters
    ----------
    count, total : int
        Combinations that do, and all.
    evaluated : int
        Rows computed to know that.
    goal : str
        What makes a combination good, in words.
    sets : tuple of SetView
        The best, the best first.
    beside : tuple of BesideView
        Missed or unknown whatever is chosen here; these count against no combination.
    """

    revision: int
    count: int
    total: int
    evaluated: int
    goal: str
    decisions: tuple[OpenDecisionView, ...]
    groups: tuple[GroupView, ...]
    killed: tuple[KilledView, ...]
    sets: tuple[SetView, ...]
    beside: tuple[BesideView, ...]
    caution: str
