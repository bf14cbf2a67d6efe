"""The numbers behind the steering ratio, batched over geometries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers
from whybone_chassis.corner_ports_linkage import (
    blocks,
    linkage_of,
    poses,
    refuse_axes,
    refuse_unclosed,
    steering_axis,
)
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, cross, dot, norm, scale
from whybone_chassis.mechanics.velocity import Hold, per_rack, wheel_rates

__all__ = ["ideal_outer", "solve", "steer_rate", "toggle_angle"]

_TURN = 360.0
_SQUARE = 90.0
_METRE = 1e3

_RATIOS = ("ratio_on_centre", "ratio_at_lock", "ratio_mean")
_CIRCLES = ("turning_circle", "turning_circle_walls")
_AXIS = ("axis_distance", "ackermann_percent", "toggle_margin")
_LOCKS = ("inner_angle", "outer_angle", "ratio_at_lock", "ratio_mean", "toggle_margin", *_CIRCLES)


def steer_rate(pose: Pose) -> FloatArray:
    """Steer (n,) of the left wheel per rack travel, deg/mm, wheel-centre height held."""
    return -wheel_rates(pose, per_rack(pose, Hold.HEIGHT)).toe


def toggle_angle(pose: Pose, axis: axes.Axis) -> FloatArray:
    """Angle (n,) in deg between arm and tie rod, or its supplement, seen along the axis."""
    outer = pose.tie_rod_outer
    arm = _across(outer - axis.point, axis.direction)
    rod = _across(outer - pose.tie_rod_inner, axis.direction)
    return np.degrees(np.arctan2(norm(cross(arm, rod)), np.abs(dot(arm, rod))))


def _across(vector: FloatArray, direction: FloatArray) -> FloatArray:
    return vector - scale(dot(vector, direction), direction)


def ideal_outer(inner: FloatArray, axis_distance: FloatArray, wheelbase: FloatArray) -> FloatArray:
    """Outer angle (n,) that rolls without slip at an inner angle, both in deg.

    Parameters
    ----------
    inner : ndarray, shape (n,)
        Inner angle, deg.
    axis_distance, wheelbase : ndarray, shape (n,)
        Distance between the steering axes at the ground and wheelbase, mm.
    """
    return np.degrees(np.arctan2(1.0, _cot(inner) + axis_distance / wheelbase))


def _cot(angle: FloatArray) -> FloatArray:
    return 1.0 / np.tan(np.radians(angle))


@dataclass(frozen=True, slots=True)
class _Locks:
    """Steer at the ends of the rack travel, whichever end is which; deg, shape (n,)."""

    inner: FloatArray
    outer: FloatArray

    @classmethod
    def of(cls, right_end: FloatArray, left_end: FloatArray) -> Self:
        """Take the left wheel's steer with the rack at its right and at its left end."""
        return cls(np.maximum(right_end, left_end), -np.minimum(right_end, left_end))

    @property
    def mean(self) -> FloatArray:
        """Mean steer of the two wheels."""
        return 0.5 * (self.inner + self.outer)

    @property
    def usable(self) -> BoolArray:
        """Whether the wheel turns to both sides and less than a right angle."""
        return (
            (self.inner > 0.0)
            & (self.outer > 0.0)
            & (self.inner < _SQUARE)
            & (self.outer < _SQUARE)
        )


def solve(inputs: Inputs) -> Outputs:
    """Work out ratios, lock angles and circles of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ratio-band`; points (n, 3), numbers (n,).

    Returns
    -------
    Outputs
        One value per row and port; rows that cannot close carry the reason.
    """
    answers = Answers(inputs)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        travel, trim = inputs["rack_travel"], inputs["trim"]
        linkage = linkage_of(inputs)
        pose = poses(linkage, [trim] * 3, [-travel, np.zeros(answers.rows), travel])
        _examine(inputs, answers)
        _explain(pose, answers)
        refuse_axes(answers, linkage, *_AXIS)
        _answer(inputs, pose, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    """Name numbers out of range."""
    concerned = {
        "c_factor": (*_RATIOS, "turns_lock_to_lock"),
        "rack_travel": ("turns_lock_to_lock", "ackermann_percent", *_LOCKS),
        "wheelbase": ("ackermann_percent", *_CIRCLES),
        "wheel_track": _CIRCLES[:1],
    }
    for port, ports in concerned.items():
        answers.refuse(~(inputs[port] > 0.0), f"{port} must be positive", *ports)


def _explain(pose: Pose, answers: Answers) -> None:
    """Say which end of the rack travel cannot be reached and why."""
    right, centre, left = pose.status.reshape(3, answers.rows)
    refuse_unclosed(answers, centre, "rack at centre", *_RATIOS[:1], *_AXIS, *_LOCKS)
    for status, end in ((right, "right"), (left, "left")):
        refuse_unclosed(answers, status, f"rack at its {end} end", "ackermann_percent", *_LOCKS)


def _answer(inputs: Inputs, pose: Pose, answers: Answers) -> None:
    steer = -blocks(pose.toe, answers.rows)
    locks = _Locks.of(steer[0], steer[2])
    answers.refuse(
        ~locks.usable & np.isfinite(locks.mean),
        "the rack does not turn the wheel to both sides by less than 90°",
        "ackermann_percent",
        *_RATIOS[1:],
        *_CIRCLES,
    )
    answers.give(
        turns_lock_to_lock=2.0 * inputs["rack_travel"] / inputs["c_factor"],
        inner_angle=locks.inner,
        outer_angle=locks.outer,
    )
    _ratios(inputs, pose, locks, answers)
    _geometry(inputs, pose, locks, answers)
    _circles(inputs, locks, answers)


def _ratios(inputs: Inputs, pose: Pose, locks: _Locks, answers: Answers) -> None:
    """Give local and mean ratios: the right wheel at +s turns like the left one at −s."""
    right, centre, left = blocks(steer_rate(pose), answers.rows)
    at_lock = 0.5 * (right + left)
    answers.refuse(centre == 0.0, "the wheel does not turn with the rack", _RATIOS[0])
    answers.refuse(at_lock == 0.0, "the wheels do not turn with the rack", _RATIOS[1])
    per_mm = _TURN / inputs["c_factor"]
    answers.give(
        ratio_on_centre=per_mm / np.abs(centre),
        ratio_at_lock=per_mm / np.abs(at_lock),
        ratio_mean=per_mm * inputs["rack_travel"] / locks.mean,
    )


def _geometry(inputs: Inputs, pose: Pose, locks: _Locks, answers: Answers) -> None:
    """Give what depends on the steering axis."""
    axis = steering_axis(pose)
    distance = blocks(axes.distance_at_ground(axis, pose), answers.rows)[1]
    toggle = blocks(toggle_angle(pose, axis), answers.rows)
    ideal = ideal_outer(locks.inner, distance, inputs["wheelbase"])
    answers.give(
        axis_distance=distance,
        ackermann_percent=100.0 * (locks.inner - locks.outer) / (locks.inner - ideal),
        toggle_margin=np.minimum(toggle[0], toggle[2]),
    )


def _circles(inputs: Inputs, locks: _Locks, answers: Answers) -> None:
    """Give diameters in m about a centre on the rear axle's line."""
    base = inputs["wheelbase"]
    radius = base * 0.5 * (_cot(locks.inner) + _cot(locks.outer))
    reach = radius + 0.5 * inputs["wheel_track"]
    answers.give(turning_circle=2.0 * np.sqrt(base * base + reach * reach) / _METRE)
    if "front_corner" not in inputs:
        answers.give(turning_circle_walls=np.zeros(1))
        answers.leave_out("turning_circle_walls", where=True, reason="no front corner is given")
        return
    corner, centre = inputs["front_corner"], inputs["wheel_centre"]
    ahead = corner[:, 0] - centre[:, 0] + base
    aside = radius + np.abs(corner[:, 1])
    answers.give(turning_circle_walls=2.0 * np.sqrt(ahead * ahead + aside * aside) / _METRE)
