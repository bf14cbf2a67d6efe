"""Points that ride on an arm or a link, as functions of the joint at its outer end.

Component-first arrays of shape (3, n), as in the kernel. Rational in the joint's position: no
angles, hence the same bits in a batch of any size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from whybone_chassis.mechanics.columns import cross, dot, pick
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True)
class ArmRider:
    """Point on an arm that turns about a pivot line and carries a joint.

    With q the joint's offset from the pivot line, the point is
    anchor + β·q + γ·(axis × q): linear in the joint's position.
    """

    anchor: FloatArray
    pivot: FloatArray
    axis: FloatArray
    beta: FloatArray
    gamma: FloatArray

    @classmethod
    def of(cls, pivot: FloatArray, other: FloatArray, joint: FloatArray, point: FloatArray) -> Self:
        """Fix `point` to the arm that pivots on two points and carries `joint`."""
        along = other - pivot
        axis = along / np.sqrt(dot(along, along))
        offset = joint - pivot
        offset = offset - axis * dot(axis, offset)
        square = dot(offset, offset)
        rest = point - pivot
        anchor = pivot + axis * dot(axis, rest)
        beta = dot(rest, offset) / square
        gamma = dot(rest, cross(axis, offset)) / square
        return cls(anchor, pivot, axis, beta, gamma)

    def at(self, joint: FloatArray) -> FloatArray:
        """Position for a position of the joint."""
        offset = joint - self.pivot
        offset = offset - self.axis * dot(self.axis, offset)
        return self.anchor + self.beta * offset + self.gamma * cross(self.axis, offset)

    def pull(self, joint: FloatArray, force: FloatArray) -> FloatArray:  # noqa: ARG002 - linear: the same at every joint position; signature shared with LinkRider
        """Gradient with respect to the joint of force · position."""
        across = force - self.axis * dot(self.axis, force)
        return self.beta * across + self.gamma * cross(force, self.axis)

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""
        return type(self)(
            pick(self.anchor, index),
            pick(self.pivot, index),
            pick(self.axis, index),
            pick(self.beta, index),
            pick(self.gamma, index),
        )


@dataclass(frozen=True, slots=True)
class LinkRider:
    """Point on a link between a body joint and a joint at its outer end.

    The link turns from its design direction u0 to its direction u by the least rotation. Its
    angular velocity then has no component along u0 + u, the line about which its bush reacts.
    """

    pivot: FloatArray
    direction: FloatArray
    rest: FloatArray

    @classmethod
    def of(cls, pivot: FloatArray, joint: FloatArray, point: FloatArray) -> Self:
        """Fix `point` to the link from `pivot` to `joint`."""
        along = joint - pivot
        return cls(pivot, along / np.sqrt(dot(along, along)), point - pivot)

    def _turn(self, joint: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        along = joint - self.pivot
        length = np.sqrt(dot(along, along))
        now = along / length
        return now, length, 1.0 + dot(self.direction, now)

    def at(self, joint: FloatArray) -> FloatArray:
        """Position for a position of the joint."""
        now, _, fold = self._turn(joint)
        swing = cross(self.direction, now)
        turned = (fold - 1.0) * self.rest + cross(swing, self.rest)
        return self.pivot + turned + swing * (dot(swing, self.rest) / fold)

    def pull(self, joint: FloatArray, force: FloatArray) -> FloatArray:
        """Gradient with respect to the joint of force · position."""
        now, length, fold = self._turn(joint)
        moment = cross(self.at(joint) - self.pivot, force)
        across = cross(moment, self.direction + now) / (fold * length)
        return across - now * dot(now, across)

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""
        return type(self)(
            pick(self.pivot, index), pick(self.direction, index), pick(self.rest, index)
        )


@dataclass(frozen=True, slots=True)
class SpringSeat:
    """Lower seat of the spring: on a one-piece arm or on one of two links, row by row."""

    arm: ArmRider
    link: LinkRider
    on_arm: BoolArray

    def at(self, joint: FloatArray) -> FloatArray:
        """Position for a position of the carrying arm's or link's outer joint."""
        return np.where(self.on_arm, self.arm.at(joint), self.link.at(joint))

    def pull(self, joint: FloatArray, force: FloatArray) -> FloatArray:
        """Gradient with respect to the joint of force · position."""
        on_arm = self.arm.pull(joint, force)
        return np.where(self.on_arm, on_arm, self.link.pull(joint, force))

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""
        return type(self)(self.arm.take(index), self.link.take(index), pick(self.on_arm, index))
