"""An independent solution of one corner's pose: scipy's general solvers, one position at a time.

Unknowns are the wheel centre's translation and the Rodrigues vector of the knuckle; all five
lengths and the height are equations; nothing is shared with the library under test.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from scipy.optimize import least_squares, root
from scipy.spatial.transform import Rotation

from whybone_chassis.mechanics.assembly import Linkage
from whybone_chassis.mechanics.vectors import FloatArray

#: Longest step of wheel or rack travel from one warm start to the next, mm.
SWEEP_MM = 8.0


@dataclass(frozen=True)
class Reference:
    """One row of a linkage as plain arrays: inner ends, outer ends from the wheel centre."""

    inner: FloatArray
    outer: FloatArray
    centre: FloatArray
    square: FloatArray

    @classmethod
    def of(cls, linkage: Linkage, row: int) -> Self:
        c = linkage.corner
        inner = np.array(
            [
                c.upper_front_inner[row],
                c.upper_rear_inner[row],
                c.lower_front_inner[row],
                c.lower_rear_inner[row],
                c.tie_rod_inner[row],
            ]
        )
        outer = np.array(
            [
                c.upper_outer[row],
                c.upper_outer[row],
                c.lower_front_outer[row],
                c.lower_rear_outer[row],
                c.tie_rod_outer[row],
            ]
        )
        centre = c.wheel_centre[row]
        return cls(inner, outer - centre, centre, ((outer - inner) ** 2).sum(axis=1))

    def _spans(self, x: FloatArray, rack: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        a, b, c = x[3:]
        s = 2.0 / (1.0 + a * a + b * b + c * c)
        u, v, w = s * a, s * b, s * c
        turned = np.array(
            [
                [1 - b * v - c * w, a * v + w, a * w - v],
                [a * v - w, 1 - a * u - c * w, b * w + u],
                [a * w + v, b * w - u, 1 - a * u - b * v],
            ]
        )
        arms = self.outer @ turned
        spans = arms + (x[:3] + self.centre) - self.inner
        spans[4, 1] -= rack
        return arms, spans, np.array([[s, -w, v], [w, s, -u], [-v, u, s]])

    def gaps(self, x: FloatArray, travel: float, rack: float) -> FloatArray:
        _, spans, _ = self._spans(x, rack)
        gaps = np.empty(6)
        gaps[:5] = np.einsum("ij,ij->i", spans, spans)
        gaps[:5] -= self.square
        gaps[5] = x[2] - travel
        return gaps

    def jacobian(self, x: FloatArray, travel: float, rack: float) -> FloatArray:
        arms, d, by_vector = self._spans(x, rack)
        d *= 2.0
        turn = np.empty((5, 3))
        turn[:, 0] = arms[:, 1] * d[:, 2] - arms[:, 2] * d[:, 1]
        turn[:, 1] = arms[:, 2] * d[:, 0] - arms[:, 0] * d[:, 2]
        turn[:, 2] = arms[:, 0] * d[:, 1] - arms[:, 1] * d[:, 0]
        out = np.zeros((6, 6))
        out[:5, :3], out[:5, 3:], out[5, 2] = d, turn @ by_vector, 1.0
        return out

    def solve(self, x: FloatArray, travel: float, rack: float) -> FloatArray:
        """General least squares, then scipy's own root finder to the last digits."""
        fitted = least_squares(
            self.gaps,
            x,
            jac=self.jacobian,
            args=(travel, rack),
            method="lm",
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
        )
        polished = root(
            self.gaps, fitted.x, args=(travel, rack), jac=self.jacobian, method="lm", tol=1e-15
        )
        best: FloatArray = min(
            (fitted.x, polished.x), key=lambda y: float(np.abs(self.gaps(y, travel, rack)).max())
        )
        return best

    def sweep(self, travel: float, rack: float) -> FloatArray | None:
        """Follow small steps from the design position; None where a step does not close."""
        steps = max(1, int(np.ceil(max(abs(travel), abs(rack)) / SWEEP_MM)))
        x = np.zeros(6)
        for share in np.arange(1, steps + 1) / steps:
            x = self.solve(x, share * travel, share * rack)
            if np.abs(self.gaps(x, share * travel, share * rack)).max() > 1e-8:
                return None
        return x

    def points(self, x: FloatArray) -> FloatArray:
        """Upper, lower front, lower rear and tie-rod outer joints and the wheel centre, (5, 3)."""
        arms, _, _ = self._spans(x, 0.0)
        return np.vstack([arms[1:], np.zeros(3)]) + x[:3] + self.centre

    @staticmethod
    def rotation(x: FloatArray) -> Rotation:
        return Rotation.from_quat([*x[3:], 1.0])


def seat_on_arm(
    pivot: FloatArray, other: FloatArray, joint: FloatArray, moved: FloatArray, seat: FloatArray
) -> FloatArray:
    """Turn `seat` about the pivot line by the angle that takes `joint` to `moved`."""
    axis = (other - pivot) / np.linalg.norm(other - pivot)
    start, end = (p - pivot - axis * (axis @ (p - pivot)) for p in (joint, moved))
    angle = np.arctan2(axis @ np.cross(start, end), start @ end)
    turned: FloatArray = pivot + Rotation.from_rotvec(angle * axis).apply(seat - pivot)
    return turned


def seat_on_link(
    pivot: FloatArray, joint: FloatArray, moved: FloatArray, seat: FloatArray
) -> FloatArray:
    """Turn `seat` about the pivot by the least rotation that takes `joint` to `moved`."""
    start, end = joint - pivot, moved - pivot
    normal = np.cross(start, end)
    size = np.linalg.norm(normal)
    if size == 0.0:
        return seat
    angle = np.arctan2(size, start @ end)
    turned: FloatArray = pivot + Rotation.from_rotvec(angle * normal / size).apply(seat - pivot)
    return turned
