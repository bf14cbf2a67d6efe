"""The steering axis: the knuckle's screw axis for a small rack travel, spring length held.

For a one-piece lower arm it is the line of the two joints. For a split arm it is virtual: the
screw axis is exact, the classic construction (crossing of the two lower links seen from above,
joined to the upper joint) stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm, scale, unit
from whybone_chassis.mechanics.velocity import Hold, Motion, per_rack


@dataclass(frozen=True, slots=True)
class Axis:
    """Lines in space, one per row.

    Attributes
    ----------
    point : ndarray, shape (n, 3)
        A point on the line, mm.
    direction : ndarray, shape (n, 3)
        Unit vector, pointing up.
    pitch : ndarray, shape (n,)
        Advance along the line per rotation about it, mm/rad; 0 for a pure rotation.
    """

    point: FloatArray
    direction: FloatArray
    pitch: FloatArray

    @property
    def inclination(self) -> FloatArray:
        """Steering-axis inclination (n,) in degrees: positive with the top inward."""
        return np.degrees(np.arctan2(-self.direction[:, 1], self.direction[:, 2].copy()))

    @property
    def caster(self) -> FloatArray:
        """Caster (n,) in degrees: positive with the top rearward."""
        return np.degrees(np.arctan2(-self.direction[:, 0], self.direction[:, 2].copy()))

    def at_height(self, height: FloatArray) -> FloatArray:
        """Points (n, 3) in mm where the lines reach heights (n,)."""
        with np.errstate(all="ignore"):  # a level line has no such point: not finite
            share = (height - self.point[:, 2]) / self.direction[:, 2]
        return self.point + scale(share, self.direction)


def _upward(direction: FloatArray) -> FloatArray:
    return np.where(direction[:, 2:] < 0.0, -direction, direction)


def _through(start: FloatArray, end: FloatArray) -> Axis:
    """Lines through two points; NaN where they coincide."""
    return Axis(start, _upward(unit(end - start)), np.zeros(len(start)))


def screw_axis(pose: Pose, motion: Motion) -> Axis:
    """Screw axis of a motion.

    Parameters
    ----------
    pose : Pose
    motion : Motion
        Of the same rows.

    Returns
    -------
    Axis
        Its point is the one nearest the upper outer joint; NaN where the knuckle does not turn.
    """
    square = dot(motion.turn, motion.turn)
    turning = np.where(square > 0.0, square, np.nan)
    foot = scale(1.0 / turning, cross(motion.turn, motion.joint))
    return Axis(
        point=pose.upper_outer + foot,
        direction=_upward(unit(motion.turn)),
        pitch=dot(motion.turn, motion.joint) / turning,
    )


def steering_axis(pose: Pose) -> Axis:
    """Screw axis for a small rack travel with the spring's length held.

    Raises
    ------
    ValueError
        If the linkage has no spring.
    """
    return screw_axis(pose, per_rack(pose, Hold.SPRING))


def crossing(pose: Pose) -> FloatArray:
    """Point P where the two lower links' lines cross seen from above, half way between them.

    Returns
    -------
    ndarray, shape (n, 3)
        Mm; for a one-piece arm its joint. NaN where the links are parallel seen from above.
    """
    start, end = pose.lower_front_outer, pose.lower_rear_outer
    front = start - pose.linkage.corner.lower_front_inner
    rear = end - pose.linkage.corner.lower_rear_inner
    apart = end - start
    sine = front[:, 0] * rear[:, 1] - front[:, 1] * rear[:, 0]
    sine = np.where(sine != 0.0, sine, np.nan)
    along_front = (apart[:, 0] * rear[:, 1] - apart[:, 1] * rear[:, 0]) / sine
    along_rear = (apart[:, 0] * front[:, 1] - apart[:, 1] * front[:, 0]) / sine
    return 0.5 * (start + scale(along_front, front) + end + scale(along_rear, rear))


def classic_axis(pose: Pose) -> Axis:
    """Line from the crossing point P of the lower links to the upper outer joint."""
    return _through(crossing(pose), pose.upper_outer)


def distance(axis: Axis, point: FloatArray) -> FloatArray:
    """Distance (n,) in mm of points (n, 3) from the lines."""
    return norm(cross(axis.direction, point - axis.point))


def _heading(pose: Pose) -> FloatArray:
    """Return unit vectors (n, 3) along the ground, forward in the wheel plane."""
    spin = pose.spin_axis
    return unit(np.stack((spin[:, 1], -spin[:, 0], np.zeros(len(spin))), axis=-1))


def at_ground(axis: Axis, pose: Pose) -> FloatArray:
    """Points (n, 3) in mm where the lines meet the ground (the contact centre's height)."""
    return axis.at_height(pose.contact_centre[:, 2])


def distance_at_ground(axis: Axis, pose: Pose) -> FloatArray:
    """Distance (n,) in mm between this axis and its mirror image on the other wheel, at ground."""
    return 2.0 * at_ground(axis, pose)[:, 1]


def trail(axis: Axis, pose: Pose) -> FloatArray:
    """Caster trail (n,) in mm: positive when the axis meets the ground ahead of the contact."""
    return dot(at_ground(axis, pose) - pose.contact_centre, _heading(pose))


def _leftward(pose: Pose) -> FloatArray:
    heading = _heading(pose)
    return np.stack((-heading[:, 1], heading[:, 0], np.zeros(len(heading))), axis=-1)


def scrub_radius(axis: Axis, pose: Pose) -> FloatArray:
    """Scrub radius (n,) in mm: positive when the axis meets the ground inboard of the contact."""
    return dot(pose.contact_centre - at_ground(axis, pose), _leftward(pose))


def offset_at_wheel_centre(axis: Axis, pose: Pose) -> FloatArray:
    """Offset (n,) in mm at the wheel centre's height: positive with the axis inboard."""
    centre = pose.wheel_centre
    return dot(centre - axis.at_height(centre[:, 2].copy()), _leftward(pose))


def caster_rate(axis: Axis, motion: Motion) -> FloatArray:
    """Rate (n,) of the caster of the knuckle's material line along the axis, deg per mm.

    That line stays the steering axis of a one-piece arm; a virtual axis also moves in the
    knuckle, which this leaves out.
    """
    line, change = axis.direction, cross(motion.turn, axis.direction)
    square = line[:, 0] ** 2 + line[:, 2] ** 2
    return np.degrees((line[:, 0] * change[:, 2] - line[:, 2] * change[:, 0]) / square)
