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
SWEEP_MM = 10.0
TINY = 1e-30
Number = npt.NDArray[Any]
KNUCKLE = ("lower_outer", "integral_on_knuckle", "upper_front_outer", "upper_rear_outer")


def slopes(function: Callable[[Number], Number], at: FloatArray) -> FloatArray:
    """Complex-step derivatives: no difference is taken, so no digits are lost."""
    steps = 1j * TINY * np.eye(len(at))
    return np.stack([np.imag(function(at + step)) / TINY for step in steps], axis=-1)


def turned(rodrigues: Number, point: Number) -> Number:
    """Turn a point by a Rodrigues vector."""
    twice = 2.0 / (1.0 + rodrigues @ rodrigues)
    first = np.cross(rodrigues, point)
    return np.asarray(point + twice * (first + np.cross(rodrigues, first)))


@dataclass(frozen=True)
class RearReference:
    """One row of a rear corner as plain arrays."""

    points: dict[str, FloatArray]

    @classmethod
    def of(cls, corner: RearCorner, row: int) -> Self:
        fields = RearCorner.__dataclass_fields__
        return cls({name: getattr(corner, name)[row] for name in fields})

    def on_knuckle(self, x: Number, name: str) -> Number:
        centre = self.points["wheel_centre"]
        return np.asarray(centre + x[:3] + turned(x[3:6], self.points[name] - centre))

    def on_arm(self, x: Number, point: FloatArray) -> Number:
        """Turn a point with the arm, by sine and cosine of its angle."""
        pivot = self.points["lower_front_inner"]
        line = self.points["lower_rear_inner"] - pivot
        axis = line / np.linalg.norm(line)
        rest = point - pivot
        along = axis * (axis @ rest)
        across = rest - along
        return np.asarray(
            pivot + along + np.cos(x[6]) * across + np.sin(x[6]) * np.cross(axis, across)
        )

    def spans(self, x: Number) -> list[Number]:
        """Upper front, upper rear and integral link."""
        ends = [
            self.on_knuckle(x, f"upper_{side}_outer") - self.points[f"upper_{side}_inner"]
            for side in ("front", "rear")
        ]
        arm = self.on_arm(x, self.points["integral_on_arm"])
        return [*ends, self.on_knuckle(x, "integral_on_knuckle") - arm]

    def gaps(self, x: Number, travel: float) -> Number:
        design = self.spans(np.zeros(7))
        joint = self.on_knuckle(x, "lower_outer") - self.on_arm(x, self.points["lower_outer"])
        lengths = [
            (now @ now - then @ then) / (2.0 * np.sqrt(then @ then))
            for now, then in zip(self.spans(x), design, strict=True)
        ]
        return np.array([*joint, *lengths, x[2] - travel])

    def solve(self, x: FloatArray, travel: float) -> FloatArray:
        scale = np.array([1.0, 1.0, 1.0, 300.0, 300.0, 300.0, 300.0])
        found = least_squares(
            lambda y: self.gaps(y / scale, travel),
            x * scale,
            jac=lambda y: slopes(lambda z: self.gaps(z, travel), y / scale) / scale,
            method="lm",
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
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
