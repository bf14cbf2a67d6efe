"""Tilt of studs in housings that ride on arms and links, batched over poses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm, rotate, scale, unit

__all__ = ["Tilts", "angle_between", "tilts"]


@dataclass(frozen=True, slots=True)
class Tilts:
    """Angles in deg, one per pose."""

    upper: FloatArray
    lower: FloatArray
    tie_rod_outer: FloatArray
    tie_rod_inner: FloatArray


def angle_between(a: FloatArray, b: FloatArray) -> FloatArray:
    """Angle (n,) in deg between vectors (n, 3); exact near 0 and 180."""
    return np.degrees(np.arctan2(norm(cross(a, b)), dot(a, b)))


def tilts(pose: Pose, studs: Mapping[str, FloatArray]) -> Tilts:
    """Measure how far studs have tilted in their housings since design.

    Parameters
    ----------
    pose : Pose
        n poses.
    studs : mapping of str to ndarray, shape (n, 3)
        Directions at design: `upper`, `lower`, `tie_rod`.
    """
    return Tilts(
        upper=_on_upper_arm(pose, studs["upper"]),
        lower=_on_lower(pose, studs["lower"]),
        tie_rod_outer=_on_tie_rod(pose, studs["tie_rod"]),
        tie_rod_inner=_off_rack(pose),
    )


def _tilt(pose: Pose, stud: FloatArray, housing: FloatArray) -> FloatArray:
    return angle_between(rotate(pose.rotation, stud), housing)


def _on_upper_arm(pose: Pose, stud: FloatArray) -> FloatArray:
    corner = pose.linkage.corner
    along = corner.upper_rear_inner - corner.upper_front_inner
    offset = corner.upper_outer - corner.upper_front_inner
    moved = pose.upper_outer - corner.upper_front_inner
    return _tilt(pose, stud, _swung(stud, unit(along), offset, moved))


def _on_lower(pose: Pose, stud: FloatArray) -> FloatArray:
    """Tilt in the one joint of a one-piece arm, or the larger of a split arm's two."""
    corner = pose.linkage.corner
    along = unit(corner.lower_rear_inner - corner.lower_front_inner)
    ends = (
        (corner.lower_front_inner, corner.lower_front_outer, pose.lower_front_outer),
        (corner.lower_rear_inner, corner.lower_rear_outer, pose.lower_rear_outer),
    )
    (pivot, joint, moved), _ = ends
    on_arm = _tilt(pose, stud, _swung(stud, along, joint - pivot, moved - pivot))
    links = [
        _tilt(pose, stud, _leant(stud, unit(joint - pivot), unit(moved - pivot)))
        for pivot, joint, moved in ends
    ]
    return np.where(corner.one_piece, on_arm, np.maximum(*links))


def _on_tie_rod(pose: Pose, stud: FloatArray) -> FloatArray:
    corner = pose.linkage.corner
    before = unit(corner.tie_rod_outer - corner.tie_rod_inner)
    now = unit(pose.tie_rod_outer - pose.tie_rod_inner)
    return _tilt(pose, stud, _leant(stud, before, now))


def _off_rack(pose: Pose) -> FloatArray:
    rod = pose.tie_rod_outer - pose.tie_rod_inner
    return angle_between(rod, np.broadcast_to(np.array([0.0, 1.0, 0.0]), rod.shape))


def _swung(
    vector: FloatArray, axis: FloatArray, offset: FloatArray, moved: FloatArray
) -> FloatArray:
    """Turn vectors about unit axes by the angle that takes one offset to the other."""
    start = offset - scale(dot(axis, offset), axis)
    end = moved - scale(dot(axis, moved), axis)
    square = dot(start, start)
    cosine, sine = dot(start, end) / square, dot(axis, cross(start, end)) / square
    along = scale(dot(axis, vector), axis)
    return along + scale(cosine, vector - along) + scale(sine, cross(axis, vector))


def _leant(vector: FloatArray, before: FloatArray, now: FloatArray) -> FloatArray:
    """Turn vectors by the least rotation that takes one unit direction to the other."""
    swing = cross(before, now)
    turned = cross(swing, vector)
    return vector + turned + scale(1.0 / (1.0 + dot(before, now)), cross(swing, turned))
