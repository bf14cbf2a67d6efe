"""Forces in a rear corner's links, ball joint and spring that balance the wheel's loads.

The knuckle is held by three two-force links (axial force only) and the lower arm's ball joint: six
unknowns, six equations, so the links' forces depend on no spring. Moments about the ball joint
give the links, forces the joint; the arm's balance about its pivot line then gives the spring. How
the arm's two inner bushes share a force along their line is not determined and is not given.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.rear_linkage import RearPose
from whybone_chassis.mechanics.statics import LEVER_MM, Loads, applied, solve_rows
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray, IntArray, cross, dot, norm, scale, unit

#: Least lever of a usable spring about the arm's pivot line, as a share of its seat's distance.
LEAST_LEVER = 1e-6


@dataclass(frozen=True, slots=True)
class RearForces:
    """Forces that balance the loads; N, NaN where they are not determined.

    Attributes
    ----------
    upper_front, upper_rear, integral : ndarray, shape (n,)
        Axial forces of the links, tension positive.
    lower_joint : ndarray, shape (n, 3)
        Force of the lower arm on the knuckle.
    spring : ndarray, shape (n,)
        Push of the spring, compression positive; NaN without a spring or where its line meets the
        arm's pivot line.
    condition : ndarray, shape (n,)
        Condition number of the equations, moments made forces by a lever of 100 mm.
    status : ndarray of int, shape (n,)
        `Status` codes.
    """

    upper_front: FloatArray
    upper_rear: FloatArray
    integral: FloatArray
    lower_joint: FloatArray
    spring: FloatArray
    condition: FloatArray
    status: IntArray


def links_of(pose: RearPose) -> list[tuple[FloatArray, FloatArray]]:
    """Knuckle ends and unit directions towards the other ends: upper front and rear, integral."""
    corner = pose.linkage.corner
    ends = [
        (pose.upper_front_outer, corner.upper_front_inner),
        (pose.upper_rear_outer, corner.upper_rear_inner),
        (pose.integral_on_knuckle, pose.integral_on_arm),
    ]
    return [(outer, unit(inner - outer)) for outer, inner in ends]


def hold_knuckle(
    pose: RearPose, force: FloatArray, moment: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Balance the knuckle.

    Parameters
    ----------
    pose : RearPose
    force : ndarray, shape (n, 3)
        N, at the wheel centre.
    moment : ndarray, shape (n, 3)
        About the wheel centre, N·mm.

    Returns
    -------
    links : ndarray, shape (n, 3)
        Axial forces of upper front, upper rear and integral link, N, tension positive.
    joint : ndarray, shape (n, 3)
        Force of the arm on the knuckle, N.
    condition : ndarray, shape (n,)
        Condition number of the equations.
    """
    links = links_of(pose)
    about = moment + cross(pose.wheel_centre - pose.lower_outer, force)
    levers = [cross(outer - pose.lower_outer, along) for outer, along in links]
    axial, condition = solve_rows(np.stack(levers, axis=-1) / LEVER_MM, -about / LEVER_MM)
    pulled = [scale(axial[:, i], along) for i, (_, along) in enumerate(links)]
    return axial, -(force + pulled[0] + pulled[1] + pulled[2]), condition


def on_arm(
    pose: RearPose, links: FloatArray, joint: FloatArray
) -> tuple[tuple[FloatArray, FloatArray], ...]:
    """Where and how the knuckle's ball joint and the integral link act on the arm, (n, 3) each."""
    _, along = links_of(pose)[2]
    return (pose.lower_outer, -joint), (pose.integral_on_arm, scale(-links[:, 2], along))


def balance_rear(pose: RearPose, loads: Loads) -> RearForces:
    """Solve the equilibrium of knuckle and lower arm.

    Parameters
    ----------
    pose : RearPose
    loads : Loads
        Of the same rows; bar and stop act on the lower arm at the spring's lower seat.

    Returns
    -------
    RearForces
        NaN, with `Status.INDETERMINATE`, where the equations are ill-conditioned, and with the
        pose's status where there is no pose.
    """
    with np.errstate(all="ignore"):  # rows without a pose or finite loads are named below
        force, moment = applied(pose, loads)
        links, joint, condition = hold_knuckle(pose, force, moment)
        spring = _spring(pose, loads, links, joint)
        finite = np.all(np.isfinite(force) & np.isfinite(moment), axis=1)
    lost = np.where(finite, Status.INDETERMINATE, Status.NOT_FINITE)
    unheld = (pose.status == Status.CLOSED) & ~np.isfinite(joint[:, 0])
    return RearForces(
        upper_front=links[:, 0],
        upper_rear=links[:, 1],
        integral=links[:, 2],
        lower_joint=joint,
        spring=spring,
        condition=condition,
        status=np.where(unheld, lost, pose.status),
    )


def _spring(pose: RearPose, loads: Loads, links: FloatArray, joint: FloatArray) -> FloatArray:
    """Push (n,) of the spring that balances the arm about its pivot line."""
    corner, seats = pose.linkage.corner, pose.linkage.seats
    if seats is None:
        return np.full(len(links), np.nan)
    pivot = corner.lower_front_inner
    axis = unit(corner.lower_rear_inner - pivot)
    push = unit(pose.spring_lower - seats.upper)
    extra = scale(loads.stop_force, push)
    extra[:, 2] += loads.bar_force
    acting = (*on_arm(pose, links, joint), (pose.spring_lower, extra))
    turning = np.zeros(len(links))
    for place, force in acting:
        turning = turning + dot(axis, cross(place - pivot, force))
    reach = pose.spring_lower - pivot
    lever = dot(axis, cross(reach, push))
    usable = np.abs(lever) > LEAST_LEVER * norm(reach)
    return -turning / np.where(usable, lever, np.nan)
