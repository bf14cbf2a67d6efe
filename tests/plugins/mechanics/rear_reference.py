"""An independent solution of one rear corner: scipy's general solver, one position at a time.

Unknowns are the knuckle's translation and Rodrigues vector and the arm's angle; the ball joint,
three lengths and the height are equations. The library under test gives nothing but the points.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from whybone_chassis.mechanics.rear_corner import RearCorner
from whybone_chassis.mechanics.vectors import FloatArray

#: Longest step of wheel travel from one warm start to the next, mm.
SWEEP_MM = 20.0
TINY = 1e-30
#: Makes angles lengths in the general solver, mm.
REACH = 300.0
Number = npt.NDArray[Any]
KNUCKLE = ("lower_outer", "integral_on_knuckle", "upper_front_outer", "upper_rear_outer")


def slopes(function: Callable[[Number], Number], at: FloatArray) -> FloatArray:
    """Complex-step derivatives: no difference is taken, so no digits are lost."""
    steps = 1j * TINY * np.eye(len(at))
    return np.stack([np.imag(function(at + step)) / TINY for step in steps], axis=-1)


def _cross(a: Number, b: Number) -> Number:
    """Products of one vector with the rows of another array."""
    x, y, z = b.T
    return np.array([a[1] * z - a[2] * y, a[2] * x - a[0] * z, a[0] * y - a[1] * x]).T


def turned(vector: Number, points: Number) -> Number:
    """Turn points (k, 3) by a Rodrigues vector."""
    first = _cross(vector, points)
    twice = 2.0 / (1.0 + vector @ vector)
    return np.asarray(points + twice * (first + _cross(vector, first)))


@dataclass(frozen=True)
class RearReference:
    """One row of a rear corner as plain arrays.

    `outer` (4, 3): `KNUCKLE` from the wheel centre; `inner` (2, 3): the upper links' body joints;
    `arm` (2, 3): lower joint and integral link's end on the arm.
    """

    centre: FloatArray
    outer: FloatArray
    inner: FloatArray
    arm: FloatArray
    pivot: FloatArray
    axis: FloatArray
    square: FloatArray

    @classmethod
    def of(cls, corner: RearCorner, row: int) -> Self:
        centre = corner.wheel_centre[row]
        pivot = corner.lower_front_inner[row]
        line = corner.lower_rear_inner[row] - pivot
        outer = np.array([getattr(corner, name)[row] for name in KNUCKLE])
        inner = np.array([corner.upper_front_inner[row], corner.upper_rear_inner[row]])
        arm = np.array([corner.lower_outer[row], corner.integral_on_arm[row]])
        spans = np.array([*(outer[2:] - inner), outer[1] - arm[1]])
        return cls(
            centre=centre,
            outer=outer - centre,
            inner=inner,
            arm=arm,
            pivot=pivot,
            axis=line / np.linalg.norm(line),
            square=(spans**2).sum(axis=1),
        )

    def knuckle(self, x: Number, points: FloatArray) -> Number:
        """Positions of points given from the wheel centre."""
        return np.asarray(self.centre + x[:3] + turned(x[3:6], points))

    def on_arm(self, x: Number, points: FloatArray) -> Number:
        """Turn points (k, 3) with the arm, by sine and cosine of its angle."""
        rest = points - self.pivot
        along = np.outer(rest @ self.axis, self.axis)
        across = rest - along
        turned = np.cos(x[6]) * across + np.sin(x[6]) * _cross(self.axis, across)
        return np.asarray(self.pivot + along + turned)

    def gaps(self, x: Number, travel: float) -> Number:
        outer, arm = self.knuckle(x, self.outer), self.on_arm(x, self.arm)
        spans = np.array([*(outer[2:] - self.inner), outer[1] - arm[1]])
        lengths = ((spans * spans).sum(axis=1) - self.square) / (2.0 * np.sqrt(self.square))
        return np.array([*(outer[0] - arm[0]), *lengths, x[2] - travel])

    def solve(self, x: FloatArray, travel: float) -> FloatArray:
        scale = np.array([1.0, 1.0, 1.0, REACH, REACH, REACH, REACH])
        found = least_squares(
            lambda y: self.gaps(y / scale, travel),
            x * scale,
            jac=lambda y: slopes(lambda z: self.gaps(z, travel), y / scale) / scale,
            method="lm",
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        best: FloatArray = found.x / scale
        return best

    def sweep(self, travel: float) -> FloatArray | None:
        """Follow small steps from the design position; None where a step does not close."""
        steps = max(1, int(np.ceil(abs(travel) / SWEEP_MM)))
        x = np.zeros(7)
        for share in np.arange(1, steps + 1) / steps:
            x = self.solve(x, share * travel)
            if np.abs(self.gaps(x, share * travel)).max() > 1e-9:
                return None
        return x

    @staticmethod
    def rotation(x: FloatArray) -> Rotation:
        return Rotation.from_quat([*x[3:6], 1.0])
