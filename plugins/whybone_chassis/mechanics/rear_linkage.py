"""Poses of a rear corner with an integral link, at a wheel travel.

The kernel of the front corner serves: here the swinging joint is the lower arm's, and of the
three links' inner ends the integral link's rides on that arm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from whybone_chassis.mechanics.assembly import circle
from whybone_chassis.mechanics.carriers import ArmRider
from whybone_chassis.mechanics.columns import columns, dot, matrix, pick, rows
from whybone_chassis.mechanics.constraints import (
    TIE_ROD,
    WHEEL,
    Chain,
    Condition,
    Equations,
    Footing,
    HeldHeight,
    Placed,
    State,
    footing,
)
from whybone_chassis.mechanics.continuation import Path, Problem
from whybone_chassis.mechanics.corner import contact_centre, spin_axis
from whybone_chassis.mechanics.linkage import expand, settle
from whybone_chassis.mechanics.rear_corner import RearCorner, Seats, problems
from whybone_chassis.mechanics.vectors import FloatArray, IntArray, norm, rotate
from whybone_chassis.mechanics.wheel import WheelPose

#: Places of the links in the kernel's order; the last is the one whose inner end may move.
UPPER_FRONT, UPPER_REAR, INTEGRAL = 0, 1, TIE_ROD


@dataclass(frozen=True, slots=True)
class RearChain(Chain):
    """Closing equations whose last link's inner end rides on the swinging arm."""

    rider: ArmRider

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""
        fixed = {name: pick(getattr(self, name), index) for name in Chain.__dataclass_fields__}
        return type(self)(**fixed, rider=self.rider.take(index))

    def links(self, placed: Placed, rack: FloatArray) -> FloatArray:
        """Vectors (3, 3, n) from the three links' inner to their outer ends; no rack moves one."""
        links = Chain.links(self, placed, rack)
        links[:, INTEGRAL] = placed.joint + placed.arms[:, INTEGRAL] - self.rider.at(placed.joint)
        return links

    def equations(self, placed: Placed, links: FloatArray, condition: Condition) -> Equations:
        """Jacobian of links and condition by swing and rotation."""
        equations = Chain.equations(self, placed, links, condition)
        pull = self.rider.pull(placed.joint, links[:, INTEGRAL])
        equations.swing[INTEGRAL] -= dot(placed.slide, pull)
        return equations


@dataclass(frozen=True, slots=True)
class RearLinkage:
    """A rear corner ready to be posed.

    Attributes
    ----------
    corner : RearCorner
    seats : Seats or None
    chain : RearChain
        Closing equations.
    seat : ArmRider or None
        The spring's lower seat on the arm; None without a spring.
    spin : ndarray, shape (n, 3)
        Unit spin axis in the design position.
    status : ndarray of int, shape (n,)
        `Status` codes of the geometry; rows that are not `CLOSED` have no poses.
    at_height : Footing
        How the design position is held at a given height.
    """

    corner: RearCorner
    seats: Seats | None
    chain: RearChain
    seat: ArmRider | None
    spin: FloatArray
    status: IntArray
    at_height: Footing

    @property
    def rows(self) -> int:
        """Number of rows."""
        return self.corner.rows

    def spread(self, count: int) -> Self:
        """Stand for a number of rows of one geometry, without copying it."""
        return type(self)(
            self.corner.spread(count),
            None if self.seats is None else self.seats.spread(count),
            self.chain,
            self.seat,
            np.broadcast_to(self.spin, (count, 3)),
            np.broadcast_to(self.status, count),
            self.at_height,
        )

    def take(self, index: IntArray) -> Self:
        """Return the rows named by `index` (any order, repeats allowed)."""
        return type(self)(
            self.corner.take(index),
            None if self.seats is None else self.seats.take(index),
            self.chain.take(index),
            None if self.seat is None else self.seat.take(index),
            self.spin[index],
            self.status[index],
            self.at_height.take(index),
        )


def _on_arm(corner: RearCorner, point: FloatArray) -> ArmRider:
    return ArmRider.of(
        columns(corner.lower_front_inner),
        columns(corner.lower_rear_inner),
        columns(corner.lower_outer),
        columns(point),
    )


def _chain(corner: RearCorner) -> RearChain:
    pivot, other, joint = (
        columns(p) for p in (corner.lower_front_inner, corner.lower_rear_inner, corner.lower_outer)
    )
    centre, level, rise = circle(pivot, other, joint)
    outer = [corner.upper_front_outer, corner.upper_rear_outer, corner.integral_on_knuckle]
    inner = [corner.upper_front_inner, corner.upper_rear_inner, corner.integral_on_arm]
    arms = np.stack([columns(p) - joint for p in [*outer, corner.wheel_centre]], axis=1)
    ends = np.stack([columns(p) for p in inner], axis=1)
    links = joint[:, None] + arms[:, :3] - ends
    return RearChain(
        centre=centre,
        level=level,
        rise=rise,
        arms=arms,
        inner=ends,
        square=dot(links, links),
        radius=np.sqrt(dot(level, level)),
        reach=np.sqrt(np.max(dot(arms, arms), axis=0)),
        rider=_on_arm(corner, corner.integral_on_arm),
    )


def assemble_rear(corner: RearCorner, seats: Seats | None = None) -> RearLinkage:
    """Prepare rear corners for posing.

    Parameters
    ----------
    corner : RearCorner
        Design positions, n rows.
    seats : Seats, optional
        Needed for spring lengths, motion ratios and spring forces.

    Returns
    -------
    RearLinkage

    Raises
    ------
    ValueError
        If corner and seats differ in their number of rows.
    """
    if seats is not None and len(seats.lower) != corner.rows:
        raise ValueError(f"seats: give {corner.rows} rows as for the corner")
    with np.errstate(all="ignore"):  # unsound rows are named by their status, not warned about
        chain = _chain(corner)
        return RearLinkage(
            corner=corner,
            seats=seats,
            chain=chain,
            seat=None if seats is None else _on_arm(corner, seats.lower),
            spin=spin_axis(corner.static_toe, corner.static_camber),
            status=problems(corner, seats),
            at_height=footing(chain, HeldHeight()),
        )


@dataclass(frozen=True, slots=True)
class RearPose(WheelPose):
    """Positions of a rear corner's moving points, NaN in rows that cannot close.

    Attributes
    ----------
    linkage : RearLinkage
        Row for row.
    state : State
        Swing of the lower arm and rotation of the knuckle.
    status : ndarray of int, shape (n,)
        `Status` codes.
    lower_outer, integral_on_arm, integral_on_knuckle, upper_front_outer, upper_rear_outer,
    wheel_centre
        Points, shape (n, 3), mm.
    rotation : ndarray, shape (n, 3, 3)
        Knuckle's rotation from its design position.
    spin_axis, contact_centre : ndarray, shape (n, 3)
        Unit vector outward; point in mm.
    spring_lower : ndarray, shape (n, 3)
        Lower seat, mm; NaN without a spring.
    """

    linkage: RearLinkage
    state: State
    status: IntArray
    lower_outer: FloatArray
    integral_on_arm: FloatArray
    integral_on_knuckle: FloatArray
    upper_front_outer: FloatArray
    upper_rear_outer: FloatArray
    wheel_centre: FloatArray
    rotation: FloatArray
    spin_axis: FloatArray
    contact_centre: FloatArray
    spring_lower: FloatArray

    @property
    def joint(self) -> FloatArray:
        """Joint (n, 3) the knuckle's motion is told about: the lower outer one, mm."""
        return self.lower_outer

    @property
    def spring_length(self) -> FloatArray:
        """Spring length (n,) in mm; NaN without a spring."""
        seats = self.linkage.seats
        return self.travel * np.nan if seats is None else norm(self.spring_lower - seats.upper)


def pose_rear(linkage: RearLinkage, travel: FloatArray) -> RearPose:
    """Pose rear corners at wheel travels.

    Parameters
    ----------
    linkage : RearLinkage
        n rows, or one that is posed n times.
    travel : ndarray, shape (n,) or ()
        Rise of the wheel centre from its design height, mm.

    Returns
    -------
    RearPose
        Link lengths and height held to 1e-10 mm, in the assembly that a straight path of travel
        from the design position leads to; NaN with a status where there is none.

    Raises
    ------
    ValueError
        If the shapes do not go together.
    """
    linkage, (travel,) = expand(linkage, travel)
    start = linkage.corner.wheel_centre[:, 2]
    path = Path(start, start + travel, np.zeros_like(travel))
    problem = Problem(linkage.chain, HeldHeight(), path, linkage.at_height)
    state, placed, status = settle(problem, linkage.status)
    with np.errstate(all="ignore"):  # rows without a pose are NaN
        return _place(linkage, state, placed, status)


def _place(linkage: RearLinkage, state: State, placed: Placed, status: IntArray) -> RearPose:
    """Positions of the moving points, row-first."""
    outer = placed.joint[:, None] + placed.arms
    rotation = np.ascontiguousarray(np.moveaxis(matrix(state.turn), -1, 0))
    spin = rotate(rotation, linkage.spin)
    centre = rows(outer[:, WHEEL])
    seat = np.full_like(centre, np.nan)
    if linkage.seat is not None:
        seat = rows(linkage.seat.at(placed.joint))
    return RearPose(
        linkage=linkage,
        state=state,
        status=status,
        lower_outer=rows(placed.joint),
        integral_on_arm=rows(linkage.chain.rider.at(placed.joint)),
        integral_on_knuckle=rows(outer[:, INTEGRAL]),
        upper_front_outer=rows(outer[:, UPPER_FRONT]),
        upper_rear_outer=rows(outer[:, UPPER_REAR]),
        wheel_centre=centre,
        rotation=rotation,
        spin_axis=spin,
        contact_centre=contact_centre(centre, spin, linkage.corner.loaded_radius),
        spring_lower=seat,
    )
