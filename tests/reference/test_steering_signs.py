"""Signs of steering against ISO 8855:2011, 7.1.6 and 7.1.8 (excerpt read).

A left turn is positive. With the toe-in of a left wheel positive, its toe is minus its steer angle.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.mechanics.samples import ONE_PIECE, corner_of
from tracker.contract.kit import Row, Subject
from whybone_chassis.mechanics.assembly import assemble
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.steering_sense import CHECK

AHEAD: dict[str, Any] = {
    **ONE_PIECE,
    "tie_rod_inner": (165.0, 387.0, 258.0),
    "tie_rod_outer": (140.0, 705.0, 250.0),
}


def steering_row(points: dict[str, Any], made_for: str = "ahead") -> Row:
    """Return a gear made for one side of the axle, as built, on the given corner."""
    return {
        "input_shaft_direction": (0.9, 0.1, -0.35),
        "rack_from_pinion": (0.0, 0.0, 1.0 if made_for == "ahead" else -1.0),
        "gear_pinion_side": "left",
        "driver_side": "left",
        "tie_rod_inner": points["tie_rod_inner"],
        "tie_rod_outer": points["tie_rod_outer"],
        "axis_upper": points["upper_outer"],
        "axis_lower": points["lower_front_outer"],
    }


def found(row: Row) -> dict[str, Any]:
    subject = Subject(check=CHECK, rows=[row])
    return dict(CHECK.compute(subject.batch([row]), {}).values)


def solved_steer(points: dict[str, Any], rack: float) -> float:
    """Steer angle of the left wheel in degrees from the closed linkage, rack left positive."""
    linkage = assemble(corner_of(points))
    racks = np.array([0.0, rack])
    toe = pose_at_travel(linkage, np.zeros(2), racks).toe
    return -float(toe[1] - toe[0])


@pytest.mark.parametrize("points", [AHEAD, ONE_PIECE], ids=["ahead", "behind"])
def test_wheel_gain_has_the_sign_and_size_of_the_closed_linkage(points: dict[str, Any]) -> None:
    step = 0.01
    derivative = (solved_steer(points, step) - solved_steer(points, -step)) / (2 * step)
    gain = found(steering_row(points))["wheel_gain"][0]
    assert np.sign(gain) == np.sign(derivative)
    assert gain == pytest.approx(derivative, rel=0.01)  # the formula leaves camber and lift out


def test_rack_ahead_of_the_axis_moving_left_turns_left_and_behind_it_right() -> None:
    assert found(steering_row(AHEAD))["wheel_gain"][0] > 0
    assert found(steering_row(ONE_PIECE))["wheel_gain"][0] < 0
    # A left turn is positive; the front of the left wheel then moves outward: toe-out, negative.
    assert solved_steer(AHEAD, 5.0) > 0
    assert solved_steer(ONE_PIECE, 5.0) < 0


@pytest.mark.parametrize(
    ("points", "made_for", "sense"),
    [
        (AHEAD, "ahead", 1),
        (AHEAD, "behind", -1),
        (ONE_PIECE, "ahead", -1),
        (ONE_PIECE, "behind", 1),
    ],
)
def test_sense_is_that_of_the_closed_linkage(
    points: dict[str, Any], made_for: str, sense: int
) -> None:
    values = found(steering_row(points, made_for))
    steer = solved_steer(points, 5.0 * values["rack_direction"][0])
    assert values["sense"][0] == np.sign(steer) == sense
