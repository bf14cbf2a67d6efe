"""Two cross joints in series: their angles, ripple and best phase.

A cross joint turns the angle θ₁ of its driving yoke, counted from the normal of the plane of both
shafts, into θ₂ with tan θ₂ = cos β · tan θ₁: on (cos θ, sin θ) a matrix diag(1, cos β). Both joints
and the turn between their planes make one 2×2 matrix M. The speed ratio is det M ÷ |M u|² for a
unit vector u, so it lies between 1/κ and κ, the condition number of M.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.joint_angles_tilt import angle_between
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, cross, dot, norm, unit

__all__ = ["Column", "column_of"]

_STRAIGHT = 1e-9  # sine: two shafts in one line have no plane
_HALF = 180.0


@dataclass(frozen=True, slots=True)
class Column:
    """Column, intermediate shaft and input shaft.

    Parameters
    ----------
    upper, lower : ndarray, shape (n,)
        Angles of the joints, deg.
    between : ndarray, shape (n,)
        Angle from the upper joint's plane to the lower joint's about the intermediate shaft, deg.
    planar : ndarray of bool, shape (n,)
        Whether both joints bend, so that each has a plane.
    """

    upper: FloatArray
    lower: FloatArray
    between: FloatArray
    planar: BoolArray

    def _matrix(self, phase: FloatArray) -> tuple[FloatArray, ...]:
        """Entries a, b, c, d of the matrix, row by row."""
        first, second = np.cos(np.radians(self.upper)), np.cos(np.radians(self.lower))
        turn = np.radians(phase - self.between)
        # A quarter turn lies between a cross joint's yokes: cos → −sin, sin → cos.
        cosine, sine = -np.sin(turn), np.cos(turn)
        return cosine, -sine * first, sine * second, cosine * first * second

    def ripple(self, phase: FloatArray) -> FloatArray:
        """Highest less lowest speed ratio (n,) at a yoke phase (n,) in deg."""
        a, b, c, d = self._matrix(phase)
        determinant = a * d - b * c
        # κ − 1/κ is the difference of the squared singular values over the determinant; written
        # out, so that nothing cancels where they are nearly equal.
        return 2.0 * np.hypot(0.5 * (a * a + c * c - b * b - d * d), a * b + c * d) / determinant

    def ratio(self, phase: FloatArray, angle: FloatArray) -> FloatArray:
        """Speed ratio (n,) at a column angle (n,) in deg from the normal of the upper plane."""
        a, b, c, d = self._matrix(phase)
        cosine, sine = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        return (a * d - b * c) / ((a * cosine + b * sine) ** 2 + (c * cosine + d * sine) ** 2)

    @property
    def best_phase(self) -> FloatArray:
        """Yoke phase (n,) in deg of least ripple, in (−90, 90]: it lines the two planes up."""
        wrapped: FloatArray = _HALF / 2.0 - np.mod(_HALF / 2.0 - self.between, _HALF)
        return wrapped


def column_of(
    column: FloatArray, upper: FloatArray, lower: FloatArray, pinion: FloatArray
) -> Column:
    """Measure column and joints.

    Parameters
    ----------
    column, pinion : ndarray, shape (n, 3)
        Directions along column and input shaft, downward to the gear.
    upper, lower : ndarray, shape (n, 3)
        Centres of the two joints, mm.
    """
    first, shaft, last = unit(column), unit(lower - upper), unit(pinion)
    above, below = cross(first, shaft), cross(shaft, last)
    between = np.degrees(np.arctan2(dot(shaft, cross(above, below)), dot(above, below)))
    planar = (norm(above) > _STRAIGHT) & (norm(below) > _STRAIGHT)
    return Column(
        upper=angle_between(first, shaft),
        lower=angle_between(shaft, last),
        between=np.where(planar, between, 0.0),
        planar=planar,
    )
