"""Rows for the check of a rear corner, and one position of it by scipy's general solver."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from tests.plugins.mechanics.rear_reference import Number, RearReference, slopes, turned
from tests.plugins.mechanics.rear_samples import (
    AHEAD,
    LAYOUTS,
    POINTS,
    RATES,
    SEATS,
    rear_corner_of,
)
from tracker.contract.kit import Row
from whybone_chassis.mechanics.rear_windup import BushRates

Vector = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665  # m/s², 3rd CGPM 1901

WHEEL = {"loaded_radius": 345.0, "static_camber": -0.6, "static_toe": 0.1}
SPRING = {"spring_lower": SEATS[0], "spring_upper": SEATS[1]}
BUSHES = {f"{name}_rate": r for name, r in zip(BushRates.__dataclass_fields__, RATES, strict=True)}
VEHICLE = {
    "wheelbase": 2950.0,
    "cg_height": 700.0,
    "brake_share_rear": 0.3,
    "drive_share_rear": 1.0,
}
PLAIN: dict[str, Any] = {"wheel_track": 1560.0, "travel": 60.0, "unsprung_mass": 44.0}

ROWS: dict[str, dict[str, Any]] = {
    layout: {name: tuple(map(float, points[name])) for name in POINTS} | WHEEL | PLAIN
    for layout, points in LAYOUTS.items()
}
"""Rear corners with what they cannot do without, by layout."""

FULL = {layout: row | SPRING | BUSHES | VEHICLE for layout, row in ROWS.items()}
"""The same with spring, bushes and vehicle."""


def draw_rear(generator: np.random.Generator) -> dict[str, Any]:
    """Draw a plausible rear corner with everything given."""
    row = FULL[list(FULL)[generator.integers(len(FULL))]]
    moved = {
        key: tuple((np.array(value) + generator.uniform(-10.0, 10.0, 3)).tolist())
        for key, value in row.items()
        if isinstance(value, tuple)
    }
    rates = {key: row[key] * generator.uniform(0.5, 2.0) for key in BUSHES}
    angles = {
        "static_camber": generator.uniform(-2.0, 1.0),
        "static_toe": generator.uniform(-0.3, 0.3),
        "trim": generator.uniform(-15.0, 15.0),
    }
    return row | moved | rates | angles


@dataclass(frozen=True)
class RearWheel:
    """A left rear wheel in one position, `x` as in `RearReference`."""

    row: Mapping[str, Any]
    reference: RearReference
    x: Vector

    @classmethod
    def at(cls, row: Row, travel: float = 0.0) -> Self:
        reference = RearReference.of(rear_corner_of({name: row[name] for name in POINTS}), 0)
        x = reference.sweep(travel)
        assert x is not None
        return cls(row, reference, x)

    def spin(self, x: Number) -> Number:
        toe, camber = np.radians([self.row["static_toe"], self.row["static_camber"]])
        axis = [np.sin(toe) * np.cos(camber), np.cos(toe) * np.cos(camber), -np.sin(camber)]
        return turned(x[3:6], np.array(axis))

    def toe(self, x: Number) -> Number:
        spin = self.spin(x)
        return np.asarray(np.degrees(1.0) * np.arctan(spin[0] / spin[1]))

    def camber(self, x: Number) -> Number:
        return np.asarray(-np.degrees(1.0) * np.arcsin(self.spin(x)[2]))

    def contact(self, x: Number) -> Number:
        spin = self.spin(x)
        up = np.array([0.0, 0.0, 1.0]) - spin * spin[2]
        centre = self.reference.centre + x[:3]
        return np.asarray(centre - self.row["loaded_radius"] * up / np.sqrt(up @ up))

    def seat(self, x: Number) -> Number:
        seat: Number = self.reference.on_arm(x, np.array([self.row["spring_lower"]]))[0]
        return seat

    def spring_length(self, x: Number) -> Number:
        span = self.seat(x) - np.array(self.row["spring_upper"])
        return np.asarray(np.sqrt(span @ span))

    def fixed(self, x: Number, point: Vector) -> Number:
        """Where a point goes that is at `point` now and fixed to the knuckle."""
        centre = self.reference.centre + self.x[:3]
        back = self.reference.rotation(self.x).inv().apply(point - centre)
        return np.asarray(self.reference.centre + x[:3] + turned(x[3:6], back))

    def rate(self, value: Callable[[Number], Number]) -> Any:  # noqa: ANN401  number or vector
        """Rate of a value per mm of wheel travel."""
        jacobian = slopes(lambda x: self.reference.gaps(x, 0.0), self.x)
        along = np.linalg.solve(jacobian, np.eye(7)[6])
        return slopes(lambda x: np.atleast_1d(value(x)), self.x) @ along

    def forces(self, case: Mapping[str, Any]) -> dict[str, Any]:
        """Forces that do no work with the loads in any motion of the freed bodies."""
        knuckle = case["by"] == "knuckle"
        contact, centre = np.real(self.contact(self.x)), self.reference.centre + self.x[:3]
        weight = self.row["unsprung_mass"] * STANDARD_GRAVITY
        pushes = [
            (contact, np.array([case["fx"] if knuckle else 0.0, case["fy"], case["fz"]])),
            (centre, np.array([0.0 if knuckle else case["fx"], 0.0, -weight])),
        ]

        def works(x: Number) -> Number:
            done = sum(force @ self.fixed(x, place) for place, force in pushes)
            ahead = self.fixed(x, centre + np.array([1.0, 0.0, 0.0])) - self.fixed(x, centre)
            aside = self.fixed(x, centre + np.array([0.0, 1.0, 0.0])) - self.fixed(x, centre)
            done = done + 1e3 * case["mz"] * 0.5 * (ahead[1] - aside[0])
            done = done + case["bar_force"] * self.seat(x)[2]
            return np.array([done + case["stop_force"] * self.spring_length(x)])

        def constraints(x: Number) -> Number:
            gaps = self.reference.gaps(x, 0.0)
            return np.array([*gaps[:3], *-gaps[3:6], self.spring_length(x)])

        scale = np.array([1.0, 1.0, 1.0, 0.01, 0.01, 0.01, 0.01])
        matrix = slopes(constraints, self.x).T * scale[:, None]
        found = np.linalg.solve(matrix, -slopes(works, self.x)[0] * scale)
        return {
            "lower_joint_force": float(np.linalg.norm(found[:3])),
            "upper_front_force": found[3],
            "upper_rear_force": found[4],
            "integral_link_force": found[5],
            "spring_force": found[6],
        }


DEGENERATE: tuple[Row, ...] = (
    {"integral_on_arm": (1.0, 2.0, 3.0), "integral_on_knuckle": (1.0, 2.0, 3.0)},
    {"lower_front_inner": (1.0, 2.0, 3.0), "lower_rear_inner": (1.0, 2.0, 3.0)},
    {"upper_front_inner": (1.0, 2.0, 3.0), "upper_front_outer": (1.0, 2.0, 3.0)},
    {"upper_rear_outer": AHEAD["lower_outer"], "lower_outer": AHEAD["lower_outer"]},
    {
        "lower_front_inner": (-2780.0, 400.0, 235.0),
        "lower_rear_inner": (-3080.0, 400.0, 235.0),
        "lower_outer": (-2900.0, 400.0, 235.0),
    },
    {"spring_lower": (1.0, 2.0, 3.0), "spring_upper": (1.0, 2.0, 3.0)},
    # The spring's line through the arm's pivot line.
    {
        "lower_front_inner": (-2780.0, 400.0, 235.0),
        "lower_rear_inner": (-3080.0, 400.0, 235.0),
        "spring_lower": (-2930.0, 560.0, 235.0),
        "spring_upper": (-2930.0, 300.0, 235.0),
        "trim": 0.0,
    },
    {"loaded_radius": 0.0},
    {"static_camber": 90.0},
    {"wheel_track": 0.0},
    {"travel": -60.0},
    {"travel": 600.0},
    {"trim": 600.0},
    {"unsprung_mass": -1.0},
    {"wheelbase": 0.0},
    {"brake_share_rear": 1.5},
    {"integral_rate": 0.0},
    {"wheel_centre": (1e300, -1e300, 1e300)},
    {"upper_front_outer": (1e160, 1e160, 1e160)},
    dict.fromkeys(POINTS, (1e-300, 2e-300, 3e-300)),
)
"""What makes a good corner one without some answer."""
