"""The steering sense agrees with the linkage's on the same geometry, in every combination.

The linkage moves its rack the way the mounted gear does in a left turn and tells by its closed
poses which way the wheel turns; on one-piece and on split lower arms.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.plugins.corner_rows import FORE_ROW, ONE_PIECE_ROW, SPLIT_FORE_ROW, SPLIT_ROW, values
from tests.plugins.mechanics.samples import corner_of
from whybone_chassis.mechanics.assembly import assemble
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.steering_sense import CHECK

CORNERS = {
    ("fore", "one-piece"): FORE_ROW,
    ("aft", "one-piece"): ONE_PIECE_ROW,
    ("fore", "split"): SPLIT_FORE_ROW,
    ("aft", "split"): SPLIT_ROW,
}
MOUNTINGS = {
    "as-built": (0.0, 0.0, 0.0),
    "turned-over": (180.0, 0.0, 0.0),
    "tipped-over": (0.0, 180.0, 0.0),
    "end-for-end": (0.0, 0.0, 180.0),
}
COMBINATIONS = list(product(("fore", "aft"), ("left", "right"), MOUNTINGS, ("one-piece", "split")))


def gear(made_for: str, side: str) -> dict[str, Any]:
    """Return a gear of an invented vehicle; the right-hand one is its mirror image."""
    hand = 1.0 if side == "left" else -1.0
    return {
        "input_shaft_direction": (0.9, hand * 0.12, -0.34),
        "rack_from_pinion": (0.15, hand * 0.05, 1.0 if made_for == "fore" else -1.0),
        "gear_pinion_side": side,
        "driver_side": "left",
    }


def sense_of(corner: dict[str, Any], mounted: dict[str, Any]) -> dict[str, Any]:
    lower = np.add(corner["lower_front_outer"], corner["lower_rear_outer"]) / 2.0
    points = {key: corner[key] for key in ("tie_rod_inner", "tie_rod_outer")}
    axis = {"axis_upper": corner["upper_outer"], "axis_lower": tuple(lower.tolist())}
    return values(CHECK, mounted | points | axis)


def rack_step(mounted: dict[str, Any]) -> float:
    """Lateral movement of the rack's teeth as the pinion is turned left by a small angle."""
    turn = Rotation.from_rotvec(MOUNTINGS[mounted["mounting"]], degrees=True)
    shaft = turn.apply(mounted["input_shaft_direction"])
    teeth = 8.0 * turn.apply(mounted["rack_from_pinion"])
    pinion = Rotation.from_rotvec(-1e-3 * shaft / np.linalg.norm(shaft))
    return float((pinion.apply(teeth) - teeth)[1])


def steer_after(corner: dict[str, Any], rack: float) -> float:
    """Steer of the left wheel, left positive, as the closed linkage has it."""
    linkage = assemble(corner_of(corner))
    toe = pose_at_travel(linkage, np.zeros(2), np.array([0.0, rack])).toe
    return -float(toe[1] - toe[0])


@pytest.mark.parametrize(("place", "side", "mounting", "arm"), COMBINATIONS)
@pytest.mark.parametrize("made_for", ["fore", "aft"])
def test_sense_is_the_linkages(
    made_for: str, place: str, side: str, mounting: str, arm: str
) -> None:
    corner = CORNERS[place, arm]
    mounted = gear(made_for, side) | {"mounting": mounting}
    found = sense_of(corner, mounted)
    rack = float(np.sign(rack_step(mounted)))
    assert found["rack_direction"] == rack
    # A left turn of the steering wheel steers the wheel left: +1; right: −1. At every stroke.
    for stroke in (0.1, 10.0, 45.0):
        assert found["sense"] == np.sign(steer_after(corner, stroke * rack))


@pytest.mark.parametrize("place", ["fore", "aft"])
def test_wheel_gain_of_a_one_piece_arm_is_the_linkages(place: str) -> None:
    """Exact in sign; in size but for camber and lift, which the formula leaves out."""
    corner = CORNERS[place, "one-piece"]
    step = 0.01
    gain = (steer_after(corner, step) - steer_after(corner, -step)) / (2.0 * step)
    found = sense_of(corner, gear("fore", "left") | {"mounting": "as-built"})["wheel_gain"]
    print(f"{place}: formula {found:.5f}, linkage {gain:.5f} deg/mm, off {found / gain - 1.0:+.2%}")
    assert np.sign(found) == np.sign(gain)
    assert found == pytest.approx(gain, rel=0.01)


def test_ahead_and_behind_need_gears_of_opposite_sense() -> None:
    for side, mounting, arm in product(("left", "right"), MOUNTINGS, ("one-piece", "split")):
        mounted = gear("fore", side) | {"mounting": mounting}
        ahead, behind = (sense_of(CORNERS[at, arm], mounted)["sense"] for at in ("fore", "aft"))
        assert ahead == -behind != 0
