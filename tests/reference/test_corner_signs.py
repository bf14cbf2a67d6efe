"""Every sign of the corner checks on one left corner, in words.

ISO 8855:2011 (excerpt read): X forward, Y left, Z up; 7.1.6 toe-in positive, 7.1.8 a left turn
positive. Where the standard leaves a sign open, common practice, no source: roll steer positive
towards understeer, link force positive in tension, scrub radius positive with the axis inboard.
Run with `-s` to read the table.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_reference import Wheel
from tests.plugins.corner_rows import FORE_ROW, ONE_PIECE_ROW, values, without
from tests.plugins.joint_force_reference import CORNERING, STATIC
from tracker.contract.check import Check
from tracker.contract.kit import Row, Subject
from whybone_chassis.ball_joint_moment import CHECK as JOINT_FORCES
from whybone_chassis.camber_travel import CHECK as CAMBER
from whybone_chassis.ratio_band import CHECK as RATIO
from whybone_chassis.roll_steer import CHECK as ROLL_STEER
from whybone_chassis.steering_axis import CHECK as AXIS

CORNER = without(ONE_PIECE_ROW, "spring")
SWEEP: dict[str, Any] = {"wheel_track": 1560.0, "travel": 60.0}


def told(words: str, holds: object) -> None:
    print(f"  {words}: {'yes' if holds else 'no'}")
    assert holds, words


def moved(row: Row, **shifts: tuple[float, float, float]) -> dict[str, Any]:
    return dict(row) | {
        key: tuple(np.add(row[key], shift).tolist()) for key, shift in shifts.items()
    }


def both_lower(shift: tuple[float, float, float]) -> dict[str, Any]:
    return {"lower_front_outer": shift, "lower_rear_outer": shift}


def grown(check: Check, before: Row, after: Row, port: str) -> bool:
    first, second = values(check, before)[port], values(check, after)[port]
    return bool(second > first)


def drawn(check: Any, row: Row) -> Mapping[str, Any]:  # noqa: ANN401  a check with figures
    figures = check.figures(Subject(check=check, rows=[row]).batch([row]), {})
    return {figure.key: figure for figure in figures}


def front_of(wheel: Wheel) -> Any:  # noqa: ANN401  a vector
    """Point of the wheel's rim farthest ahead, seen from the wheel centre."""
    ahead = np.cross(wheel.spin, [0.0, 0.0, 1.0])
    return ahead / np.linalg.norm(ahead)


def top_of(wheel: Wheel) -> Any:  # noqa: ANN401  a vector
    return wheel.point("wheel_centre") - wheel.contact


def test_toe_and_camber() -> None:
    toed = CORNER | {"static_toe": 2.0, "static_camber": 0.0}
    told("toe-in: the front of the left wheel points to the right", front_of(Wheel.at(toed))[1] < 0)
    told("and toe is positive", values(ROLL_STEER, toed | SWEEP)["toe_at_trim"] > 0.0)
    leaning = CORNER | {"static_camber": 2.0}
    told("the top of the left wheel leans outward, to the left", top_of(Wheel.at(leaning))[1] > 0)
    told("and camber is positive", values(CAMBER, leaning | SWEEP)["camber_at_trim"] > 0.0)


def test_steer_and_steering_wheel() -> None:
    rack = {"c_factor": 50.0, "rack_travel": 60.0, "wheelbase": 2950.0, "wheel_track": 1560.0}
    for place, row, way in (("ahead of", FORE_ROW, 1.0), ("behind", ONE_PIECE_ROW, -1.0)):
        wheel = Wheel.at(row, 0.0, 20.0 * way)
        told(
            f"rack {place} the axle to the {'left' if way > 0 else 'right'}: the front of the left "
            "wheel points to the left",
            front_of(wheel)[1] > 0.0,
        )
        told("counter-clockwise from above: steer is positive", wheel.steer > 0.0)
        told("and toe of the left wheel is minus its steer", wheel.toe == -wheel.steer)
        left, right = drawn(RATIO, row | rack)["wheel-angles"].series
        told("steering wheel to the left is positive", left.x[-1] > 0.0 > left.x[0])
        told(
            "and both wheels then steer to the left, positive",
            left.y[-1] > 0.0 and right.y[-1] > 0.0,
        )
        told(
            "the left wheel is then the inner one",
            left.y[-1] == pytest.approx(values(RATIO, row | rack)["inner_angle"], rel=1e-12),
        )


def test_steering_axis() -> None:
    rear = moved(CORNER, upper_outer=(-10.0, 0.0, 0.0))
    told("top of the axis farther to the rear: caster grows", grown(AXIS, CORNER, rear, "caster"))
    told("top to the rear of the bottom: caster positive", values(AXIS, CORNER)["caster"] > 0.0)
    inward = moved(CORNER, upper_outer=(0.0, -10.0, 0.0))
    told(
        "top of the axis farther inward: inclination grows",
        grown(AXIS, CORNER, inward, "inclination"),
    )
    told("top inward of the bottom: positive", values(AXIS, CORNER)["inclination"] > 0.0)
    inboard = moved(CORNER, upper_outer=(0.0, -10.0, 0.0), **both_lower((0.0, -10.0, 0.0)))
    for port in ("scrub_radius", "offset_at_wheel_centre"):
        told(f"axis farther inboard: {port} grows", grown(AXIS, CORNER, inboard, port))
    wheel, found = Wheel.at(ONE_PIECE_ROW), values(AXIS, CORNER)
    ground = wheel.axis_at(wheel.contact[2])
    told("axis meets the ground inboard of the contact", ground[1] < wheel.contact[1])
    told("and the scrub radius is positive", found["scrub_radius"] > 0.0)
    told("axis meets the ground ahead of the contact", ground[0] > wheel.contact[0])
    told("and the caster trail is positive", found["trail"] > 0.0)


def test_travel_and_what_follows_it() -> None:
    raised = Wheel.at(CORNER, 30.0)
    told("travel positive: the wheel rises on the body", raised.point("wheel_centre")[2] > 345.0)
    found = values(CAMBER, CORNER | SWEEP)
    told("the top moves inward in jounce", raised.camber < Wheel.at(CORNER).camber)
    told("and the camber gradient is negative", found["camber_gradient"] < 0.0)
    told("the instant centre lies inboard: swing arm positive", found["swing_arm"] > 0.0)
    told("the contact moves outward in jounce", raised.contact[1] > Wheel.at(CORNER).contact[1])
    told("and the roll centre lies above the ground", found["roll_centre_height"] > 0.0)
    braking = {"wheelbase": 2950.0, "cg_height": 700.0, "brake_share_front": 0.7}
    tilted = moved(CORNER, upper_front_inner=(0.0, 0.0, 20.0), upper_rear_inner=(0.0, 0.0, -20.0))
    told(
        "upper pivot line falling to the rear draws the top back in jounce: anti-dive grows",
        grown(CAMBER, CORNER | SWEEP | braking, tilted | SWEEP | braking, "anti_dive_percent"),
    )


def test_roll_steer() -> None:
    # In a left turn the body rolls to the right: the right wheel, outer, rises. As a left wheel's
    # mirror it steers by minus a left wheel's.
    outer = -(Wheel.at(CORNER, 30.0).steer - Wheel.at(CORNER).steer)
    told("the outer front wheel toes out in jounce: it steers right, out of the turn", outer < 0.0)
    front = values(ROLL_STEER, CORNER | SWEEP)
    told("toe gradient negative", front["toe_gradient"] < 0.0)
    told("more roll opens the turn: roll steer positive, understeer", front["roll_steer"] > 0.0)
    rear = values(ROLL_STEER, CORNER | SWEEP | {"axle": "rear"})
    told("at the rear the same toe-out closes the turn: negative", rear["roll_steer"] < 0.0)


def test_forces() -> None:
    row = ONE_PIECE_ROW | {"unsprung_mass": 0.0}
    cornering = values(JOINT_FORCES, row, load_cases=[CORNERING])
    told("the left wheel is the outer one of a right turn: fy < 0", float(CORNERING[3]) < 0.0)
    told(
        "its lateral force turns the knuckle's top outward: the moment about X is negative",
        cornering["moment_at_lower_joint"] < 0.0,
    )
    told("and the upper links pull: tension positive", cornering["worst_link_force"] > 0.0)
    standing = values(JOINT_FORCES, row, load_cases=[STATIC])
    told("a standing wheel compresses its spring: positive", standing["spring_force"] > 0.0)
