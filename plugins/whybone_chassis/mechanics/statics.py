"""Forces in a corner's links, joints and spring that balance the wheel's loads.

The knuckle is held by two-force links (axial force only) and by the joint of the arm or link
that carries the spring, which is a body of its own with a full joint force. Unknowns: two upper
links, the lower link without the spring (split arm), tie rod, that joint's three components,
spring. Equations: six of the knuckle, and of the carrying body its balance about the pivot
line (arm) or about its inner joint, spin about its own line left out (link). How an arm's two
inner bushes share a force along their line is not determined and is not given.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.columns import rows
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import (
    BoolArray,
    FloatArray,
    IntArray,
    cross,
    dot,
    scale,
    unit,
)
from whybone_chassis.mechanics.velocity import Posed

#: Standard acceleration of free fall, m/s² (CGPM 1901).
GRAVITY = 9.80665
#: Length that makes moments comparable with forces in the equations, mm.
LEVER_MM = 100.0
#: Largest condition number of usable equations: a plausible corner has 10 to 100.
WORST_CONDITION = 1e6

UPPER_FRONT, UPPER_REAR, OTHER, TIE, JOINT, SPRING = 0, 1, 2, 3, slice(4, 7), 7
FORCE, MOMENT = slice(0, 3), slice(3, 6)


@dataclass(frozen=True, slots=True)
class Loads:
    """What acts on the wheel and on the carrying arm; every field has shape (n,).

    Attributes
    ----------
    fx, fy, fz : ndarray
        Tyre forces on the wheel, N, along the vehicle's axes. fy and fz act at the contact
        centre; fz is the ground's force, so the weight of the unsprung mass is apart from it.
    mz : ndarray
        Tyre moment on the wheel about Z, N·m.
    on_knuckle : ndarray of bool
        True: fx acts at the contact centre, its torque reacted by the knuckle (outboard
        brake). False: fx acts at the wheel centre, its torque reacted by the body.
    unsprung_mass : ndarray
        Kg, its weight acting at the wheel centre.
    bar_force : ndarray
        Force of the anti-roll bar's drop link on the spring's carrier, N, up positive, taken
        to act at the spring's lower seat.
    stop_force : ndarray
        Push of the bump stop, N, taken to lie on the spring's line.
    """

    fx: FloatArray
    fy: FloatArray
    fz: FloatArray
    mz: FloatArray
    on_knuckle: BoolArray
    unsprung_mass: FloatArray
    bar_force: FloatArray
    stop_force: FloatArray


@dataclass(frozen=True, slots=True)
class Forces:
    """Forces that balance the loads; N, NaN where they are not determined.

    Attributes
    ----------
    upper_front, upper_rear, tie_rod : ndarray, shape (n,)
        Axial forces, tension positive.
    other_lower : ndarray, shape (n,)
        Axial force of the lower link without the spring, tension positive; NaN for a one-piece
        arm.
    spring : ndarray, shape (n,)
        Push of the spring, compression positive.
    upper_joint : ndarray, shape (n, 3)
        Force of both upper links on the knuckle.
    carrier_joint : ndarray, shape (n, 3)
        Force on the knuckle of the lower arm or link that carries the spring.
    lower_joint : ndarray, shape (n, 3)
        Sum of the forces of the lower arm or both lower links on the knuckle.
    bush_moment : ndarray, shape (n,)
        Moment that the inner bush of a spring-carrying link must react, N·m, about the line
        half way between the link's design and present directions; NaN for a one-piece arm.
    condition : ndarray, shape (n,)
        Condition number of the equations, moments made forces by a lever of 100 mm.
    status : ndarray of int, shape (n,)
        `Status` codes.
    """

    upper_front: FloatArray
    upper_rear: FloatArray
    tie_rod: FloatArray
    other_lower: FloatArray
    spring: FloatArray
    upper_joint: FloatArray
    carrier_joint: FloatArray
    lower_joint: FloatArray
    bush_moment: FloatArray
    condition: FloatArray
    status: IntArray


@dataclass(frozen=True, slots=True)
class _Carrier:
    """The arm or link with the spring: where it is held, pushed and free to turn."""

    pivot: FloatArray
    joint: FloatArray
    seat: FloatArray
    push: FloatArray
    free: FloatArray
    second: FloatArray
    fixed: FloatArray


def _across(line: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Two unit vectors normal to unit vectors (n, 3) and to each other."""
    size = np.abs(line)
    least = np.argmin(np.where(np.isfinite(size), size, 0.0), axis=1)
    first = unit(cross(line, np.eye(3)[least]))
    return first, cross(line, first)


def _carrier(pose: Pose) -> _Carrier:
    """Carrying body of each row; `free` and `second` are the directions it can turn about."""
    corner = pose.linkage.corner
    spring, held, _ = pose.linkage.require_spring()
    one, rear = corner.one_piece[:, None], np.broadcast_to(held.on_rear, len(pose.rack))[:, None]
    pivot = np.where(rear, corner.lower_rear_inner, corner.lower_front_inner)
    joint = np.where(rear, pose.lower_rear_outer, pose.lower_front_outer)
    bisector = unit(rows(held.seat.link.direction) + unit(joint - pivot))
    first, second = _across(bisector)
    hinge = unit(corner.lower_rear_inner - corner.lower_front_inner)
    return _Carrier(
        pivot=pivot,
        joint=joint,
        seat=pose.spring_lower,
        push=unit(pose.spring_lower - spring.upper),
        free=np.where(one, hinge, first),
        second=np.where(one, 0.0, second),
        fixed=np.where(one, np.nan, bisector),
    )


def applied(pose: Posed, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Resultant of the loads on the knuckle.

    Parameters
    ----------
    pose : Posed
    loads : Loads
        Of the same rows.

    Returns
    -------
    force : ndarray, shape (n, 3)
        N.
    moment : ndarray, shape (n, 3)
        About the wheel centre, N·mm.
    """
    zero = np.zeros_like(loads.fx)
    tyre = np.stack((loads.fx, loads.fy, loads.fz), axis=-1)
    at_ground = np.stack((np.where(loads.on_knuckle, loads.fx, zero), loads.fy, loads.fz), axis=-1)
    moment = cross(pose.contact_centre - pose.wheel_centre, at_ground)
    moment[:, 2] += 1e3 * loads.mz
    weight = np.stack((zero, zero, loads.unsprung_mass * GRAVITY), axis=-1)
    return tyre - weight, moment


def _links(pose: Pose) -> list[tuple[FloatArray, FloatArray]]:
    """Outer ends and unit directions towards the inner ends of the two-force links, in order."""
    corner = pose.linkage.corner
    _, held, _ = pose.linkage.require_spring()
    rear = np.broadcast_to(held.on_rear, len(pose.rack))[:, None]
    ends = [
        (pose.upper_outer, corner.upper_front_inner),
        (pose.upper_outer, corner.upper_rear_inner),
        (
            np.where(rear, pose.lower_front_outer, pose.lower_rear_outer),
            np.where(rear, corner.lower_front_inner, corner.lower_rear_inner),
        ),
        (pose.tie_rod_outer, pose.tie_rod_inner),
    ]
    return [(outer, unit(inner - outer)) for outer, inner in ends]


def _matrix(
    pose: Pose, carrier: _Carrier, links: list[tuple[FloatArray, FloatArray]]
) -> FloatArray:
    """Equations (n, 8, 8): knuckle's force and moment, carrier's moment; columns as named."""
    one = pose.linkage.corner.one_piece
    out = np.zeros((len(pose.rack), 8, 8))
    for column, (outer, along) in enumerate(links):
        out[:, FORCE, column] = along
        out[:, MOMENT, column] = cross(outer - pose.wheel_centre, along) / LEVER_MM
    out[one, :, OTHER] = 0.0
    arm = carrier.joint - pose.wheel_centre
    reach, lift = carrier.joint - carrier.pivot, carrier.seat - carrier.pivot
    for i, axis in enumerate(np.eye(3)):
        out[:, FORCE, 4 + i] = axis
        out[:, MOMENT, 4 + i] = cross(arm, axis) / LEVER_MM
        for row, turn in ((6, carrier.free), (7, carrier.second)):
            out[:, row, 4 + i] = -dot(turn, cross(reach, axis)) / LEVER_MM
    for row, turn in ((6, carrier.free), (7, carrier.second)):
        out[:, row, SPRING] = dot(turn, cross(lift, carrier.push)) / LEVER_MM
    out[one, 7, OTHER] = 1.0
    return out


def _on_carrier(carrier: _Carrier, loads: Loads) -> FloatArray:
    """Moment (n, 3) about the pivot of bar and stop on the carrier, N·mm."""
    force = scale(loads.stop_force, carrier.push)
    force[:, 2] += loads.bar_force
    return cross(carrier.seat - carrier.pivot, force)


def solve_rows(matrix: FloatArray, right: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Unknowns (n, k) and condition numbers (n,) of (n, k, k); NaN where not determined."""
    unknowns = np.full(right.shape, np.nan)
    condition = np.full(len(right), np.nan)
    sound = np.all(np.isfinite(matrix), axis=(1, 2)) & np.all(np.isfinite(right), axis=1)
    condition[sound] = np.linalg.cond(matrix[sound], np.inf)  # a fifth of the spectral one's cost
    usable = sound & (condition < WORST_CONDITION)
    unknowns[usable] = np.linalg.solve(matrix[usable], right[usable][..., None])[..., 0]
    return unknowns, condition


def balance(pose: Pose, loads: Loads) -> Forces:
    """Solve the equilibrium of knuckle and spring carrier.

    Parameters
    ----------
    pose : Pose
        Of a linkage with a spring.
    loads : Loads
        Of the same rows.

    Returns
    -------
    Forces
        NaN, with `Status.INDETERMINATE`, where the equations are ill-conditioned, and with the
        pose's status where there is no pose.

    Raises
    ------
    ValueError
        If the linkage has no spring.
    """
    with np.errstate(all="ignore"):  # rows without a pose or finite loads are named below
        carrier, links = _carrier(pose), _links(pose)
        extra = _on_carrier(carrier, loads)
        right = _right(carrier, applied(pose, loads), extra)
        found, condition = solve_rows(_matrix(pose, carrier, links), right)
        bush = _bush(carrier, found, extra)
    upper = [scale(found[:, i], links[i][1]) for i in (UPPER_FRONT, UPPER_REAR)]
    one = pose.linkage.corner.one_piece
    return Forces(
        upper_front=found[:, UPPER_FRONT],
        upper_rear=found[:, UPPER_REAR],
        tie_rod=found[:, TIE],
        other_lower=np.where(one, np.nan, found[:, OTHER]),
        spring=found[:, SPRING],
        upper_joint=upper[0] + upper[1],
        carrier_joint=found[:, JOINT],
        lower_joint=found[:, JOINT] + scale(found[:, OTHER], links[OTHER][1]),
        bush_moment=bush,
        condition=condition,
        status=_status(pose, right, found),
    )


def _right(
    carrier: _Carrier, resultant: tuple[FloatArray, FloatArray], extra: FloatArray
) -> FloatArray:
    """Right-hand sides (n, 8) of the equations."""
    force, moment = resultant
    right = np.empty((len(force), 8))
    right[:, FORCE], right[:, MOMENT] = -force, -moment / LEVER_MM
    right[:, 6] = -dot(carrier.free, extra) / LEVER_MM
    right[:, 7] = -dot(carrier.second, extra) / LEVER_MM
    return right


def _status(pose: Pose, right: FloatArray, found: FloatArray) -> IntArray:
    """Codes (n,): the pose's, and why forces are not determined where it closes."""
    finite = np.all(np.isfinite(right), axis=1)
    lost = np.where(finite, Status.INDETERMINATE, Status.NOT_FINITE)
    return np.where((pose.status == Status.CLOSED) & ~np.isfinite(found[:, 0]), lost, pose.status)


def _bush(carrier: _Carrier, found: FloatArray, extra: FloatArray) -> FloatArray:
    """Moment (n,) in N·m that holds a spring-carrying link against turning about itself."""
    pushed = cross(carrier.seat - carrier.pivot, scale(found[:, SPRING], carrier.push))
    pulled = cross(carrier.joint - carrier.pivot, found[:, JOINT])
    moment: FloatArray = -1e-3 * dot(carrier.fixed, pushed - pulled + extra)
    return moment
