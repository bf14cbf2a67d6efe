"""Load cases and joint forces against published numbers where there are any.

No complete published example of ball-joint loads was found: there, virtual work on a general
solver's poses and the planar limit stand in (`tests.plugins.test_ball_joint_moment`).
"""

from __future__ import annotations

import math

import pytest

from tests.plugins.corner_rows import ONE_PIECE_ROW, values
from whybone_chassis.ball_joint_moment import CHECK


@pytest.mark.parametrize(
    ("share", "ratio"), [(0.1, 0.48), (0.25, 0.88), (0.293, 1.00), (0.5, 1.73), (0.75, 3.87)]
)
def test_forces_of_a_longitudinal_bump_pass_through_the_wheel_centre(
    share: float, ratio: float
) -> None:
    """Brown, Robertson & Serpento, Motor Vehicle Structures, p. 22 (read): PH/PV of a step.

    The step's force points from its edge to the wheel centre at an angle with sin θ = 1 − H/R, so
    PH/PV = 1/tan θ, here carried as fx at the wheel centre (`body`) and fz. The same line of
    action stated otherwise, as fx at the ground with a torque about the axle taken off again, is
    what a force through the wheel centre must agree with: it has no moment about the wheel centre.
    """
    angle = math.asin(1.0 - share)
    horizontal = 5150.0 / math.tan(angle)
    assert horizontal / 5150.0 == pytest.approx(ratio, abs=0.006)
    case = ("step", "body", -horizontal, 0.0, 5150.0, 0.0, 0.0, 0.0)
    row = ONE_PIECE_ROW | {"unsprung_mass": 0.0, "static_camber": 0.0, "static_toe": 0.0}
    found = values(CHECK, row, load_cases=[case])
    # Without camber the contact centre is below the wheel centre: nothing depends on the radius.
    smaller = values(CHECK, row | {"loaded_radius": 200.0}, load_cases=[case])
    for key in ("upper_joint_force", "lower_joint_force", "tie_rod_force", "spring_force"):
        assert found[key] == pytest.approx(smaller[key], rel=1e-9)
