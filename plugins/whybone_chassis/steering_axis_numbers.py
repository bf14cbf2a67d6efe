"""The steering axis and its offsets, batched over geometries."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers
from whybone_chassis.corner_ports_linkage import (
    linkage_of,
    lower_height,
    refuse_axes,
    refuse_unclosed,
    steering_axis,
)
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.linkage import Pose, pose_at_travel

__all__ = ["solve"]

_SCREW = (
    "inclination",
    "caster",
    "scrub_radius",
    "trail",
    "offset_at_wheel_centre",
    "virtual_lower",
    "screw_pitch",
    "axis_to_crossing",
)
_CLASSIC = (
    "crossing",
    "axis_to_crossing",
    "classic_inclination",
    "classic_caster",
    "classic_scrub_radius",
    "classic_trail",
)
_PARALLEL = "seen from above the lower links are parallel: they cross nowhere"


def solve(inputs: Inputs) -> Outputs:
    """Find the axes of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-axis`; points (n, 3), numbers (n,).

    Returns
    -------
    Outputs
        One value per row and port; rows that cannot close carry the reason.
    """
    answers = Answers(inputs)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        pose = pose_at_travel(linkage_of(inputs), inputs["trim"], inputs["rack"])
        refuse_unclosed(answers, pose.status, "at this trim and rack position")
        refuse_axes(answers, pose.linkage, *_SCREW)
        screw = steering_axis(pose)
        _screw(pose, screw, answers)
        _classic(pose, screw, answers)
    return answers.outputs()


def _screw(pose: Pose, axis: axes.Axis, answers: Answers) -> None:
    answers.give(
        inclination=axis.inclination,
        caster=axis.caster,
        scrub_radius=axes.scrub_radius(axis, pose),
        trail=axes.trail(axis, pose),
        offset_at_wheel_centre=axes.offset_at_wheel_centre(axis, pose),
        virtual_lower=axis.at_height(lower_height(pose)),
        screw_pitch=axis.pitch,
    )


def _classic(pose: Pose, screw: axes.Axis, answers: Answers) -> None:
    """Give the line from the lower links' crossing to the upper joint."""
    crossing, line = axes.crossing(pose), axes.classic_axis(pose)
    nowhere = ~np.isfinite(crossing).all(axis=1) & np.isfinite(pose.rotation[:, 0, 0])
    for port in _CLASSIC:
        answers.leave_out(port, nowhere, _PARALLEL)
    answers.give(
        crossing=crossing,
        axis_to_crossing=axes.distance(screw, crossing),
        classic_inclination=line.inclination,
        classic_caster=line.caster,
        classic_scrub_radius=axes.scrub_radius(line, pose),
        classic_trail=axes.trail(line, pose),
    )
