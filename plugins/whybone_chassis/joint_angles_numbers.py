"""Largest joint angles over travel and lock, batched over geometries."""

from __future__ import annotations

from itertools import product

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers
from whybone_chassis.corner_ports_linkage import blocks, linkage_of, poses, refuse_unclosed
from whybone_chassis.joint_angles_column import column_of
from whybone_chassis.joint_angles_tilt import angle_between, tilts
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import FloatArray, norm, rotate

__all__ = ["column_inputs", "driveshaft_outer", "solve", "studs_of"]

_POSITIONS = tuple(product((-1.0, 0.0, 1.0), repeat=2))  # shares of travel and of rack travel
_SQUARE = 90.0

_BALLS = ("upper_joint_angle", "lower_joint_angle", "tie_rod_outer_angle", "tie_rod_inner_angle")
_SHAFT = ("driveshaft_inner_angle", "driveshaft_outer_angle", "driveshaft_plunge")
_STUDS = {
    "upper": ("upper_stud", "upper_joint_angle"),
    "lower": ("lower_stud", "lower_joint_angle"),
    "tie_rod": ("tie_rod_stud", "tie_rod_outer_angle"),
}
_COLUMN_PORTS = ("column_direction", "column_joint", "pinion_joint", "pinion_direction")
_COLUMN = ("column_joint_angle", "pinion_joint_angle", "speed_ripple", "best_yoke_phase")


def solve(inputs: Inputs) -> Outputs:
    """Look for the largest angles of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `joint-angles`; points (n, 3), numbers (n,).

    Returns
    -------
    Outputs
        One value per row and port; rows that cannot close somewhere carry the reason and place.
    """
    answers = Answers(inputs)
    for port in ("travel", "rack_travel"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative", *_BALLS, *_SHAFT)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        pose = poses(
            linkage_of(inputs),
            [inputs["trim"] + up * inputs["travel"] for up, _ in _POSITIONS],
            [aside * inputs["rack_travel"] for _, aside in _POSITIONS],
        )
        _explain(pose, answers)
        _balls(inputs, pose, answers)
        _driveshaft(inputs, pose, answers)
        _column(inputs, answers)
    return answers.outputs()


def _explain(pose: Pose, answers: Answers) -> None:
    heights = {-1.0: "droop", 0.0: "trim", 1.0: "bump"}
    sides = {-1.0: "rack at its right end", 0.0: "rack at centre", 1.0: "rack at its left end"}
    for (up, aside), status in zip(_POSITIONS, blocks(pose.status, answers.rows), strict=True):
        refuse_unclosed(answers, status, f"{heights[up]}, {sides[aside]}", *_BALLS, *_SHAFT)


def studs_of(inputs: Inputs) -> dict[str, FloatArray]:
    """Return the studs' directions (n, 3) at design."""
    lower = 0.5 * (inputs["lower_front_outer"] + inputs["lower_rear_outer"])
    line = inputs["upper_outer"] - lower
    return {name: inputs.get(port, line) for name, (port, _) in _STUDS.items()}


def _largest(values: FloatArray, answers: Answers) -> FloatArray:
    largest: FloatArray = np.max(blocks(values, answers.rows), axis=0)
    return largest


def _balls(inputs: Inputs, pose: Pose, answers: Answers) -> None:
    studs = studs_of(inputs)
    for name, (port, output) in _STUDS.items():
        answers.refuse(~(norm(studs[name]) > 0.0), f"{port} is no direction", output)
    at_pose = {name: np.tile(stud, (len(_POSITIONS), 1)) for name, stud in studs.items()}
    found = tilts(pose, at_pose)
    answers.give(
        upper_joint_angle=_largest(found.upper, answers),
        lower_joint_angle=_largest(found.lower, answers),
        tie_rod_outer_angle=_largest(found.tie_rod_outer, answers),
        tie_rod_inner_angle=_largest(found.tie_rod_inner, answers),
    )


def driveshaft_outer(inputs: Inputs, pose: Pose) -> FloatArray:
    """Centre (k, 3) of the driveshaft's outer joint in poses of whole batches."""
    if "driveshaft_outer" not in inputs:
        return pose.wheel_centre
    arm = inputs["driveshaft_outer"] - inputs["wheel_centre"]
    times = len(pose.rack) // len(arm)
    moved: FloatArray = pose.wheel_centre + rotate(pose.rotation, np.tile(arm, (times, 1)))
    return moved


def _driveshaft(inputs: Inputs, pose: Pose, answers: Answers) -> None:
    if "driveshaft_inner" not in inputs:
        for port in _SHAFT:
            answers.leave_out(port, where=True, reason="no driveshaft_inner is given")
        answers.give(**dict.fromkeys(_SHAFT, np.zeros(1)))
        return
    outer = driveshaft_outer(inputs, pose)
    shaft = outer - np.tile(inputs["driveshaft_inner"], (len(_POSITIONS), 1))
    length = blocks(norm(shaft), answers.rows)
    answers.refuse(
        ~(np.min(length, axis=0) > 0.0) & np.isfinite(length).all(axis=0),
        "the driveshaft's joints coincide",
        *_SHAFT,
    )
    across = np.broadcast_to(np.array([0.0, 1.0, 0.0]), shaft.shape)
    answers.give(
        driveshaft_inner_angle=_largest(angle_between(shaft, across), answers),
        driveshaft_outer_angle=_largest(angle_between(shaft, pose.spin_axis), answers),
        driveshaft_plunge=np.max(length, axis=0) - np.min(length, axis=0),
    )


def column_inputs(inputs: Inputs) -> tuple[FloatArray, ...]:
    """Return the directions and points of the column, in the order `column_of` takes them."""
    return tuple(inputs[port] for port in _COLUMN_PORTS)


def _column(inputs: Inputs, answers: Answers) -> None:
    lacking = [port for port in _COLUMN_PORTS if port not in inputs]
    if lacking:
        for port in _COLUMN:
            answers.leave_out(port, where=True, reason=f"not given: {', '.join(lacking)}")
        answers.give(**dict.fromkeys(_COLUMN, np.zeros(1)))
        return
    found = column_of(*column_inputs(inputs))
    measured = np.isfinite(found.upper + found.lower)
    answers.refuse(
        ~measured, "column, intermediate shaft or input shaft has no direction", *_COLUMN
    )
    answers.refuse(
        measured & ~((found.upper < _SQUARE) & (found.lower < _SQUARE)),
        "a cross joint bends by 90° or more",
        "speed_ripple",
        "best_yoke_phase",
    )
    answers.leave_out(
        "best_yoke_phase",
        measured & ~found.planar,
        "one of the joints is straight: the phase makes no difference",
    )
    answers.give(
        column_joint_angle=found.upper,
        pinion_joint_angle=found.lower,
        speed_ripple=100.0 * found.ripple(inputs["yoke_phase"]),
        best_yoke_phase=found.best_phase,
    )
