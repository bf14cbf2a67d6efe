"""The batch against a general solver and against itself row by row: ratios of one run."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import numpy as np
import pytest
from scipy.optimize import root

from tests.plugins.mechanics.reference import Reference
from tests.plugins.mechanics.samples import one_piece
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray

SIDE = 100
#: Positions timed one by one: a stretch of the same sweep.
SAMPLE = 400
#: Relative to about 100 mm, hence 1e-10 mm.
TOLERANCE = 1e-12


def _sweep() -> tuple[FloatArray, FloatArray]:
    """Travel up and down while the rack moves on: neighbours are near each other."""
    travel = np.linspace(-80.0, 80.0, SIDE)
    rack = np.linspace(-72.0, 72.0, SIDE)
    there_and_back = [travel[:: 1 if i % 2 == 0 else -1] for i in range(SIDE)]
    return np.concatenate(there_and_back), np.repeat(rack, SIDE)


def _best(action: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = perf_counter()
        action()
        times.append(perf_counter() - start)
    return min(times)


def _one_by_one(method: str, start: FloatArray, index: range) -> tuple[float, FloatArray]:
    """Seconds per position and wheel centres, each warm from the one before."""
    reference = Reference.of(one_piece(), 0)
    travel, rack = _sweep()
    x, found = start.copy(), np.empty((len(index), 3))
    begin = perf_counter()
    for k, i in enumerate(index):
        x = root(
            reference.gaps,
            x,
            args=(travel[i], rack[i]),
            jac=reference.jacobian,
            method=method,
            tol=TOLERANCE,
        ).x
        found[k] = x[:3]
    return (perf_counter() - begin) / len(index), found + reference.centre


def test_the_batch_is_a_hundred_times_faster_than_a_general_solver() -> None:
    linkage, (travel, rack) = one_piece(), _sweep()
    batch = _best(lambda: pose_at_travel(linkage, travel, rack), 7) / len(travel)
    pose = pose_at_travel(linkage, travel, rack)
    index = range(4800, 4800 + SAMPLE)
    start = Reference.of(linkage, 0).sweep(travel[index[0]], rack[index[0]])
    assert start is not None
    times = {}
    for method in ("hybr", "lm"):
        times[method], found = _one_by_one(method, start, index)
        assert np.abs(found - pose.wheel_centre[list(index)]).max() < 1e-9
    best = min(times.values())
    print(
        f"batch {1e6 * batch:.2f} us a position; general solvers "
        + ", ".join(f"{m} {1e6 * t:.0f} us" for m, t in times.items())
        + f"; ratio {best / batch:.0f}"
    )
    assert best / batch >= 100.0


def test_the_batch_is_fifty_times_faster_than_row_by_row() -> None:
    linkage, (travel, rack) = one_piece(), _sweep()
    batch = _best(lambda: pose_at_travel(linkage, travel, rack), 3) / len(travel)
    rows = range(0, len(travel), 100)
    alone = _best(
        lambda: [pose_at_travel(linkage, travel[i : i + 1], rack[i : i + 1]) for i in rows], 2
    ) / len(rows)
    print(f"row by row {1e6 * alone:.0f} us a position; ratio {alone / batch:.0f}")
    assert alone / batch >= 50.0


@pytest.mark.parametrize("travel", [1e3, -1e6])
def test_poses_far_out_of_reach_end_soon(travel: float) -> None:
    count = 2000
    begin = perf_counter()
    pose = pose_at_travel(one_piece(), np.full(count, travel), np.full(count, 1e5))
    assert np.all(np.isnan(pose.toe))
    assert perf_counter() - begin < 2.0
