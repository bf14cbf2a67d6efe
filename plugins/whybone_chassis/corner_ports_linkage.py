"""From the ports of a front corner to its linkage, its poses and its steering axis."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Inputs
from whybone_chassis.answers import Answers
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.corner import Corner, Spring
from whybone_chassis.mechanics.linkage import Pose, pose_at_travel
from whybone_chassis.mechanics.status import REASONS, Status
from whybone_chassis.mechanics.vectors import FloatArray, IntArray

__all__ = [
    "blocks",
    "linkage_of",
    "lower_height",
    "poses",
    "refuse_axes",
    "refuse_unclosed",
    "steering_axis",
]

T = TypeVar("T", np.float64, np.int64, np.bool_)

_NO_SPRING = (
    "the steering axis of a split lower arm is the knuckle's screw axis with the spring held: give "
    "spring_lower and spring_upper"
)


def linkage_of(inputs: Inputs) -> Linkage:
    """Assemble the corners of a batch, with their springs where both seats are given."""
    corner = Corner(**{name: inputs[name] for name in Corner.__dataclass_fields__})
    if "spring_lower" not in inputs or "spring_upper" not in inputs:
        return assemble(corner)
    spring = Spring(inputs["spring_lower"], inputs["spring_upper"], inputs["spring_on"])
    return assemble(corner, spring)


def poses(linkage: Linkage, travels: Sequence[FloatArray], racks: Sequence[FloatArray]) -> Pose:
    """Pose every corner at several positions at once.

    Parameters
    ----------
    linkage : Linkage
        n rows.
    travels, racks : sequence of ndarray, shape (n,)
        Wheel and rack travel of each position, mm.

    Returns
    -------
    Pose
        One block of n rows per position, in their order; see `blocks`.
    """
    index = np.tile(np.arange(linkage.rows), len(travels))
    return pose_at_travel(linkage.take(index), np.concatenate(travels), np.concatenate(racks))


def blocks(values: NDArray[T], rows: int) -> NDArray[T]:
    """Split what belongs to the poses of `poses` by position: shape (positions, rows, …)."""
    return values.reshape(-1, rows, *values.shape[1:])


def steering_axis(pose: Pose) -> axes.Axis:
    """Steering axis of each row.

    The line of the two joints for a one-piece lower arm; for a split one the knuckle's screw axis
    for a small rack movement with the spring's length held, NaN where the spring is not given.
    """
    line = axes.classic_axis(pose)
    if pose.linkage.spring is None:
        nowhere = np.full_like(line.point, np.nan)
        screw = axes.Axis(nowhere, nowhere, nowhere[:, 0])
    else:
        screw = axes.steering_axis(pose)
    one = pose.linkage.corner.one_piece
    return axes.Axis(
        point=np.where(one[:, None], line.point, screw.point),
        direction=np.where(one[:, None], line.direction, screw.direction),
        pitch=np.where(one, line.pitch, screw.pitch),
    )


def lower_height(pose: Pose) -> FloatArray:
    """Mean height (n,) of the lower outer joints, mm: where the virtual lower joint is sought."""
    height: FloatArray = 0.5 * (pose.lower_front_outer[:, 2] + pose.lower_rear_outer[:, 2])
    return height


def refuse_axes(answers: Answers, linkage: Linkage, *ports: str) -> None:
    """Refuse rows whose steering axis needs a spring that is not given."""
    answers.refuse(~linkage.corner.one_piece & (linkage.spring is None), _NO_SPRING, *ports)


def refuse_unclosed(answers: Answers, status: IntArray, where: str, *ports: str) -> None:
    """Refuse rows whose linkage has no pose.

    Parameters
    ----------
    answers : Answers
        Where to say so.
    status : ndarray of int, shape (n,)
        `Status` codes.
    where : str
        Which pose, in words.
    *ports : str
        Outputs that need it; none means all.
    """
    for code in np.unique(status[status != Status.CLOSED]).tolist():
        answers.refuse(status == code, f"{where}: {REASONS[Status(code)]}", *ports)
