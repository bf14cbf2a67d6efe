"""Two numbers moved together: a declared grid over both ranges, the best of it polished.

Nothing proves that a pair found this way is the smallest: an island of values that mend can lie
between grid lines, and polishing goes downhill from where the grid found one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.engine import Cancel
from tracker.explore.candidates import Candidates
from tracker.explore.mend_goal import Goal
from tracker.explore.mend_ranges import Mover, Pricing
from tracker.explore.mend_reach import Reached
from tracker.explore.mend_rows import Mending, Move, Progress, put_values

__all__ = ["pair_moves"]

Reals = NDArray[np.float64]

_CHUNK = 32  # pairs sent through the graph in one pass
_POLISHED = 8  # the cheapest pairs of the grid that are polished
_STEPS = np.linspace(-1.0, 1.0, 9)
_SHRINK = 0.4  # more than the step between looks, so that a look never leaves what it closes in on
_ROUNDS = 32


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two numbers, the cheapest values known to mend, and how far around them to look.

    Parameters
    ----------
    at : tuple of float or None
        None where none is known.
    """

    movers: tuple[Mover, Mover]
    span: tuple[float, float]
    at: tuple[float, float] | None = None
    cost: float = np.inf


def pair_moves(
    goal: Goal,
    ways: Sequence[Reached],
    pricing: Pricing,
    grid: int,
    cancel: Cancel | None,
    tell: Progress,
) -> list[Mending]:
    """Return the pairs that mend, polished.

    Parameters
    ----------
    ways : sequence of Reached
        What may be moved.
    grid : int
        Stretches between grid lines over each range.
    """
    asked = [
        _Pair((a.mover, b.mover), (a.mover.width / grid, b.mover.width / grid))
        for a, b in combinations(ways, 2)
        if _promising(goal, a, b)
    ]
    found: list[_Pair] = []
    search = _Search(goal, pricing, cancel)
    for first in range(0, len(asked), _CHUNK):
        chunk = asked[first : first + _CHUNK]
        places = [_lattice(*pair.movers, grid) for pair in chunk]
        found += [pair for pair in search.best(chunk, places) if pair.at is not None]
        tell(f"{first + len(chunk)} of {len(asked)} pairs looked at, {len(found)} mend")
    found = sorted(found, key=lambda pair: pair.cost)[:_POLISHED]
    for number in range(_ROUNDS if found else 0):
        found = search.best(found, [_around(pair) for pair in found])
        tell(f"{len(found)} pairs polished, {number + 1} of {_ROUNDS} rounds")
    return [
        Mending(tuple(Move(mover, to) for mover, to in zip(pair.movers, pair.at, strict=True)))
        for pair in found
        if pair.at is not None
    ]


def _promising(goal: Goal, a: Reached, b: Reached) -> bool:
    """Tell whether two together may move all that fails, and have to do with each other."""
    together = {*a.places, *b.places}
    failing = set(goal.failing())
    either = failing & set(a.places) and failing & set(b.places)
    return failing <= together and bool(either or set(a.places) & set(b.places))


def _axis(mover: Mover, values: Reals) -> Reals:
    values = np.clip(values, mover.low, mover.high)
    return (np.rint(values) if isinstance(mover.source.value, int) else values) + 0.0


def _lattice(a: Mover, b: Mover, grid: int) -> Reals:
    """Return the crossings of a grid over two ranges, shape (n, 2)."""
    axes = [_axis(each, np.linspace(each.low, each.high, grid + 1)) for each in (a, b)]
    return _crossings(*axes)


def _crossings(x: Reals, y: Reals) -> Reals:
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def _around(pair: _Pair) -> Reals:
    """Return values around the cheapest known."""
    assert pair.at is not None  # noqa: S101 - only pairs that mend are polished
    axes = [
        _axis(mover, at + span * _STEPS)
        for mover, at, span in zip(pair.movers, pair.at, pair.span, strict=True)
    ]
    return _crossings(*axes)


@dataclass(frozen=True, slots=True)
class _Search:
    """Looks at values of pairs."""

    goal: Goal
    pricing: Pricing
    cancel: Cancel | None

    def best(self, pairs: Sequence[_Pair], places: Sequence[Reals]) -> list[_Pair]:
        """Return each pair at the cheapest values that mend, looking closer from there."""
        rows = Candidates(self.goal.engine, sum(map(len, places)))
        spans = list(_spans(places))
        for pair, values, span in zip(pairs, places, spans, strict=True):
            for column, mover in enumerate(pair.movers):
                put_values(rows, mover.source, values[:, column], span)
        found = rows.assess(self.cancel)
        good = self.goal.ok(found)
        money = self.pricing.of_money(self.goal.engine, found)
        return [
            self._taken(pair, values, good[span], money[span])
            for pair, values, span in zip(pairs, places, spans, strict=True)
        ]

    def _taken(self, pair: _Pair, values: Reals, good: NDArray[np.bool_], money: Reals) -> _Pair:
        moves = (self.pricing.of_move(m, values[:, k]) for k, m in enumerate(pair.movers))
        cost = np.where(good, money + sum(moves), np.inf)
        place = int(cost.argmin())
        best = float(cost[place])
        at, known = pair.at, pair.cost
        if best < known:
            at, known = (float(values[place, 0]), float(values[place, 1])), best
        closer = (pair.span[0] * _SHRINK, pair.span[1] * _SHRINK) if pair.at else pair.span
        return _Pair(pair.movers, closer, at, known)


def _spans(places: Sequence[Reals]) -> Iterator[slice]:
    first = 0
    for each in places:
        yield slice(first, first + len(each))
        first += len(each)
