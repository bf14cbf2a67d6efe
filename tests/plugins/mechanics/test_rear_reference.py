"""Rear poses against a general solver: scipy, one position at a time, from the design on."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.plugins.mechanics.rear_reference import KNUCKLE, RearReference
from tests.plugins.mechanics.rear_samples import plausible_rear
from whybone_chassis.mechanics.rear_linkage import RearPose, pose_rear
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray

CORNERS = 120
LEAST_COMPARED = 100
AGREEMENT = 1e-9


def _points(pose: RearPose, row: int) -> FloatArray:
    names = (*KNUCKLE, "wheel_centre", "integral_on_arm", "spring_lower")
    return np.array([getattr(pose, name)[row] for name in names])


@pytest.mark.parametrize("travel", [-60.0, -25.0, 60.0, 90.0])
def test_rear_poses_agree_with_a_general_solver(travel: float) -> None:
    linkage = plausible_rear(CORNERS, seed=41)
    pose = pose_rear(linkage, np.full(CORNERS, travel))
    seats = linkage.seats
    assert seats is not None
    off_mm = off_rad = 0.0
    both, differ = 0, []
    for row in range(CORNERS):
        reference = RearReference.of(linkage.corner, row)
        x = reference.sweep(travel)
        if (x is None) == (pose.status[row] == Status.CLOSED):
            differ.append(row)
        if x is None:
            continue
        both += 1
        knuckle = reference.knuckle(x, np.vstack([reference.outer, np.zeros(3)]))
        arm = reference.on_arm(x, np.array([reference.arm[1], seats.lower[row]]))
        wanted = np.vstack([knuckle, arm])
        off_mm = max(off_mm, float(np.abs(_points(pose, row) - wanted).max()))
        turn = Rotation.from_matrix(pose.rotation[row]) * reference.rotation(x).inv()
        off_rad = max(off_rad, float(turn.magnitude()))
    print(f"travel {travel:+.0f}: {off_mm:.1e} mm, {off_rad:.1e} rad, {both} of {CORNERS} closed")
    assert differ == []
    assert both >= LEAST_COMPARED
    assert max(off_mm, off_rad) < AGREEMENT
