"""All numbers of a rear corner, batched over geometries."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.corner_ports_linkage import blocks, refuse_unclosed
from whybone_chassis.mechanics.rear_linkage import RearLinkage, RearPose
from whybone_chassis.mechanics.rear_velocity import motion_ratio, per_travel
from whybone_chassis.mechanics.rear_windup import wind_up
from whybone_chassis.mechanics.velocity import Rates, wheel_rates
from whybone_chassis.rear_links import REACTED_BY
from whybone_chassis.rear_links_forces import give_forces, give_layout
from whybone_chassis.rear_links_linkage import (
    BUSH_PORTS,
    SEATS,
    bushes_of,
    lacking,
    linkage_of,
    poses,
)

__all__ = ["solve"]

_SHARES = np.linspace(-1.0, 1.0, 9)  # of the travel; the middle one is trim
_DROOP, _TRIM, _BUMP = 0, len(_SHARES) // 2, len(_SHARES) - 1
_PER_METRE = 1e3
# A swing arm beyond 1000 km is rounding of camber rates (1e-16 rad/mm), not geometry.
_STRAIGHT = 1e-6
_STEPS = 256.0  # in the arm's length: differences of fourth order then err by 1e-9 of the rate

_CURVES = ("toe_nonlinearity", "track_change")
_AT_BUMP = ("toe_at_bump", "camber_at_bump")
_AT_DROOP = ("toe_at_droop", "camber_at_droop")
_PITCH = {
    "anti_lift_percent": ("brake_share_rear", "brake_reacted_by"),
    "anti_squat_percent": ("drive_share_rear", "drive_reacted_by"),
}
_LENGTHS = ("wheelbase", "cg_height")
_RATIO = ("motion_ratio", "motion_ratio_rate")


def solve(inputs: Inputs, fed: tuple[str, ...]) -> Outputs:
    """Work out curves, wind-up and forces of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `rear-links`; points (n, 3), numbers (n,), one table.
    fed : tuple of str
        Cases that have force ports of their own.

    Returns
    -------
    Outputs
        One value per row and port; rows that cannot close carry the reason, outputs whose inputs
        are not given are absent.
    """
    answers = Answers(inputs)
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        linkage = linkage_of(inputs)
        _curves(inputs, linkage, answers)
        trim = poses(linkage, [inputs["trim"]])
        refuse_unclosed(answers, trim.status, "at trim")
        rates = wheel_rates(trim, per_travel(trim))
        _at_trim(inputs, rates, answers)
        _pitching(inputs, rates, answers)
        _ratio(inputs, linkage, answers)
        _wind_up(inputs, trim, answers)
        give_layout(trim, answers)
        give_forces(inputs, fed, linkage, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    """Name numbers out of range."""
    concerned = {
        "travel": (*_CURVES, *_AT_BUMP, *_AT_DROOP),
        "wheel_track": ("roll_steer", "roll_centre_height"),
        **dict.fromkeys(_LENGTHS, tuple(_PITCH)),
        **dict.fromkeys(BUSH_PORTS, ("wind_up_stiffness",)),
    }
    for port, ports in concerned.items():
        if port in inputs:
            answers.refuse(~(inputs[port] > 0.0), f"{port} must be positive", *ports)
    for output, (port, _) in _PITCH.items():
        if port in inputs:
            share = inputs[port]
            outside = ~((share >= 0.0) & (share <= 1.0))
            answers.refuse(outside, f"{port} must lie between 0 and 1", output)


def _curves(inputs: Inputs, linkage: RearLinkage, answers: Answers) -> None:
    """Give toe, camber and track over the travel."""
    pose = poses(linkage, [inputs["trim"] + share * inputs["travel"] for share in _SHARES])
    status = blocks(pose.status, answers.rows)
    refuse_unclosed(answers, status[_BUMP], "at bump", *_AT_BUMP, *_CURVES)
    refuse_unclosed(answers, status[_DROOP], "at droop", *_AT_DROOP, *_CURVES)
    for each in status:
        refuse_unclosed(answers, each, "between bump and droop", *_CURVES)
    toe, camber = (blocks(each, answers.rows) for each in (pose.toe, pose.camber))
    gradient = blocks(wheel_rates(pose, per_travel(pose)).toe, answers.rows)[_TRIM]
    tangent = toe[_TRIM] + _SHARES[:, None] * inputs["travel"] * gradient
    aside = blocks(pose.contact_centre, answers.rows)[:, :, 1]
    down, up = (2.0 * (aside[end] - aside[_TRIM]) for end in (_DROOP, _BUMP))
    answers.give(
        toe_at_trim=toe[_TRIM],
        toe_at_bump=toe[_BUMP],
        toe_at_droop=toe[_DROOP],
        toe_nonlinearity=np.max(np.abs(toe - tangent), axis=0),
        camber_at_trim=camber[_TRIM],
        camber_at_bump=camber[_BUMP],
        camber_at_droop=camber[_DROOP],
        track_change=np.where(np.abs(down) > np.abs(up), down, up),
    )


def _at_trim(inputs: Inputs, rates: Rates, answers: Answers) -> None:
    """Give gradients and centres."""
    half = 0.5 * inputs["wheel_track"]
    curvature = -np.radians(rates.camber) * _PER_METRE
    straight = np.abs(curvature) < _STRAIGHT
    answers.leave_out("swing_arm", straight, "camber does not change: the arms are parallel")
    answers.give(
        toe_gradient=rates.toe,
        roll_steer=rates.toe * half * (np.pi / 180.0),
        camber_gradient=rates.camber,
        swing_arm_curvature=curvature,
        swing_arm=_PER_METRE / np.where(straight, np.nan, curvature),
        roll_centre_height=half * rates.contact_rolling[:, 1],
    )


def _pitching(inputs: Inputs, rates: Rates, answers: Answers) -> None:
    """Give the shares of the load changes along the vehicle that do not reach the spring."""
    for output, (share, reacted) in _PITCH.items():
        reason = lacking(inputs, (*_LENGTHS, share))
        if reason:
            _leave_out(answers, reason, output)
            continue
        on_body = inputs[reacted] == REACTED_BY.index("body")
        forward = np.where(on_body, rates.wheel_centre[:, 0], rates.contact_fixed[:, 0])
        lever = inputs["wheelbase"] / inputs["cg_height"]
        answers.give(**{output: -100.0 * inputs[share] * lever * forward})


def _leave_out(answers: Answers, reason: str, *ports: str) -> None:
    """Say why some optional outputs exist in no row."""
    for port in ports:
        answers.give(**{port: np.zeros(1)})
        answers.leave_out(port, where=True, reason=reason)


def _ratio(inputs: Inputs, linkage: RearLinkage, answers: Answers) -> None:
    """Give the spring's motion ratio and, from differences of fourth order, its rate."""
    reason = lacking(inputs, SEATS)
    if reason:
        _leave_out(answers, reason, *_RATIO)
        return
    step = linkage.chain.radius / _STEPS
    pose = poses(linkage, [inputs["trim"] + place * step for place in (0.0, -2.0, -1.0, 1.0, 2.0)])
    for status in blocks(pose.status, answers.rows)[1:]:
        refuse_unclosed(answers, status, "near trim", "motion_ratio_rate")
    still, *near = blocks(motion_ratio(per_travel(pose)), answers.rows)
    answers.give(motion_ratio=still, motion_ratio_rate=_PER_METRE * _change(*near) / step)


def _change(far_down: Reals, down: Reals, up: Reals, far_up: Reals) -> Reals:
    """Return the change per step in the middle of four values a step apart."""
    change: Reals = (8.0 * (up - down) - (far_up - far_down)) / 12.0
    return change


def _wind_up(inputs: Inputs, trim: RearPose, answers: Answers) -> None:
    reason = lacking(inputs, BUSH_PORTS)
    if reason:
        _leave_out(answers, reason, "wind_up_stiffness")
        return
    stiffness = wind_up(trim, bushes_of(inputs)).stiffness
    unheld = np.isnan(stiffness)
    answers.refuse(unheld, "the links do not hold the knuckle's turn", "wind_up_stiffness")
    answers.give(wind_up_stiffness=stiffness)
