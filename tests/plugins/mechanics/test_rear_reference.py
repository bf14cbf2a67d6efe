"""Rear poses against a general solver: scipy, one position at a time, from the design on."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.plugins.mechanics.rear_reference import KNUCKLE, RearReference
from tests.plugins.mechanics.rear_samples import plausible_rear
from whybone_chassis.mechanics.rear_linkage import pose_rear
from whybone_chassis.mechanics.status import Status

CORNERS = 120
AGREEMENT = 1e-9


@pytest.mark.parametrize("travel", [-60.0, -25.0, 60.0, 90.0])
def test_rear_poses_agree_with_a_general_solver(travel: float) -> None:
    linkage = plausible_rear(CORNERS, seed=41)
    pose = pose_rear(linkage, np.full(CORNERS, travel))
    off: dict[str, float] = {}
    both, differ = 0, []
    for row in range(CORNERS):
        reference = RearReference.of(linkage.corner, row)
        x = reference.sweep(travel)
        if (x is None) == (pose.status[row] == Status.CLOSED):
            differ.append(row)
        if x is None:
            continue
        both += 1
        wanted = {name: reference.on_knuckle(x, name) for name in (*KNUCKLE, "wheel_centre")}
        wanted["integral_on_arm"] = reference.on_arm(x, reference.points["integral_on_arm"])
        seats = linkage.seats
        assert seats is not None
        wanted["spring_lower"] = reference.on_arm(x, seats.lower[row])
        for name, point in wanted.items():
            away = float(np.abs(getattr(pose, name)[row] - point).max())
            off[name] = max(off.get(name, 0.0), away)
        turn = Rotation.from_matrix(pose.rotation[row]) * reference.rotation(x).inv()
        off["turn, rad"] = max(off.get("turn, rad", 0.0), float(turn.magnitude()))
    print(f"travel {travel:+.0f}: " + ", ".join(f"{n} {v:.1e}" for n, v in off.items()))
    assert differ == []
    assert both >= 100
    assert max(off.values()) < AGREEMENT
