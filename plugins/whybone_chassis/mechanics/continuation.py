"""Closing many rows at once: Newton's method along a path from the design position.

Every row follows its own path from its design position to its target: nothing of another row
enters, so its result is the same bits in any batch. A step along the path is kept only while
Newton's corrections shrink fast (monitor of Deuflhard, *Newton Methods for Nonlinear
Problems*, ch. 5, recalled) and the determinant keeps its sign; else it is halved. Rows that
are done leave the working set.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Self

import numpy as np

from whybone_chassis.mechanics.constraints import (
    TIE_ROD,
    Chain,
    Condition,
    Footing,
    State,
    advance,
    design,
    solve,
)
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, IntArray

#: Largest first step of a stretch, as an angle of swing or rotation (rad).
STEP_RAD = 0.8
#: Largest ratio of a correction to the one before it.
CONTRACTION = 0.5
#: A stretch of the path is good enough to go on from when the next correction is below (mm).
LOOSE_MM = 1.0
#: A pose is closed when the next correction is below (mm); corrections square each time.
CLOSED_MM = 1e-12
#: The correction just made must itself be small for that forecast to hold (mm).
QUADRATIC_MM = 1e-3
#: A first correction below this (mm) leaves nothing to correct.
STILL_MM = 1e-9
#: Longest rack travel of a stretch, as a share of the tie rod's length.
LEAP = 0.5
#: Shortest stretch, as a share of the path, before the row is given up.
SHORTEST = 1.0 / 2048.0
#: Bound on the iterations of any row.
MOST_ITERATIONS = 200
#: Bound on the search for another assembly of a row that no path reaches.
PROBE_ITERATIONS = 50
#: Rows worked on together: their arrays stay in the processor's cache.
BLOCK = 8192


class Path(NamedTuple):
    """Condition's value at the design position and at the target, rack there, all (n,)."""

    start: FloatArray
    end: FloatArray
    rack: FloatArray

    def take(self, index: IntArray) -> Path:
        """Return some of the rows."""
        return Path(self.start[index], self.end[index], self.rack[index])

    def at(self, share: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Condition's value and rack at a share of the path; exact at both ends."""
        return (1.0 - share) * self.start + share * self.end, share * self.rack


class Problem(NamedTuple):
    """Rows to close."""

    chain: Chain
    condition: Condition
    path: Path
    footing: Footing

    def take(self, index: IntArray) -> Problem:
        """Return some of the rows."""
        return Problem(
            self.chain.take(index),
            self.condition.take(index),
            self.path.take(index),
            self.footing.take(index),
        )


class Step(NamedTuple):
    """One Newton step: swing (n,), rotation (3, n), determinant and size in mm, (n,)."""

    swing: FloatArray
    turn: FloatArray
    determinant: FloatArray
    size: FloatArray


@dataclass(slots=True)
class Walk:
    """Rows under way: present state, last kept state, and where on the path they are."""

    row: IntArray
    state: State
    kept: State
    share: FloatArray
    stride: FloatArray
    before: FloatArray
    wary: BoolArray

    @classmethod
    def begin(cls, problem: Problem) -> Self:
        """Put every row at its design position."""
        count = len(problem.path.rack)
        state = design(count)
        return cls(
            row=np.arange(count),
            state=state,
            kept=state,
            share=np.zeros(count),
            stride=_widest(problem),
            before=np.full(count, np.inf),
            wary=np.zeros(count, dtype=np.bool_),
        )

    def keep(self, index: IntArray) -> None:
        """Drop the other rows."""
        self.row, self.wary = self.row[index], self.wary[index]
        self.state, self.kept = self.state.take(index), self.kept.take(index)
        self.share, self.stride = self.share[index], self.stride[index]
        self.before = self.before[index]


def newton(problem: Problem, state: State, share: FloatArray) -> Step:
    """One Newton step of every row towards its place on the path."""
    chain, condition = problem.chain, problem.condition
    target, rack = problem.path.at(share)
    placed = chain.place(state)
    links = chain.links(placed, rack)
    right = np.empty((4, len(share)))
    right[:3], right[3] = chain.gaps(links), condition.gap(placed, target)
    swing, turn, determinant = solve(chain.equations(placed, links, condition), right)
    turns = np.sqrt(turn[0] * turn[0] + turn[1] * turn[1] + turn[2] * turn[2])
    size = np.maximum(chain.radius * np.abs(swing), chain.reach * turns)
    return Step(swing, turn, determinant, size)


def _widest(problem: Problem) -> FloatArray:
    """Longest stretch: the tie rod's equation, being squared, also closes for its mirror image."""
    length = np.sqrt(problem.chain.square[TIE_ROD])
    widest: FloatArray = np.minimum(1.0, LEAP * length / np.abs(problem.path.rack))
    return widest


def _blend(index: BoolArray, yes: State, no: State) -> State:
    return State(np.where(index, yes.swing, no.swing), np.where(index, yes.turn, no.turn))


def _refused(walk: Walk, step: Step, problem: Problem) -> tuple[BoolArray, FloatArray]:
    """Which rows must go back, and the factor on their stride."""
    limit = STEP_RAD * np.minimum(problem.chain.radius, problem.chain.reach)
    fresh = np.isinf(walk.before)
    long = fresh & (step.size > limit)
    slow = ~fresh & (step.size > CONTRACTION * walk.before)
    flipped = step.determinant * problem.footing.sign <= 0.0
    refused = long | slow | flipped | ~np.isfinite(step.size)
    return refused, np.where(long, np.maximum(0.8 * limit / step.size, 0.05), 0.5)


def _forecast(walk: Walk, step: Step) -> FloatArray:
    """Size of the next correction if corrections square: s·(s ÷ the one before)²."""
    shrink = step.size / walk.before
    return np.where(np.isinf(walk.before), step.size, step.size * shrink * shrink)


def _arrived(walk: Walk, step: Step, trial: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Rows that may keep their state, and those of them that are closed at their target."""
    forecast = _forecast(walk, step)
    last = trial >= 1.0
    closed = last & ((step.size < STILL_MM) | ((step.size < QUADRATIC_MM) & (forecast < CLOSED_MM)))
    return closed | (~last & (forecast < LOOSE_MM)), closed


def _iterate(walk: Walk, problem: Problem) -> BoolArray:
    """Take one Newton step of every row; return the rows that are closed."""
    trial = np.minimum(walk.share + walk.stride, 1.0)
    step = newton(problem, walk.state, trial)
    refused, factor = _refused(walk, step, problem)
    arrived, closed = _arrived(walk, step, trial)
    arrived &= ~refused
    walk.state = _blend(refused, walk.kept, advance(walk.state, step.swing, step.turn))
    walk.kept = _blend(arrived, walk.state, walk.kept)
    walk.share = np.where(arrived, trial, walk.share)
    widen = np.where(arrived & ~walk.wary, 2.0, 1.0)
    stride = np.where(refused, walk.stride * factor, walk.stride * widen)
    walk.stride = np.minimum(stride, _widest(problem))
    walk.wary = refused | (walk.wary & ~arrived)
    walk.before = np.where(refused | arrived, np.inf, step.size)
    return closed & ~refused


def _walk_block(problem: Problem) -> tuple[State, IntArray]:
    """Close the rows of one block: their states and `Status` codes."""
    count = len(problem.path.rack)
    found = State(np.full((2, count), np.nan), np.full((4, count), np.nan))
    status = np.full(count, Status.OVER_EXTENDED, dtype=np.int64)
    walk, active = Walk.begin(problem), problem
    for _ in range(MOST_ITERATIONS):
        closed = _iterate(walk, active)
        done = closed | (walk.stride < SHORTEST)
        if not done.any():
            continue
        home = walk.row[closed]
        found.swing[:, home] = walk.state.swing[:, closed]
        found.turn[:, home] = walk.state.turn[:, closed]
        status[home] = Status.CLOSED
        if done.all():
            break
        rest = np.flatnonzero(~done)
        walk.keep(rest)
        active = active.take(rest)
    return found, status


def _closes_elsewhere(problem: Problem) -> BoolArray:
    """Whether the links of rows that no path reaches close in another assembly."""
    count = len(problem.path.rack)
    state, share = design(count), np.ones(count)
    limit = STEP_RAD * np.minimum(problem.chain.radius, problem.chain.reach)
    closed = np.zeros(count, dtype=np.bool_)
    for _ in range(PROBE_ITERATIONS):
        step = newton(problem, state, share)
        closed |= step.size < STILL_MM
        if np.all(closed | ~np.isfinite(step.size)):
            break
        factor = np.minimum(1.0, limit / step.size)
        state = advance(state, factor * step.swing, factor * step.turn)
    return closed


def close(problem: Problem) -> tuple[State, IntArray]:
    """Close rows, each from its design position to the end of its path.

    Parameters
    ----------
    problem : Problem
        Rows of sound geometry with finite targets.

    Returns
    -------
    State
        NaN where a row cannot close.
    ndarray of int, shape (n,)
        `Status`: closed, over-extended or wrong branch.
    """
    count = len(problem.path.rack)
    if count == 0:
        return design(0), np.zeros(0, dtype=np.int64)
    parts = [np.arange(i, min(i + BLOCK, count)) for i in range(0, count, BLOCK)]
    with np.errstate(all="ignore"):  # steps of rows that cannot close overflow by design
        solved = [_walk_block(problem.take(part)) for part in parts]
        status = np.concatenate([codes for _, codes in solved])
        lost = np.flatnonzero(status != Status.CLOSED)
        if lost.size:
            elsewhere = _closes_elsewhere(problem.take(lost))
            status[lost[elsewhere]] = Status.WRONG_BRANCH
    swing = np.concatenate([state.swing for state, _ in solved], axis=1)
    turn = np.concatenate([state.turn for state, _ in solved], axis=1)
    return State(swing, turn), status
