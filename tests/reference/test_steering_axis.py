"""The screw axis against a published one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.plugins.mechanics.samples import one_piece
from whybone_chassis.mechanics.axis import screw_axis
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.velocity import Motion


def test_screw_of_a_planar_displacement() -> None:
    """Lynch & Park, Modern Robotics, Ex. 3.26, as in SciPy's rigid-transform tests (read).

    A body turns by 30° about the upright through (3.366, 3.366), pitch 0: its screw is
    ω = (0, 0, 1), v = (3.366, −3.366, 0) at the origin.
    """
    pose = pose_at_travel(one_piece(), np.zeros(1), np.zeros(1))
    turn = np.array([[0.0, 0.0, math.radians(30.0)]])
    at_origin = math.radians(30.0) * np.array([[3.366, -3.366, 0.0]])
    joint = at_origin + np.cross(turn, pose.upper_outer)
    axis = screw_axis(pose, Motion(joint=joint, turn=turn, spring=np.zeros(1)))
    assert axis.direction[0] == pytest.approx([0.0, 0.0, 1.0], abs=1e-15)
    assert axis.at_height(np.zeros(1))[0] == pytest.approx([3.366, 3.366, 0.0], abs=1e-12)
    assert axis.pitch[0] == pytest.approx(0.0, abs=1e-12)
