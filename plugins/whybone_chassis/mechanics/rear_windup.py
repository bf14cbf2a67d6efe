"""Wind-up of a rear corner: how far a torque turns the knuckle about the wheel's spin axis.

Links, arm and knuckle are rigid and the ball joint does not give: all of it comes from the bushes.
The wheel centre's height is held, as on a rig or by the spring and the ground, and its holding
force does no work. Then the turn is the derivative of the bushes' energy by the torque
(Castigliano's second theorem), and every force follows from statics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.corner import Rows
from whybone_chassis.mechanics.rear_linkage import RearPose
from whybone_chassis.mechanics.rear_statics import hold_knuckle, on_arm
from whybone_chassis.mechanics.rear_velocity import per_travel
from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm, scale, unit

#: What gives, in the order of `WindUp.shares`.
ELEMENTS = (
    "upper front link",
    "upper rear link",
    "integral link",
    "arm's front bush, radial",
    "arm's rear bush, radial",
    "arm's bushes, along their line",
)


@dataclass(frozen=True, slots=True)
class BushRates(Rows):
    """Rates of the bushes, N/mm, shape (n,) each.

    Parameters
    ----------
    upper_front, upper_rear, integral : ndarray
        Along each link, its two bushes in series.
    arm_front_radial, arm_rear_radial : ndarray
        Of the lower arm's bushes, square to its pivot line.
    arm_front_axial, arm_rear_axial : ndarray
        The same along its pivot line.
    """

    upper_front: FloatArray
    upper_rear: FloatArray
    integral: FloatArray
    arm_front_radial: FloatArray
    arm_rear_radial: FloatArray
    arm_front_axial: FloatArray
    arm_rear_axial: FloatArray


@dataclass(frozen=True, slots=True)
class WindUp:
    """Wind-up of n rows, NaN where forces are not determined.

    Attributes
    ----------
    stiffness : ndarray, shape (n,)
        Torque over turn about the spin axis, N·m/deg.
    shares : ndarray, shape (6, n)
        Part of the turn that each of `ELEMENTS` gives.
    """

    stiffness: FloatArray
    shares: FloatArray


def wind_up(pose: RearPose, rates: BushRates) -> WindUp:
    """Work out the wind-up of rear corners.

    Parameters
    ----------
    pose : RearPose
    rates : BushRates
        Of the same rows, positive.

    Returns
    -------
    WindUp
    """
    with np.errstate(all="ignore"):  # rows without a pose are NaN
        spin = pose.spin_axis
        upright = np.zeros_like(spin)
        # Holding the height takes the force that does the torque's work on the free travel.
        upright[:, 2] = -dot(spin, per_travel(pose).turn)
        links, joint, _ = hold_knuckle(pose, upright, spin)
        given = np.stack(
            [
                links[:, 0] ** 2 / rates.upper_front,
                links[:, 1] ** 2 / rates.upper_rear,
                links[:, 2] ** 2 / rates.integral,
                *_in_the_arm(pose, on_arm(pose, links, joint), rates),
            ]
        )
        whole = given[0] + given[1] + given[2] + given[3] + given[4] + given[5]
        whole = np.where(np.isfinite(whole), whole, np.nan)  # one NaN of many, whatever the batch
        return WindUp(np.radians(1e-3 / whole), np.where(np.isnan(whole), whole, given / whole))


def _in_the_arm(
    pose: RearPose, acting: tuple[tuple[FloatArray, FloatArray], ...], rates: BushRates
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Square forces over rates of the arm's bushes; along their line both give alike."""
    corner = pose.linkage.corner
    front = corner.lower_front_inner
    line = corner.lower_rear_inner - front
    axis, span = unit(line), norm(line)
    force, moment = np.zeros_like(front), np.zeros_like(front)
    for place, push in acting:
        force, moment = force + push, moment + cross(place - front, push)
    along = dot(axis, force)
    rear = scale(1.0 / span, cross(axis, moment))
    ahead = -(force - scale(along, axis)) - rear
    return (
        dot(ahead, ahead) / rates.arm_front_radial,
        dot(rear, rear) / rates.arm_rear_radial,
        along * along / (rates.arm_front_axial + rates.arm_rear_axial),
    )
