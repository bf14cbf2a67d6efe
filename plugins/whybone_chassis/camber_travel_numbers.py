"""Camber, track, roll centre and anti-dive, batched over geometries."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers
from whybone_chassis.camber_travel import BRAKES
from whybone_chassis.corner_ports_linkage import blocks, linkage_of, poses, refuse_unclosed
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.velocity import Rates, per_travel, wheel_rates

__all__ = ["solve"]

_PER_METRE = 1e3
# A swing arm beyond 1000 km is rounding of camber rates (1e-16 rad/mm), not geometry.
_STRAIGHT = 1e-6
_BRAKING = ("wheelbase", "cg_height", "brake_share_front")

_AT_TRIM = (
    "camber_gradient",
    "camber_at_trim",
    "swing_arm",
    "swing_arm_curvature",
    "roll_centre_height",
    "track_change",
    "anti_dive_percent",
)


def solve(inputs: Inputs) -> Outputs:
    """Work out camber and centres of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `camber-travel`; points (n, 3), numbers (n,).

    Returns
    -------
    Outputs
        One value per row and port; rows that cannot close carry the reason.
    """
    answers = Answers(inputs)
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        linkage, rack = linkage_of(inputs), np.zeros(answers.rows)
        trim, travel = inputs["trim"], inputs["travel"]
        pose = poses(linkage, [trim - travel, trim, trim + travel], [rack] * 3)
        _explain(pose, answers)
        _over_travel(pose, answers)
        still = poses(linkage, [trim], [rack])
        rates = wheel_rates(still, per_travel(still))
        _centres(inputs, rates, answers)
        _anti_dive(inputs, rates, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    """Name numbers out of range."""
    ends = ("camber_at_bump", "camber_at_droop", "track_change")
    concerned = {"travel": ends, "wheel_track": ("roll_centre_height",)}
    concerned |= dict.fromkeys(_BRAKING[:2], ("anti_dive_percent",))
    for port, ports in concerned.items():
        if port in inputs:
            answers.refuse(~(inputs[port] > 0.0), f"{port} must be positive", *ports)
    if "brake_share_front" in inputs:
        share = inputs["brake_share_front"]
        answers.refuse(
            ~((share >= 0.0) & (share <= 1.0)),
            "brake_share_front must lie between 0 and 1",
            "anti_dive_percent",
        )


def _explain(pose: Pose, answers: Answers) -> None:
    droop, trim, bump = blocks(pose.status, answers.rows)
    refuse_unclosed(answers, trim, "at trim", *_AT_TRIM)
    refuse_unclosed(answers, bump, "at bump", "camber_at_bump", "track_change")
    refuse_unclosed(answers, droop, "at droop", "camber_at_droop", "track_change")


def _over_travel(pose: Pose, answers: Answers) -> None:
    droop, trim, bump = blocks(pose.camber, answers.rows)
    aside = blocks(pose.contact_centre, answers.rows)[:, :, 1]
    down, up = 2.0 * (aside[0] - aside[1]), 2.0 * (aside[2] - aside[1])
    answers.give(
        camber_at_droop=droop,
        camber_at_trim=trim,
        camber_at_bump=bump,
        track_change=np.where(np.abs(down) > np.abs(up), down, up),
    )


def _centres(inputs: Inputs, rates: Rates, answers: Answers) -> None:
    """Give instant centre and roll centre in the front view."""
    curvature = -np.radians(rates.camber) * _PER_METRE
    straight = np.abs(curvature) < _STRAIGHT
    answers.leave_out("swing_arm", straight, "camber does not change: the arms are parallel")
    answers.give(
        camber_gradient=rates.camber,
        swing_arm_curvature=curvature,
        swing_arm=_PER_METRE / np.where(straight, np.nan, curvature),
        roll_centre_height=0.5 * inputs["wheel_track"] * rates.contact_rolling[:, 1],
    )


def _anti_dive(inputs: Inputs, rates: Rates, answers: Answers) -> None:
    """Give the share of the load change that does not reach the spring."""
    lacking = [port for port in _BRAKING if port not in inputs]
    if lacking:
        reason = f"not given: {', '.join(lacking)}"
        answers.leave_out("anti_dive_percent", where=True, reason=reason)
        answers.give(anti_dive_percent=np.zeros(1))
        return
    on_body = inputs["brake_reacted_by"] == BRAKES.index("body")
    forward = np.where(on_body, rates.wheel_centre[:, 0], rates.contact_fixed[:, 0])
    lever = inputs["wheelbase"] / inputs["cg_height"]
    answers.give(anti_dive_percent=100.0 * inputs["brake_share_front"] * lever * forward)
