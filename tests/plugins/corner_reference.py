"""One position of a corner by scipy's general solver, and what follows from it by hand.

Nothing of the mechanics library enters but the closing of the lengths in
`tests.plugins.mechanics.reference`, which is scipy's.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from tests.plugins.mechanics.reference import Reference, seat_on_arm, seat_on_link
from tests.plugins.mechanics.samples import corner_of
from whybone_chassis.mechanics.assembly import assemble

Vector = NDArray[np.float64]

# Of the unknowns, in mm of movement. Positions round at 1e-13 mm, slopes hence at 1e-12; the
# differences err by (step ÷ 100 mm)⁴, which is below.
STEP = 5e-2


def _array(row: Mapping[str, Any], key: str) -> Vector:
    return np.array(row[key], dtype=float)


@dataclass(frozen=True)
class Wheel:
    """A left wheel in one position.

    Parameters
    ----------
    row : mapping
        Ports of the corner.
    reference : Reference
        Its lengths.
    x : ndarray, shape (6,)
        Translation of the wheel centre and Rodrigues vector of the knuckle.
    rack : float
        Rack travel, mm.
    """

    row: Mapping[str, Any]
    reference: Reference
    x: Vector
    rack: float

    @classmethod
    def at(cls, row: Mapping[str, Any], travel: float = 0.0, rack: float = 0.0) -> Self:
        """Follow small steps from the design position."""
        reference = Reference.of(assemble(corner_of(dict(row))), 0)
        x = reference.sweep(travel, rack)
        assert x is not None
        return cls(row, reference, x, rack)

    def moved(self, x: Vector) -> Self:
        return type(self)(self.row, self.reference, x, self.rack)

    @property
    def turn(self) -> Rotation:
        return self.reference.rotation(self.x)

    def point(self, key: str) -> Vector:
        """Where a design point that is fixed to the knuckle is now."""
        centre = _array(self.row, "wheel_centre")
        now: Vector = self.turn.apply(_array(self.row, key) - centre) + centre + self.x[:3]
        return now

    @property
    def inner(self) -> Vector:
        """Where the tie rod's inner joint is."""
        inner: Vector = _array(self.row, "tie_rod_inner") + np.array([0.0, self.rack, 0.0])
        return inner

    @property
    def spin(self) -> Vector:
        toe, camber = np.radians([self.row["static_toe"], self.row["static_camber"]])
        axis = [np.sin(toe) * np.cos(camber), np.cos(toe) * np.cos(camber), -np.sin(camber)]
        now: Vector = self.turn.apply(axis)
        return now

    @property
    def steer(self) -> float:
        """Steer angle, left positive, deg."""
        return -float(np.degrees(np.arctan2(self.spin[0], self.spin[1])))

    @property
    def toe(self) -> float:
        return -self.steer

    @property
    def camber(self) -> float:
        return float(np.degrees(np.arcsin(-self.spin[2])))

    @property
    def contact(self) -> Vector:
        """Contact centre: down the wheel plane by the loaded radius."""
        upright = np.array([0.0, 0.0, 1.0])
        down = -(upright - self.spin * (self.spin @ upright))
        radius = float(self.row["loaded_radius"])
        contact: Vector = self.point("wheel_centre") + radius * down / np.linalg.norm(down)
        return contact

    @property
    def seat(self) -> Vector:
        """Where the spring's lower seat is."""
        row = self.row
        place = "front" if row["spring_on"] == "lower-front" else "rear"
        one_piece = row["lower_front_outer"] == row["lower_rear_outer"]
        place = "front" if one_piece else place
        pivot, joint = _array(row, f"lower_{place}_inner"), _array(row, f"lower_{place}_outer")
        moved, seat = self.point(f"lower_{place}_outer"), _array(row, "spring_lower")
        if one_piece:
            return seat_on_arm(pivot, _array(row, "lower_rear_inner"), joint, moved, seat)
        return seat_on_link(pivot, joint, moved, seat)

    @property
    def spring_length(self) -> float:
        return float(np.linalg.norm(self.seat - _array(self.row, "spring_upper")))

    def per_travel(self) -> Vector:
        """Rate of the unknowns per mm of wheel-centre rise, rack held."""
        jacobian = self.reference.jacobian(self.x, 0.0, self.rack)
        rate: Vector = np.linalg.solve(jacobian, np.eye(6)[5])
        return rate

    def per_rack(self, *, spring_held: bool) -> Vector:
        """Rate of the unknowns per mm of rack travel, height or spring length held."""
        jacobian = self.reference.jacobian(self.x, 0.0, self.rack)
        if spring_held:
            jacobian[5] = [
                self.slope(lambda wheel: wheel.spring_length, unit) for unit in np.eye(6)
            ]
        pull = 2.0 * (self.point("tie_rod_outer") - self.inner)[1]
        rate: Vector = np.linalg.solve(jacobian, pull * np.eye(6)[4])
        return rate

    def slope(self, value: Callable[[Self], Any], rate: Vector) -> Any:  # noqa: ANN401  a number or a vector
        """Slope of a value along a rate of the unknowns, by differences of fourth order."""
        step = STEP / max(1.0, float(np.abs(rate[:3]).max()), 300.0 * float(np.abs(rate[3:]).max()))
        far, near = (
            value(self.moved(self.x + reach * rate)) - value(self.moved(self.x - reach * rate))
            for reach in (2.0 * step, step)
        )
        return (8.0 * near - far) / (12.0 * step)

    def screw(self) -> tuple[Vector, Vector, float]:
        """Point nearest the wheel centre, upward direction and pitch of the steering axis."""
        rate = self.per_rack(spring_held=True)
        velocity = self.slope(lambda wheel: wheel.point("wheel_centre"), rate)
        back = self.turn.inv()
        spun = self.slope(lambda wheel: (wheel.turn * back).as_rotvec(), rate)
        square = spun @ spun
        point = self.point("wheel_centre") + np.cross(spun, velocity) / square
        direction = spun / np.sqrt(square)
        if direction[2] < 0.0:
            direction = -direction
        return point, direction, float(spun @ velocity / square)

    def axis_at(self, height: float) -> Vector:
        """Point of the steering axis at a height."""
        point, direction, _ = self.screw()
        at: Vector = point + direction * (height - point[2]) / direction[2]
        return at
