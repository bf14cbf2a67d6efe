"""Assembling a corner's linkage: what its points fix, once, for any number of poses.

Five links of fixed length hold the knuckle: the upper two meet at one joint, the lower two at
one (one-piece arm) or two joints, the tie rod's inner end moves with the rack along Y. A sixth
condition picks the pose.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from whybone_chassis.mechanics.carriers import ArmRider, LinkRider, SpringSeat
from whybone_chassis.mechanics.columns import columns, dot
from whybone_chassis.mechanics.constraints import Chain, Footing, HeldHeight, HeldSpring, footing
from whybone_chassis.mechanics.corner import LOWER_REAR, Corner, Spring, problems, spin_axis
from whybone_chassis.mechanics.vectors import FloatArray, IntArray


@dataclass(frozen=True, slots=True)
class Linkage:
    """A corner ready to be posed.

    Attributes
    ----------
    corner : Corner
    spring : Spring or None
    chain : Chain
        Closing equations.
    held_spring : HeldSpring or None
        The spring as a condition; None without a spring.
    spin : ndarray, shape (n, 3)
        Unit spin axis in the design position.
    status : ndarray of int, shape (n,)
        `Status` codes of the geometry; rows that are not `CLOSED` have no poses.
    at_height, at_spring : Footing
        How the design position is held at a given height and at a given spring length.
    """

    corner: Corner
    spring: Spring | None
    chain: Chain
    held_spring: HeldSpring | None
    spin: FloatArray
    status: IntArray
    at_height: Footing
    at_spring: Footing | None

    @property
    def rows(self) -> int:
        """Number of rows."""
        return self.corner.rows

    def spread(self, count: int) -> Self:
        """Stand for a number of rows of one geometry, without copying it."""
        return type(self)(
            self.corner.spread(count),
            None if self.spring is None else self.spring.spread(count),
            self.chain,
            self.held_spring,
            np.broadcast_to(self.spin, (count, 3)),
            np.broadcast_to(self.status, count),
            self.at_height,
            self.at_spring,
        )

    def take(self, index: IntArray) -> Self:
        """Return the rows named by `index` (any order, repeats allowed)."""
        return type(self)(
            self.corner.take(index),
            None if self.spring is None else self.spring.take(index),
            self.chain.take(index),
            None if self.held_spring is None else self.held_spring.take(index),
            self.spin[index],
            self.status[index],
            self.at_height.take(index),
            None if self.at_spring is None else self.at_spring.take(index),
        )

    def require_spring(self) -> tuple[Spring, HeldSpring, Footing]:
        """Return the spring, as a condition and with its footing too.

        Raises
        ------
        ValueError
            If the linkage was assembled without a spring.
        """
        if self.spring is None or self.held_spring is None or self.at_spring is None:
            raise ValueError("spring: assemble the linkage with a spring to use its length")
        return self.spring, self.held_spring, self.at_spring


def circle(
    pivot: FloatArray, other: FloatArray, joint: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Circle of a joint about a pivot line: centre, level and rise, (3, n) each.

    Parameters
    ----------
    pivot, other, joint : ndarray, shape (3, n)
        Two points on the line and the joint in its design position, mm.
    """
    along = other - pivot
    axis = along / np.sqrt(dot(along, along))
    centre = pivot + axis * dot(axis, joint - pivot)
    level = joint - centre
    rise = np.stack(
        (
            axis[1] * level[2] - axis[2] * level[1],
            axis[2] * level[0] - axis[0] * level[2],
            axis[0] * level[1] - axis[1] * level[0],
        )
    )
    return centre, level, rise


def _chain(corner: Corner) -> Chain:
    pivot, other, joint = (
        columns(p) for p in (corner.upper_front_inner, corner.upper_rear_inner, corner.upper_outer)
    )
    centre, level, rise = circle(pivot, other, joint)
    outer = [corner.lower_front_outer, corner.lower_rear_outer, corner.tie_rod_outer]
    arms = np.stack([columns(p) - joint for p in [*outer, corner.wheel_centre]], axis=1)
    inner = [corner.lower_front_inner, corner.lower_rear_inner, corner.tie_rod_inner]
    ends = np.stack([columns(p) for p in inner], axis=1)
    links = joint[:, None] + arms[:, :3] - ends
    return Chain(
        centre=centre,
        level=level,
        rise=rise,
        arms=arms,
        inner=ends,
        square=dot(links, links),
        radius=np.sqrt(dot(level, level)),
        reach=np.sqrt(np.max(dot(arms, arms), axis=0)),
    )


def _held_spring(corner: Corner, spring: Spring) -> HeldSpring:
    one_piece = corner.one_piece
    on_rear = ~one_piece & (spring.on == LOWER_REAR)
    front, rear = columns(corner.lower_front_inner), columns(corner.lower_rear_inner)
    joint = columns(np.where(on_rear[:, None], corner.lower_rear_outer, corner.lower_front_outer))
    seat = columns(spring.lower)
    arm = ArmRider.of(front, rear, joint, seat)
    link = LinkRider.of(np.where(on_rear, rear, front), joint, seat)
    return HeldSpring(SpringSeat(arm, link, one_piece), columns(spring.upper), on_rear)


def assemble(corner: Corner, spring: Spring | None = None) -> Linkage:
    """Prepare corners for posing.

    Parameters
    ----------
    corner : Corner
        Design positions, n rows.
    spring : Spring, optional
        Needed for spring lengths, motion ratios, statics, and the axis of a split arm.

    Returns
    -------
    Linkage

    Raises
    ------
    ValueError
        If corner and spring differ in their number of rows.
    """
    if spring is not None and len(spring.on) != corner.rows:
        raise ValueError(f"spring: give {corner.rows} rows as for the corner")
    with np.errstate(all="ignore"):  # unsound rows are named by their status, not warned about
        chain = _chain(corner)
        held = None if spring is None else _held_spring(corner, spring)
        return Linkage(
            corner=corner,
            spring=spring,
            chain=chain,
            held_spring=held,
            spin=spin_axis(corner.static_toe, corner.static_camber),
            status=problems(corner, spring),
            at_height=footing(chain, HeldHeight()),
            at_spring=None if held is None else footing(chain, held),
        )
