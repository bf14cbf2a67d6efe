"""Mend against brute force in plain Python on random small programmes."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.property.mending import Number, Small, draw
from tracker.explore.mend import Mended, Plan, mend
from tracker.explore.mend_rows import Mending

PROGRAMMES = 1200
_GRID = 2001
Reals = NDArray[np.float64]


@dataclass(frozen=True)
class Tried:
    """A programme with a broken decision, and what mends it."""

    small: Small
    target: str
    found: Mended

    def single(self, key: str) -> Mending | None:
        every = [each for each in self.found.mendings if len(each.moves) == 1]
        return next((each for each in every if each.moves[0].mover.source.id == key), None)


@pytest.fixture(scope="module")
def tried() -> list[Tried]:
    dice = random.Random(20_330_111)
    found: list[Tried] = []
    while len(found) < PROGRAMMES:
        small = draw(dice)
        broken = [name for name, stands in small.standings(small.now()).items() if not stands]
        if broken:
            found.append(Tried(small, broken[0], mend(small.engine(), broken[0], Plan(grid=8))))
    return found


def brute(each: Tried, number: Number) -> float | None:
    """Return the nearest value of a dense grid, or of the whole numbers, that mends."""
    assert number.low is not None
    assert number.high is not None
    grid = np.linspace(number.low, number.high, _GRID)
    values = np.arange(number.low, number.high + 1) if number.whole else grid
    mends = each.small.mends(each.target, {number.key: values})
    good = values[np.broadcast_to(mends, values.shape)]
    return min(good.tolist(), key=lambda value: abs(value - number.now), default=None)


def movable(small: Small) -> list[Number]:
    return [each for each in small.numbers if each.low is not None]


def test_no_value_of_a_dense_grid_is_nearer(tried: list[Tried]) -> None:
    looked = 0
    for each in tried:
        for number in movable(each.small):
            known, made = brute(each, number), each.single(number.key)
            if known is None:
                continue
            looked += 1
            assert made is not None, (each.small, number, known)
            assert abs(made.moves[0].to - number.now) <= abs(known - number.now), (number, made)
            if number.whole:
                assert abs(made.moves[0].to - number.now) == abs(known - number.now)
                assert made.proven
    assert looked > 300


def test_what_is_proposed_mends_and_a_hair_less_does_not(tried: list[Tried]) -> None:
    proven = 0
    for each in tried:
        for made in each.found.mendings:
            moves = {one.mover.source.id: one.to for one in made.moves}
            for one in made.choices:
                moves["o"] = each.small.options[one.option[-1]]
            assert each.small.mends(each.target, moves), (each.small, made)
            if len(made.moves) == 1 and not isinstance(made.moves[0].mover.source.value, int):
                key, to = next(iter(moves.items()))
                now = each.small.now()[key]
                mover = made.moves[0].mover
                hair = to + np.sign(now - to) * 1e-9
                if mover.low <= hair <= mover.high:
                    assert not each.small.mends(each.target, {key: hair}), (each.small, made)
                proven += made.proven
    assert proven > 50


def test_the_options_that_mend_are_those_of_brute_force(tried: list[Tried]) -> None:
    mending = 0
    for each in tried:
        known = {
            f"DO-{name}"
            for name, value in each.small.options.items()
            if name != "a" and each.small.mends(each.target, {"o": value})
        }
        assert {one.option for made in each.found.mendings for one in made.choices} == known
        mending += len(known)
    assert mending > 100


def test_pairs_come_only_where_no_number_mends_alone(tried: list[Tried]) -> None:
    pairs = 0
    for each in tried:
        sizes = {len(made.moves) for made in each.found.mendings if made.moves}
        assert sizes in (set(), {1}, {2})
        pairs += sizes == {2}
        assert not any(made.proven for made in each.found.mendings if len(made.moves) == 2)
    assert pairs > 20


def test_a_pair_of_the_grid_is_never_overlooked(tried: list[Tried]) -> None:
    """A coarse grid of brute force that mends is one that is found, at no higher cost."""
    for each in tried[::4]:
        if any(len(made.moves) == 1 for made in each.found.mendings):
            continue
        best = min((_pair_cost(each, a, b) for a, b in _pairs(each.small)), default=np.inf)
        cost = min((m.cost for m in each.found.mendings if m.moves), default=np.inf)
        assert cost <= best * (1 + 1e-12)


def _pairs(small: Small) -> list[tuple[Number, Number]]:
    free = movable(small)
    return [(a, b) for place, a in enumerate(free) for b in free[place + 1 :]]


def _pair_cost(each: Tried, a: Number, b: Number) -> float:
    x, y = np.meshgrid(_axis(a), _axis(b))
    good = np.broadcast_to(each.small.mends(each.target, {a.key: x, b.key: y}), x.shape)
    return float(np.where(good, _share(a, x) + _share(b, y), np.inf).min())


def _axis(number: Number) -> Reals:
    assert number.low is not None
    assert number.high is not None
    axis = np.linspace(number.low, number.high, 9)
    return np.rint(axis) if number.whole else axis


def _share(number: Number, to: Reals) -> Reals:
    assert number.low is not None
    assert number.high is not None
    return np.asarray(np.abs(to - number.now) / (number.high - number.low))
