"""A sweep posed at once against a general solver going along it, warm from one to the next."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import root

from tests.plugins.mechanics.reference import Reference
from tests.plugins.mechanics.samples import one_piece
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray

SIDE = 100
#: Positions solved one by one: a stretch of the same sweep.
SAMPLE = 400
#: Relative to about 100 mm, hence 1e-10 mm.
TOLERANCE = 1e-12


def _sweep() -> tuple[FloatArray, FloatArray]:
    """Travel up and down while the rack moves on: neighbours are near each other."""
    travel = np.linspace(-80.0, 80.0, SIDE)
    rack = np.linspace(-72.0, 72.0, SIDE)
    there_and_back = [travel[:: 1 if i % 2 == 0 else -1] for i in range(SIDE)]
    return np.concatenate(there_and_back), np.repeat(rack, SIDE)


def _one_by_one(method: str, start: FloatArray, index: range) -> FloatArray:
    """Wheel centres, each warm from the one before."""
    reference = Reference.of(one_piece(), 0)
    travel, rack = _sweep()
    x, found = start.copy(), np.empty((len(index), 3))
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
    return found + reference.centre


@pytest.mark.parametrize("method", ["hybr", "lm"])
def test_a_sweep_agrees_with_a_general_solver_going_along_it(method: str) -> None:
    linkage, (travel, rack) = one_piece(), _sweep()
    pose = pose_at_travel(linkage, travel, rack)
    index = range(4800, 4800 + SAMPLE)
    start = Reference.of(linkage, 0).sweep(travel[index[0]], rack[index[0]])
    assert start is not None
    found = _one_by_one(method, start, index)
    assert np.abs(found - pose.wheel_centre[list(index)]).max() < 1e-9


@pytest.mark.parametrize("travel", [1e3, -1e6])
def test_poses_far_out_of_reach_have_no_result(travel: float) -> None:
    count = 2000
    pose = pose_at_travel(one_piece(), np.full(count, travel), np.full(count, 1e5))
    assert np.all(np.isnan(pose.toe))
