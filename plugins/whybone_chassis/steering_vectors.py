"""The vectors behind the steering sense: gear, mounting, tie rod."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Flags, Reals
from whybone_chassis.mechanics.vectors import cross, dot, norm, unit

__all__ = ["MOUNTINGS", "SIDES", "solve"]

SIDES = ("left", "right")

MOUNTINGS: Mapping[str, tuple[float, float, float]] = {
    "as-built": (1.0, 1.0, 1.0),
    "turned-over": (1.0, -1.0, -1.0),
    "tipped-over": (-1.0, 1.0, -1.0),
    "end-for-end": (-1.0, -1.0, 1.0),
}
"""Mounting → diagonal of its rotation matrix: half turns about X, Y and Z."""

_LATERAL = 0.5  # cosine of 60°: a rack further off Y is no rack of this vehicle
_NEGLIGIBLE = 1e-9  # relative: far above rounding (1e-15), far below anything built
_GEAR = ("sense", "rack_direction", "shaft_faces_rear", "shaft_elevation")
_SIDE = ("pinion_side", "pinion_on_driver_side")
_GAIN = ("sense", "wheel_gain")


def solve(inputs: Inputs) -> Outputs:
    """Work out sense, directions and gain of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-sense`; vectors (n, 3), codes (n,).

    Returns
    -------
    Outputs
        One value per row and output port; rows whose vectors vanish or are not numbers carry a
        problem.
    """
    answers = Answers(inputs)
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        rack = _gear(inputs, answers)
        gain = _linkage(inputs, answers)
        turn = np.sign(np.nan_to_num(gain)).astype(np.int64)
        answers.give(rack_direction=rack, wheel_gain=gain, sense=rack * turn)
        _sides(inputs, answers)
    return answers.outputs()


def _gear(inputs: Inputs, answers: Answers) -> NDArray[np.int64]:
    """Mount the gear; return the rack's direction in a left turn, shape (n,)."""
    shaft = unit(_mounted(inputs, inputs["input_shaft_direction"]))
    teeth = _mounted(inputs, inputs["rack_from_pinion"])
    moved = cross(-shaft, unit(teeth))  # a left turn is the rotation −s; the teeth go with ω × c
    speed = norm(moved)
    blind = ~_finite(shaft)
    answers.refuse(blind, "the input shaft direction or the mounting is no direction", *_GEAR)
    lost = ~blind & ~(speed > _NEGLIGIBLE)
    answers.refuse(
        lost,
        "the direction from pinion to rack vanishes, is no direction or lies along the shaft",
        "sense",
        "rack_direction",
    )
    answers.give(
        shaft_faces_rear=shaft[:, 0] > _NEGLIGIBLE,
        shaft_elevation=np.degrees(np.arcsin(np.clip(-shaft[:, 2], -1.0, 1.0))),
    )
    lateral = moved[:, 1] / speed
    known = ~(blind | lost) & (np.abs(lateral) >= _LATERAL)
    return np.where(known, np.sign(lateral), 0.0).astype(np.int64)


def _linkage(inputs: Inputs, answers: Answers) -> Reals:
    """Return steer per rack travel, deg/mm, shape (n,); NaN where there is none."""
    lower, outer = inputs["axis_lower"], inputs["tie_rod_outer"]
    axis = inputs["axis_upper"] - lower
    axis = unit(np.where(axis[:, 2:] < 0.0, -axis, axis))  # k points up, whichever point is higher
    rod = unit(outer - inputs["tie_rod_inner"])
    arm = outer - lower
    swing = dot(rod, cross(axis, arm))
    gain = np.degrees(axis[:, 2] * rod[:, 1] / swing)
    lacking = ~(_finite(axis) & _finite(rod))
    answers.refuse(lacking, "two points of the steering axis or of the tie rod coincide", *_GAIN)
    dead = ~lacking & ~(np.abs(swing) > _NEGLIGIBLE * norm(arm))
    answers.refuse(
        dead, "the tie rod points at the steering axis: it cannot turn the wheel", "wheel_gain"
    )
    return np.where(lacking | dead, np.nan, gain)


def _sides(inputs: Inputs, answers: Answers) -> None:
    """Follow the pinion to the side it ends up on."""
    right_before = inputs["gear_pinion_side"] == SIDES.index("right")
    offset = np.zeros((len(right_before), 3))
    offset[:, 1] = np.where(right_before, -1.0, 1.0)
    across = _mounted(inputs, offset)[:, 1]
    answers.refuse(
        ~(np.abs(across) >= _LATERAL),
        "the mounting turns the gear out of the vehicle's Y axis: its pinion is on neither side",
        *_SIDE,
    )
    side = np.where(across < 0.0, SIDES.index("right"), SIDES.index("left")).astype(np.int64)
    answers.give(pinion_side=side, pinion_on_driver_side=side == inputs["driver_side"])


def _mounted(inputs: Inputs, vector: Reals) -> Reals:
    """Turn a vector (n, 3) from the donor vehicle's axes into this vehicle's."""
    if "mounting_rotation" in inputs:
        return _turned(vector, np.radians(inputs["mounting_rotation"]))
    diagonals = np.array(list(MOUNTINGS.values()))
    mounted: Reals = diagonals[inputs["mounting"]] * vector
    return mounted


def _finite(vector: Reals) -> Flags:
    """Tell which rows are all numbers, shape (n,)."""
    good: Flags = np.isfinite(vector[:, 0] + vector[:, 1] + vector[:, 2])
    return good


def _turned(vector: Reals, rotation: Reals) -> Reals:
    """Rotate by a rotation vector in rad (Rodrigues' formula)."""
    angle = norm(rotation)
    about = rotation / np.where(angle > 0.0, angle, 1.0)[:, None]
    cosine, sine = np.cos(angle)[:, None], np.sin(angle)[:, None]
    along = dot(about, vector)[:, None]
    turned: Reals = vector * cosine + cross(about, vector) * sine + about * along * (1.0 - cosine)
    return turned
