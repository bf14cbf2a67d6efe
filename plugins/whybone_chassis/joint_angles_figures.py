"""Figures of the joint angles: over travel, and the column's ripple."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind
from whybone_chassis.corner_ports_figures import curve, first_row, travel_sweep
from whybone_chassis.joint_angles_column import column_of
from whybone_chassis.joint_angles_numbers import column_inputs, driveshaft_outer, solve, studs_of
from whybone_chassis.joint_angles_tilt import angle_between, tilts
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import FloatArray, norm

__all__ = ["figures"]

_TRAVEL = Axis("Wheel travel from design, up positive", "mm", "trim")
_STEP = 5.0  # deg of the steering wheel from one point of the ripple to the next


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `joint-angles`.
    """
    first = first_row(inputs)
    drawn: list[Figure] = []
    with np.errstate(all="ignore"):  # what does not close is left out of the curves
        travel, pose = travel_sweep(first)
        drawn.append(_balls(first, travel, pose))
        if "driveshaft_inner" in first:
            drawn.extend(_driveshaft(first, travel, pose))
        if np.isfinite(solve(first).values["speed_ripple"][0]):
            drawn.append(_ripple(first))
    return tuple(drawn)


def _balls(inputs: dict[str, Any], travel: FloatArray, pose: Pose) -> Figure:
    studs = {name: np.tile(stud, (len(travel), 1)) for name, stud in studs_of(inputs).items()}
    found = tilts(pose, studs)
    return Figure(
        key="angles-over-travel",
        title="Joint angles over wheel travel, rack at centre",
        kind=FigureKind.CURVE,
        series=(
            curve("Upper joint", travel, found.upper),
            curve("Lower joint", travel, found.lower),
            curve("Tie rod, outer joint", travel, found.tie_rod_outer),
            curve("Tie rod, inner joint", travel, found.tie_rod_inner),
        ),
        across=_TRAVEL,
        up=Axis("Angle", "deg"),
    )


def _driveshaft(inputs: dict[str, Any], travel: FloatArray, pose: Pose) -> tuple[Figure, Figure]:
    shaft = driveshaft_outer(inputs, pose) - inputs["driveshaft_inner"]
    across = np.broadcast_to(np.array([0.0, 1.0, 0.0]), shaft.shape)
    length = norm(shaft)
    return (
        Figure(
            key="driveshaft-angles",
            title="Driveshaft angles over wheel travel, rack at centre",
            kind=FigureKind.CURVE,
            series=(
                curve("Inner joint", travel, angle_between(shaft, across)),
                curve("Outer joint", travel, angle_between(shaft, pose.spin_axis)),
            ),
            across=_TRAVEL,
            up=Axis("Angle", "deg"),
        ),
        Figure(
            key="driveshaft-length",
            title="Length of the driveshaft over wheel travel, rack at centre",
            kind=FigureKind.CURVE,
            series=(curve("Inner to outer joint", travel, length),),
            across=_TRAVEL,
            up=Axis("Length", "mm"),
        ),
    )


def _ripple(inputs: dict[str, Any]) -> Figure:
    column = column_of(*column_inputs(inputs))
    angle = np.arange(0.0, 360.0 + _STEP, _STEP)
    return Figure(
        key="speed-ratio",
        title="Input-shaft speed ÷ column speed over one turn of the steering wheel",
        kind=FigureKind.CURVE,
        series=(
            curve("At the given yoke phase", angle, column.ratio(inputs["yoke_phase"], angle)),
            curve("At the best yoke phase", angle, column.ratio(column.best_phase, angle)),
        ),
        across=Axis("Column, from the plane's normal at its joint", "deg"),
        up=Axis("Speed ratio"),
    )
