"""Best rigid motion between two sets of points and directions, and its screw.

Rotations only: a mirror image is another part. Kabsch's method on the singular values of the
covariance, batched.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm, rotate, scale

__all__ = ["Motion", "Screw", "register", "screw_of"]

_NO_TURN = 1e-9  # rad: far above the rounding of a rotation (1e-16), far below anything built


@dataclass(frozen=True, slots=True)
class Motion:
    """A proper rotation followed by a translation, per row.

    Parameters
    ----------
    rotation : ndarray, shape (n, 3, 3)
        With determinant +1.
    translation : ndarray, shape (n, 3)
        In the unit of the points.
    """

    rotation: FloatArray
    translation: FloatArray

    def points(self, points: FloatArray) -> FloatArray:
        """Move points (n, k, 3)."""
        moved: FloatArray = self.directions(points) + self.translation[:, None, :]
        return moved

    def directions(self, directions: FloatArray) -> FloatArray:
        """Turn directions (n, k, 3)."""
        return rotate(self.rotation[:, None, :, :], directions)


def register(
    source: FloatArray,
    target: FloatArray,
    source_directions: FloatArray | None = None,
    target_directions: FloatArray | None = None,
) -> Motion:
    """Find the motion that lays points and directions onto others with the least squares.

    Parameters
    ----------
    source, target : ndarray, shape (n, k, 3)
        Points, paired by their place.
    source_directions, target_directions : ndarray, shape (n, m, 3), optional
        Vectors that turn but do not shift, paired likewise; their length is their weight against
        the points.

    Returns
    -------
    Motion
        The best proper rotation and translation. Where several are equally good (points on one
        line), one of them.

    References
    ----------
    W. Kabsch, Acta Crystallographica A 34 (1978) 827.
    """
    middle, goal = source.mean(axis=1), target.mean(axis=1)
    spread = _covariance(source - middle[:, None, :], target - goal[:, None, :])
    if source_directions is not None and target_directions is not None:
        spread = spread + _covariance(source_directions, target_directions)
    left, _, right = np.linalg.svd(spread)
    hand = np.sign(np.linalg.det(left) * np.linalg.det(right))
    left[:, :, 2] *= hand[:, None]  # the least singular value pays for a proper rotation
    rotation = np.einsum("nij,njk->nki", left, right)
    return Motion(rotation, goal - rotate(rotation, middle))


def _covariance(source: FloatArray, target: FloatArray) -> FloatArray:
    spread: FloatArray = np.einsum("nki,nkj->nij", source, target)
    return spread


@dataclass(frozen=True, slots=True)
class Screw:
    """A motion as a turn about a line and a slide along it, per row.

    Parameters
    ----------
    axis : ndarray, shape (n, 3)
        Unit vector; NaN where nothing turns.
    angle : ndarray, shape (n,)
        Turn about it, right-handed, rad, 0 to π.
    point : ndarray, shape (n, 3)
        Point of the line nearest to the origin; NaN where nothing turns.
    slide : ndarray, shape (n,)
        Shift along the axis; the whole length of the shift where nothing turns.
    """

    axis: FloatArray
    angle: FloatArray
    point: FloatArray
    slide: FloatArray


def screw_of(motion: Motion) -> Screw:
    """Return the screw of a motion (Chasles).

    Parameters
    ----------
    motion : Motion
        Proper rotations and translations.
    """
    rotation, shift = motion.rotation, motion.translation
    # The axis is what the rotation leaves alone; its antisymmetric part says which way it turns.
    axis = np.linalg.svd(rotation - np.eye(3))[2][:, 2, :]
    twist = 0.5 * np.stack(
        [
            rotation[:, 2, 1] - rotation[:, 1, 2],
            rotation[:, 0, 2] - rotation[:, 2, 0],
            rotation[:, 1, 0] - rotation[:, 0, 1],
        ],
        axis=-1,
    )
    axis = scale(np.where(_points_back(axis, twist), -1.0, 1.0), axis)
    cosine = 0.5 * (rotation[:, 0, 0] + rotation[:, 1, 1] + rotation[:, 2, 2] - 1.0)
    angle = np.arctan2(np.abs(dot(axis, twist)), cosine)
    still = angle <= _NO_TURN
    axis = np.where(still[:, None], np.nan, axis)
    slide = np.where(still, norm(shift), dot(axis, shift))
    across = shift - scale(slide, axis)
    half = np.where(still, np.nan, 0.5 * angle)
    point = 0.5 * (across + scale(1.0 / np.tan(half), cross(axis, across)))
    return Screw(axis, np.where(still, 0.0, angle), point, slide)


def _points_back(axis: FloatArray, twist: FloatArray) -> np.ndarray:
    """Tell which axes point against the turn; at a half turn, against their largest component."""
    along = dot(axis, twist)
    rows = np.arange(len(axis))
    leading = axis[rows, np.argmax(np.abs(axis) > 0.5, axis=-1)]  # noqa: PLR2004  one is at least 1/√3
    backward: np.ndarray = np.where(np.abs(along) > _NO_TURN, along < 0.0, leading < 0.0)
    return backward
