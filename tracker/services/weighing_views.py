"""Read models of weighing a decision's options against each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.services.views import FindingView

__all__ = ["CostRow", "JudgedRow", "OptionColumn", "ScoreView", "WeighView"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionColumn:
    """An option, and what would come of it.

    Parameters
    ----------
    standing : str
        The decision's standing with the option applied.
    sets : tuple of str
        What it states: `rack = 48 mm (quoted)`.
    breaks, restores : tuple of str
        Other decisions that would newly break, or stand again.
    kills : str
        What is missed because of it and no deviation accepts, in words; empty where nothing is.
    against : str
        The reason given against it so far.
    """

    key: str
    title: str
    chosen: bool
    standing: str
    sets: tuple[str, ...]
    breaks: tuple[str, ...]
    restores: tuple[str, ...]
    kills: str
    against: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedRow:
    """A requirement or a rule under every option.

    Parameters
    ----------
    own : bool
        Whether the decision answers for it; else it is only touched by the choice.
    cells : tuple of FindingView
        One per option.
    differs : bool
        Whether the options differ in it.
    """

    judge: str
    own: bool
    cells: tuple[FindingView, ...]
    differs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CostRow:
    """An amount of money under every option.

    Parameters
    ----------
    cells : tuple of str
        One per option, as shown, without the unit.
    values : tuple of float or None
        The same as numbers; None where unknown.
    cheapest : tuple of bool
        Whether the option has the smallest amount, where they differ.
    """

    key: str
    title: str
    unit: str
    cells: tuple[str, ...]
    values: tuple[float | None, ...]
    cheapest: tuple[bool, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighView:
    """A decision's options in columns against what judges them and what they cost.

    Parameters
    ----------
    rows : tuple of JudgedRow
        What the decision answers for first.
    """

    revision: int
    decision: str
    question: str
    state: str
    options: tuple[OptionColumn, ...]
    rows: tuple[JudgedRow, ...]
    costs: tuple[CostRow, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreView:
    """Options by weighted score.

    Parameters
    ----------
    totals : mapping of str to float or None
        Option → mean of its ratings, weighted; None while a rating is wanting.
    ranks : mapping of str to int
        Option → place, from 1; equal totals share one.
    shares : mapping of str to float
        Criterion → its part of all weights.
    """

    totals: Mapping[str, float | None]
    ranks: Mapping[str, int]
    shares: Mapping[str, float]
