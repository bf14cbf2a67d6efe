"""Figures of the camber over travel: curves, and the corner from the front with its centres."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.camber_travel_numbers import solve
from whybone_chassis.corner_ports_figures import curve, first_row, outline, travel_sweep
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import FloatArray

__all__ = ["figures"]

_UP = Axis("Wheel travel from design, up positive", "mm", "trim")
_NEAR = 2.0  # instant centres beyond this many tracks would shrink the sketch to nothing


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `camber-travel`.
    """
    first = first_row(inputs)
    travel, pose = travel_sweep(first)
    found = {key: float(each[0]) for key, each in solve(first).values.items()}
    return (
        _camber(travel, pose, found, first),
        _track(travel, pose),
        _front_view(pose, first, found),
    )


def _camber(
    travel: FloatArray, pose: Pose, found: dict[str, float], inputs: dict[str, Any]
) -> Figure:
    tangent = found["camber_at_trim"] + found["camber_gradient"] * (travel - inputs["trim"])
    return Figure(
        key="camber-over-travel",
        title="Camber over wheel travel, top outward positive",
        kind=FigureKind.CURVE,
        series=(curve("Camber", pose.camber, travel), curve("Tangent at trim", tangent, travel)),
        across=Axis("Camber", "deg", "camber_at_trim"),
        up=_UP,
    )


def _track(travel: FloatArray, pose: Pose) -> Figure:
    aside = pose.contact_centre[:, 1]
    change = 2.0 * (aside - aside[len(aside) // 2])
    return Figure(
        key="track-over-travel",
        title="Change of track over wheel travel, wider positive",
        kind=FigureKind.CURVE,
        series=(curve("Track change", change, travel),),
        across=Axis("Track change", "mm"),
        up=_UP,
    )


def _front_view(pose: Pose, inputs: dict[str, Any], found: dict[str, float]) -> Figure:
    """Draw the left corner at trim from the front: outboard to the right of the page."""
    middle = len(pose.rack) // 2
    at = {name: getattr(pose, name)[middle, 1:] for name in _MOVING}
    upper = 0.5 * (inputs["upper_front_inner"][0, 1:] + inputs["upper_rear_inner"][0, 1:])
    lower = 0.5 * (inputs["lower_front_inner"][0, 1:] + inputs["lower_rear_inner"][0, 1:])
    joint = 0.5 * (at["lower_front_outer"] + at["lower_rear_outer"])
    contact = at["contact_centre"]
    return Figure(
        key="front-view",
        title="Left corner from the front at trim, with instant centre and roll centre",
        kind=FigureKind.SKETCH,
        series=(
            outline("Upper arm", [(upper, "upper inner"), (at["upper_outer"], "upper outer")]),
            outline("Lower arm", [(lower, "lower inner"), (joint, "lower outer")]),
            outline("Knuckle", [(at["upper_outer"], ""), (joint, "")]),
            outline("Wheel", [(at["wheel_centre"], "wheel centre"), (contact, "contact")]),
            *_centre_lines(contact, inputs, found),
        ),
        across=Axis("to the left (Y)", "mm"),
        up=Axis("up (Z)", "mm"),
    )


_MOVING = (
    "upper_outer",
    "lower_front_outer",
    "lower_rear_outer",
    "wheel_centre",
    "contact_centre",
)


def _centre_lines(
    contact: FloatArray, inputs: dict[str, Any], found: dict[str, float]
) -> tuple[Series, ...]:
    """Line from the contact centre through instant and roll centre."""
    half = 0.5 * float(inputs["wheel_track"][0])
    if not half > 0.0:
        return ()
    slope = found["roll_centre_height"] / half
    roll_centre = np.array([0.0, contact[1] + found["roll_centre_height"]])
    line = outline("To the roll centre", [(contact, ""), (roll_centre, "roll centre")])
    reach = found["swing_arm"]
    if not abs(reach) < _NEAR * 2.0 * half:  # nan too: there is none
        return (line,)
    centre = contact + np.array([-reach, slope * reach])
    return line, outline("Swing arm", [(contact, ""), (centre, "instant centre")])
