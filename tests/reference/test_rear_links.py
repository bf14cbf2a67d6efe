"""The rear corner against the little that is published: mobility, signs, and a bump's forces.

No complete published example of a corner with an integral link was found: a general solver,
virtual work, a rigid-body engine and the method of displacements stand in
(`tests.plugins.mechanics.test_rear_reference` and its neighbours).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.plugins.corner_rows import values
from tests.plugins.mechanics.rear_reference import slopes
from tests.plugins.rear_rows import FULL, ROWS, RearWheel
from whybone_chassis.rear_links import CHECK


def test_mobility_is_that_of_the_kutzbach_criterion() -> None:
    """Norton, Design of Machinery, ch. 2 (recalled from memory): 6·(L − 1) less what joints take.

    Moving bodies: arm, knuckle, three links. The arm's hinge takes 5, the ball joint 3, both ball
    joints of each link 6; each link's idle spin about itself is no motion of the wheel.
    """
    moving, links = 5, 3
    mobility = 6 * moving - 5 - 3 - 6 * links - links
    assert mobility == 1
    for row in ROWS.values():
        assert freedoms(RearWheel.at(row, 20.0)) == mobility


def freedoms(wheel: RearWheel) -> int:
    """Motions of knuckle and arm (seven) that the constraints (all but the height) leave."""
    constraints = slopes(lambda x: wheel.reference.gaps(x, 0.0), wheel.x)[:6]
    scaled = constraints * np.array([1.0, 1.0, 1.0, 0.01, 0.01, 0.01, 0.01])
    return 7 - int(np.linalg.matrix_rank(scaled, tol=1e-6))


@pytest.mark.parametrize("layout", ROWS)
def test_toe_in_turns_the_wheels_front_to_the_centreline(layout: str) -> None:
    """ISO 8855:2011, 7.1.6 (excerpt read): toe-in positive; here left wheel, Y to the left."""
    row = ROWS[layout]
    wheel = RearWheel.at(row, row["travel"])
    forward = np.array([wheel.spin(wheel.x)[1], -wheel.spin(wheel.x)[0]])
    toe_in = math.degrees(math.atan2(-forward[1], forward[0]))
    assert values(CHECK, row)["toe_at_bump"] == pytest.approx(toe_in, abs=1e-10)


@pytest.mark.parametrize(
    ("share", "ratio"), [(0.1, 0.48), (0.25, 0.88), (0.293, 1.00), (0.5, 1.73), (0.75, 3.87)]
)
def test_forces_of_a_longitudinal_bump_pass_through_the_wheel_centre(
    share: float, ratio: float
) -> None:
    """Brown, Robertson & Serpento, Motor Vehicle Structures, p. 22 (read): PH/PV of a step.

    sin θ = 1 − H/R, PH/PV = 1/tan θ: a force through the wheel centre has no moment about it, so
    without camber nothing depends on the wheel's radius.
    """
    horizontal = 6130.0 / math.tan(math.asin(1.0 - share))
    assert horizontal / 6130.0 == pytest.approx(ratio, abs=0.006)
    case = ("step", "body", -horizontal, 0.0, 6130.0, 0.0, 0.0)
    row = FULL["ahead"] | {"unsprung_mass": 0.0, "static_camber": 0.0, "static_toe": 0.0}
    found = values(CHECK, row, load_cases=[case])
    smaller = values(CHECK, row | {"loaded_radius": 200.0}, load_cases=[case])
    for key in ("integral_link_force", "upper_rear_force", "lower_joint_force", "spring_force"):
        assert found[key] == pytest.approx(smaller[key], rel=1e-9)
