"""Rear corners to test with: an invented design, other layouts of it, plausible variations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.plugins.mechanics.samples import Point
from whybone_chassis.mechanics.rear_corner import RearCorner, Seats
from whybone_chassis.mechanics.rear_linkage import RearLinkage, assemble_rear
from whybone_chassis.mechanics.rear_windup import BushRates
from whybone_chassis.mechanics.vectors import FloatArray

POINTS = (
    "lower_front_inner",
    "lower_rear_inner",
    "lower_outer",
    "integral_on_arm",
    "integral_on_knuckle",
    "upper_front_inner",
    "upper_front_outer",
    "upper_rear_inner",
    "upper_rear_outer",
    "wheel_centre",
)
AHEAD: dict[str, Point] = {
    "lower_front_inner": (-2780, 400, 255),
    "lower_rear_inner": (-3080, 400, 215),
    "lower_outer": (-3010, 715, 215),
    "integral_on_arm": (-2880, 690, 222),
    "integral_on_knuckle": (-2880, 700, 335),
    "upper_front_inner": (-2850, 430, 470),
    "upper_front_outer": (-2860, 690, 488),
    "upper_rear_inner": (-3060, 440, 467.5),
    "upper_rear_outer": (-3045, 688, 480),
    "wheel_centre": (-2950, 780, 345),
}
"""Integral link ahead of the lower joint, arm below, joint below the wheel centre."""

BEHIND: dict[str, Point] = {name: (-5900.0 - x, y, z) for name, (x, y, z) in AHEAD.items()}
"""The same turned front to back: link behind the lower joint."""

RAISED: dict[str, Point] = AHEAD | {
    "lower_front_inner": (-2780, 400, 415),
    "lower_rear_inner": (-3080, 400, 400),
    "lower_outer": (-3010, 700, 405),
    "integral_on_arm": (-2880, 680, 408),
    "integral_on_knuckle": (-2880, 688, 505),
    "upper_front_inner": (-2850, 430, 610),
    "upper_front_outer": (-2860, 670, 625),
    "upper_rear_inner": (-3060, 440, 605),
    "upper_rear_outer": (-3045, 668, 618),
}
"""Lower joint above the wheel centre."""

LAYOUTS = {"ahead": AHEAD, "behind": BEHIND, "raised": RAISED}
SEATS = ((-2950.0, 560.0, 235.0), (-2950.0, 530.0, 620.0))
RATES = (21e3, 19e3, 24e3, 16e3, 12e3, 3e3, 4e3)


def rear_corner_of(points: dict[str, Point], count: int = 1) -> RearCorner:
    rows = {name: np.tile(np.array(points[name], dtype=float), (count, 1)) for name in POINTS}
    return RearCorner(
        **rows,
        loaded_radius=np.full(count, 345.0),
        static_camber=np.full(count, -0.6),
        static_toe=np.full(count, 0.1),
    )


def seats_of(count: int = 1, points: tuple[Point, Point] = SEATS) -> Seats:
    return Seats(*(np.tile(np.array(p, dtype=float), (count, 1)) for p in points))


def rates_of(count: int, rates: tuple[float, ...] = RATES) -> BushRates:
    return BushRates(*(np.full(count, rate) for rate in rates))


def rear(points: dict[str, Point] = AHEAD) -> RearLinkage:
    return assemble_rear(rear_corner_of(points), seats_of())


def stack_rear(parts: list[RearLinkage]) -> RearLinkage:
    corner = RearCorner(
        **{
            name: np.concatenate([getattr(p.corner, name) for p in parts])
            for name in RearCorner.__dataclass_fields__
        }
    )
    seats = [p.seats for p in parts if p.seats is not None]
    return assemble_rear(
        corner, Seats(*(np.concatenate([getattr(s, n) for s in seats]) for n in ("lower", "upper")))
    )


def _scattered(points: FloatArray, by: float, rng: np.random.Generator) -> FloatArray:
    return points + rng.uniform(-by, by, points.shape)


def plausible_rear(count: int, seed: int) -> RearLinkage:
    """Random rear corners of all layouts."""
    rng = np.random.default_rng(seed)
    parts = []
    for points in LAYOUTS.values():
        size = -(-count // len(LAYOUTS))
        corner = rear_corner_of(points, size)
        moved = {name: _scattered(getattr(corner, name), 15.0, rng) for name in POINTS}
        corner = replace(
            corner,
            **moved,
            static_camber=rng.uniform(-2.0, 1.0, size),
            static_toe=rng.uniform(-0.3, 0.3, size),
        )
        seats = seats_of(size)
        scattered = Seats(_scattered(seats.lower, 15.0, rng), _scattered(seats.upper, 15.0, rng))
        parts.append(assemble_rear(corner, scattered))
    return stack_rear(parts).take(np.arange(count))
