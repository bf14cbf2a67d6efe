"""The smallest upstream edits that make a decision stand again without breaking another.

First every single adjustable number is moved by itself to the nearest value that mends. Where none
does, pairs are tried. Other options of open and leaning decisions are tried in any case. Bounds of
requirements stay: to lower a bar mends nothing.

A single move is *proven* minimal where every check on the way declares how it follows its inputs,
or where all whole numbers in range were tried. Elsewhere the range is sampled and what was found
between samples is closed in on: a nearer value that mends could hide between two samples. Pairs and
options: a pair is never proven, another option is what it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.engine import Cancel, Engine
from tracker.explore.assessing import STANDS, STRAINED, live_decisions
from tracker.explore.candidates import Candidates
from tracker.explore.mend_goal import Goal
from tracker.explore.mend_line import LineSearch
from tracker.explore.mend_pairs import pair_moves
from tracker.explore.mend_ranges import Mover, Pricing, movers
from tracker.explore.mend_reach import Reached, reached
from tracker.explore.mend_rows import Choice, Mending, Move, Progress, put_values
from tracker.explore.passes import passes
from tracker.model.records import DecisionState

__all__ = ["POINTS", "Mended", "Plan", "mend"]

POINTS = 128
"""Stretches between samples where nothing is certified, by default."""

_UNDECIDED = (DecisionState.OPEN, DecisionState.LEANING)
_Asked = list[tuple[LineSearch, NDArray[np.float64]]]


@dataclass(frozen=True, slots=True)
class Plan:
    """How to look for mendings.

    Parameters
    ----------
    strained : bool
        Whether being strained will not do.
    points : int
        Stretches between samples over each range.
    grid : int
        Stretches between grid lines over each range, for pairs.
    pricing : Pricing
        What makes one mending smaller than another that moves as many things.
    """

    strained: bool = False
    points: int = POINTS
    grid: int = 16
    pricing: Pricing = field(default_factory=Pricing)


@dataclass(frozen=True, slots=True)
class Mended:
    """What would mend a decision.

    Parameters
    ----------
    decision : str
        Its id.
    reached : bool
        Whether it stands already.
    mendings : tuple of Mending
        Fewest moves first, then the cheapest; other options last. Empty when it cannot be mended.
    tried : tuple of Mover
        The numbers that may be moved and have a say in it.
    paired : bool
        Whether pairs were tried.
    options : int
        How many other options were tried.
    """

    decision: str
    reached: bool
    mendings: tuple[Mending, ...] = ()
    tried: tuple[Mover, ...] = ()
    paired: bool = False
    options: int = 0


def mend(
    engine: Engine,
    decision_id: str,
    plan: Plan,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> Mended:
    """Return what would mend a decision.

    Parameters
    ----------
    engine : Engine
        The present; only read.
    decision_id : str
        Of a decision that is not withdrawn.
    plan : Plan
        How to look.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    goal = Goal(engine, decision_id, STANDS if plan.strained else STRAINED)
    if goal.reached:
        return Mended(decision_id, reached=True)
    tell = progress or _quiet
    ways = [each for each in reached(goal, movers(engine)) if each.places]
    singles = _singles(goal, ways, plan, cancel, tell)
    pairs = [] if singles else pair_moves(goal, ways, plan.pricing, plan.grid, cancel, tell)
    options = _options(engine)
    mendings = [*singles, *pairs, *_choices(goal, options, cancel)]
    return Mended(
        decision_id,
        reached=False,
        mendings=tuple(_ranked(goal, mendings, plan.pricing, cancel)),
        tried=tuple(each.mover for each in ways if decision_id in each.decisions),
        paired=not singles and len(ways) > 1,
        options=len(options),
    )


def _quiet(_: str) -> None:
    """Tell nobody."""


def _singles(
    goal: Goal,
    ways: Sequence[Reached],
    plan: Plan,
    cancel: Cancel | None,
    tell: Progress,
) -> list[Mending]:
    """Move every number by itself to the nearest value that mends."""
    hopeful = [each for each in ways if each.covers(goal.failing())]
    lines = [
        LineSearch(m.source, m.low, m.high, each.certified, each.places, each.decisions)
        for each in hopeful
        for m in (each.mover,)
    ]
    asked = [(line, line.first(plan.points)) for line in lines]
    looked = 0
    while asked:
        for chunk in passes(asked):
            _look(goal, chunk, cancel)
            looked += sum(len(values) for _, values in chunk)
            tell(f"{looked} values looked at on {len(lines)} ranges, {len(asked)} open")
        wanted = [(line, line.wanted()) for line, _ in asked]
        asked = [(line, values) for line, values in wanted if len(values)]
    return [
        Mending((Move(way.mover, line.nearest),), proven=line.proven)
        for way, line in zip(hopeful, lines, strict=True)
        if line.nearest is not None
    ]


def _look(goal: Goal, asked: _Asked, cancel: Cancel | None) -> None:
    """Send what is wanted on all lines through the graph in one pass."""
    rows = Candidates(goal.engine, sum(len(values) for _, values in asked))
    first, spans = 0, []
    for line, values in asked:
        span = slice(first, first + len(values))
        put_values(rows, line.source, values, span)
        spans.append(span)
        first = span.stop
    found = rows.assess(cancel)
    ok = goal.ok(found)
    for (line, values), span in zip(asked, spans, strict=True):
        line.take(values, ok[span], goal.slack(found, line.places, line.decisions, span))


def _options(engine: Engine) -> list[Choice]:
    """Return the other options of every decision that is not settled."""
    return [
        Choice(decision.id, option.id)
        for decision in live_decisions(engine)
        if decision.state in _UNDECIDED
        for option in decision.options
        if option.id != decision.chosen
    ]


def _choices(goal: Goal, options: Sequence[Choice], cancel: Cancel | None) -> list[Mending]:
    """Return the other options that mend."""
    if not options:
        return []
    found = _rows(goal, [Mending((), (each,)) for each in options]).assess(cancel)
    good = goal.ok(found).tolist()
    return [
        Mending((), (each,), proven=True) for each, fine in zip(options, good, strict=True) if fine
    ]


def _rows(goal: Goal, mendings: Sequence[Mending]) -> Candidates:
    """Put every mending into a row of its own."""
    rows = Candidates(goal.engine, len(mendings))
    for place, each in enumerate(mendings):
        where = slice(place, place + 1)
        for move in each.moves:
            put_values(rows, move.mover.source, np.array([move.to]), where)
        for choice in each.choices:
            rows.choose(choice.decision, [choice.option], where)
    return rows


def _ranked(
    goal: Goal, mendings: Sequence[Mending], pricing: Pricing, cancel: Cancel | None
) -> list[Mending]:
    """Price the mendings and put the smallest first; other options come last."""
    if not mendings:
        return []
    found = _rows(goal, mendings).assess(cancel)
    money = pricing.of_money(goal.engine, found).tolist()
    priced = [
        replace(
            each,
            money=rise,
            cost=rise
            + len(each.choices)
            + sum(float(pricing.of_move(one.mover, np.array(one.to))) for one in each.moves),
        )
        for each, rise in zip(mendings, money, strict=True)
    ]
    return sorted(priced, key=lambda each: (len(each.choices), len(each.moves), each.cost))
