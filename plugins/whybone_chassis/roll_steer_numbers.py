"""Toe gradient, roll steer and their curve, batched over geometries."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers
from whybone_chassis.corner_ports import AXLES
from whybone_chassis.corner_ports_linkage import blocks, linkage_of, poses, refuse_unclosed
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.velocity import per_travel, wheel_rates

__all__ = ["solve"]

_SHARES = np.linspace(-1.0, 1.0, 9)  # of the travel; the middle one is trim
_DROOP, _TRIM, _BUMP = 0, len(_SHARES) // 2, len(_SHARES) - 1

_GRADIENT = ("toe_gradient", "roll_steer", "toe_at_trim")
_CURVE = "toe_nonlinearity"


def solve(inputs: Inputs) -> Outputs:
    """Work out toe over travel of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `roll-steer`; points (n, 3), numbers (n,).

    Returns
    -------
    Outputs
        One value per row and port; rows that cannot close carry the reason.
    """
    answers = Answers(inputs)
    answers.refuse(
        ~(inputs["travel"] > 0.0), "travel must be positive", "toe_at_bump", "toe_at_droop", _CURVE
    )
    answers.refuse(~(inputs["wheel_track"] > 0.0), "wheel_track must be positive", "roll_steer")
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        rack = np.zeros(answers.rows)
        travels = [inputs["trim"] + share * inputs["travel"] for share in _SHARES]
        linkage = linkage_of(inputs)
        swept = poses(linkage, travels, [rack] * len(travels))
        _explain(swept, answers)
        _answer(inputs, swept, poses(linkage, [inputs["trim"]], [rack]), answers)
    return answers.outputs()


def _explain(swept: Pose, answers: Answers) -> None:
    status = blocks(swept.status, answers.rows)
    refuse_unclosed(answers, status[_TRIM], "at trim", *_GRADIENT, _CURVE)
    refuse_unclosed(answers, status[_BUMP], "at bump", "toe_at_bump", _CURVE)
    refuse_unclosed(answers, status[_DROOP], "at droop", "toe_at_droop", _CURVE)
    for each in status:
        refuse_unclosed(answers, each, "between bump and droop", _CURVE)


def _answer(inputs: Inputs, swept: Pose, trim: Pose, answers: Answers) -> None:
    gradient = wheel_rates(trim, per_travel(trim)).toe
    toe = blocks(swept.toe, answers.rows)
    tangent = toe[_TRIM] + _SHARES[:, None] * inputs["travel"] * gradient
    rear = inputs["axle"] == AXLES.index("rear")
    opening = np.where(rear, gradient, -gradient)  # the outer wheel rises
    answers.give(
        toe_gradient=gradient,
        roll_steer=opening * (0.5 * inputs["wheel_track"]) * (np.pi / 180.0),
        toe_at_trim=toe[_TRIM],
        toe_at_bump=toe[_BUMP],
        toe_at_droop=toe[_DROOP],
        toe_nonlinearity=np.max(np.abs(toe - tangent), axis=0),
    )
