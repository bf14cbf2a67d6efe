"""Signs of a left corner, in words. ISO 8855:2011: X forward, Y left, Z up."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plugins.mechanics.samples import (
    FORE,
    ONE_PIECE,
    ONE_PIECE_SPRING,
    corner_of,
    loads_of,
    one_piece,
    spring_of,
)
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.assembly import assemble
from whybone_chassis.mechanics.corner import (
    camber_of,
    contact_centre,
    down_in_wheel_plane,
    spin_axis,
    toe_of,
)
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.statics import balance
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.mechanics.velocity import motion_ratio, per_travel, wheel_rates

STILL = np.zeros(1)


def _told(words: str, holds: object) -> None:
    print(f"  {words}: {'yes' if holds else 'no'}")
    assert holds, words


def _forward(spin: FloatArray) -> FloatArray:
    """Direction in which the left wheel rolls: level, square to its outward spin axis."""
    heading: FloatArray = np.array([spin[1], -spin[0], 0.0])
    return heading


def test_the_wheel_of_a_left_corner() -> None:
    toed = spin_axis(np.array([2.0]), STILL)[0]
    _told("toe-in positive: the front of the left wheel points to the right", _forward(toed)[1] < 0)
    leaning = spin_axis(STILL, np.array([3.0]))
    _told(
        "camber positive: the top leans outward, to the left",
        down_in_wheel_plane(leaning)[0, 1] < 0,
    )
    contact = contact_centre(np.array([[0.0, 780.0, 345.0]]), leaning, np.array([345.0]))[0]
    _told("the contact centre lies below the wheel centre", contact[2] < 345.0)
    _told("positive camber moves the contact centre inward", contact[1] < 780.0)


@pytest.mark.parametrize("toe", [-3.0, 0.1, 35.0])
@pytest.mark.parametrize("camber", [-2.0, 0.0, 5.0])
def test_spin_axis_gives_its_angles_back(toe: float, camber: float) -> None:
    spin = spin_axis(np.array([toe]), np.array([camber]))
    tau, gamma = np.radians(toe), np.radians(camber)
    by_hand = [np.sin(tau) * np.cos(gamma), np.cos(tau) * np.cos(gamma), -np.sin(gamma)]
    assert np.allclose(spin[0], by_hand, rtol=0.0, atol=1e-15)
    assert toe_of(spin)[0] == pytest.approx(toe, abs=1e-13)
    assert camber_of(spin)[0] == pytest.approx(camber, abs=1e-13)


def test_the_steering_of_a_left_corner() -> None:
    axis = axes.steering_axis(pose_at_travel(one_piece(), STILL, STILL))
    pose = pose_at_travel(one_piece(), STILL, STILL)
    _told("inclination positive: the axis leans inward, to the right", axis.direction[0, 1] < 0)
    _told("and is given so", axis.inclination[0] > 0)
    _told("caster positive: the axis leans rearward", axis.direction[0, 0] < 0)
    _told("and is given so", axis.caster[0] > 0)
    ground = axes.at_ground(axis, pose)[0]
    _told("the axis meets the ground inboard of the contact centre", ground[1] < 780.0)
    _told("scrub radius positive", axes.scrub_radius(axis, pose)[0] > 0)
    _told("the axis meets the ground ahead of the contact centre", ground[0] > 0.0)
    _told("caster trail positive", axes.trail(axis, pose)[0] > 0)


def test_the_rack_of_a_left_corner() -> None:
    aft = pose_at_travel(one_piece(), STILL, np.array([10.0]))
    _told("rack behind the axle moving left turns the wheel right: toe-in grows", aft.toe[0] > 1.0)
    linkage = assemble(corner_of(ONE_PIECE | FORE), spring_of(ONE_PIECE_SPRING))
    fore = pose_at_travel(linkage, STILL, np.array([10.0]))
    _told(
        "rack ahead of the axle moving left turns the wheel left: toe-out grows", fore.toe[0] < -1.0
    )
    heading = _forward(fore.spin_axis[0])
    _told("left: counter-clockwise from above, towards positive Y", heading[1] > 0.0)


def test_the_travel_of_a_left_corner() -> None:
    pose = pose_at_travel(one_piece(), np.array([20.0]), STILL)
    _told("travel positive: the wheel centre rises", pose.wheel_centre[0, 2] > 345.0)
    _told(
        "jounce shortens the spring",
        pose.spring_length[0] < one_piece().require_spring()[0].length[0],
    )
    still = pose_at_travel(one_piece(), STILL, STILL)
    _told("motion ratio positive", motion_ratio(still)[0] > 0)
    rates = wheel_rates(still, per_travel(still))
    _told("camber falls in jounce: the top moves inward", rates.camber[0] < 0)


def test_the_forces_of_a_left_corner() -> None:
    pose = pose_at_travel(one_piece(), STILL, STILL)
    cornering = balance(pose, loads_of(1, fy=-4000.0))
    _told(
        "outer wheel, fy < 0: the upper links pull, tension positive", cornering.upper_front[0] > 0
    )
    _told("and draw the knuckle inward", cornering.upper_joint[0, 1] < 0)
    _told("the lower arm pushes the knuckle outward", cornering.lower_joint[0, 1] > 0)
    standing = balance(pose, loads_of(1, fz=5000.0))
    _told("a standing wheel compresses its spring, compression positive", standing.spring[0] > 0)
    braking = balance(pose, loads_of(1, fx=-4000.0))
    _told(
        "braking draws the lower joint rearward: the arm holds it forward",
        braking.lower_joint[0, 0] > 0,
    )
    _told("and the upper links hold the top back", braking.upper_joint[0, 0] < 0)
