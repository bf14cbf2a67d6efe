"""Corners to test with: an invented design, and plausible variations of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.corner import LOWER_FRONT, LOWER_REAR, Corner, Spring
from whybone_chassis.mechanics.statics import Loads
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray

POINTS = (
    "upper_front_inner",
    "upper_rear_inner",
    "upper_outer",
    "lower_front_inner",
    "lower_front_outer",
    "lower_rear_inner",
    "lower_rear_outer",
    "tie_rod_inner",
    "tie_rod_outer",
    "wheel_centre",
)
Point = tuple[float, float, float]

UPPER: dict[str, Point] = {
    "upper_front_inner": (130, 430, 488),
    "upper_rear_inner": (-130, 430, 474),
    "upper_outer": (-14, 672, 495),
    "wheel_centre": (0, 780, 345),
}
ONE_PIECE: dict[str, Point] = UPPER | {
    "lower_front_inner": (150, 380, 222),
    "lower_front_outer": (8, 728, 205),
    "lower_rear_inner": (-190, 380, 222),
    "lower_rear_outer": (8, 728, 205),
    "tie_rod_inner": (-165, 387, 258),
    "tie_rod_outer": (-140, 692, 250),
}
SPLIT: dict[str, Point] = UPPER | {
    "lower_front_inner": (20, 380, 222),
    "lower_front_outer": (10, 679, 207),
    "lower_rear_inner": (-420, 440, 222),
    "lower_rear_outer": (-52, 688, 207),
    "tie_rod_inner": (-165, 400, 257),
    "tie_rod_outer": (-140, 665, 250),
}
FORE = {"tie_rod_inner": (150.0, 395.0, 250.0), "tie_rod_outer": (135.0, 705.0, 245.0)}
ONE_PIECE_SPRING = ((0.0, 600.0, 245.0), (-5.0, 520.0, 640.0))
SPLIT_SPRING = ((14.0, 559.0, 213.0), (0.0, 520.0, 640.0))
REAR_LINK_SPRING = ((-230.0, 560.0, 225.0), (-240.0, 530.0, 600.0))


def corner_of(points: dict[str, Point], count: int = 1) -> Corner:
    rows = {name: np.tile(np.array(points[name], dtype=float), (count, 1)) for name in POINTS}
    return Corner(
        **rows,
        loaded_radius=np.full(count, 345.0),
        static_camber=np.full(count, -0.3),
        static_toe=np.full(count, 0.1),
    )


def spring_of(seats: tuple[Point, Point], on: int = LOWER_FRONT, count: int = 1) -> Spring:
    lower, upper = (np.tile(np.array(p, dtype=float), (count, 1)) for p in seats)
    return Spring(lower, upper, np.full(count, on))


def one_piece() -> Linkage:
    return assemble(corner_of(ONE_PIECE), spring_of(ONE_PIECE_SPRING))


def split() -> Linkage:
    return assemble(corner_of(SPLIT), spring_of(SPLIT_SPRING))


def split_rear() -> Linkage:
    return assemble(corner_of(SPLIT), spring_of(REAR_LINK_SPRING, LOWER_REAR))


def stack(parts: list[Linkage]) -> Linkage:
    corner = Corner(
        **{
            name: np.concatenate([getattr(p.corner, name) for p in parts])
            for name in Corner.__dataclass_fields__
        }
    )
    springs = [p.spring for p in parts if p.spring is not None]
    spring = Spring(
        *(np.concatenate([getattr(s, name) for s in springs]) for name in ("lower", "upper", "on"))
    )
    return assemble(corner, spring)


def _scattered(points: FloatArray, by: float, rng: np.random.Generator) -> FloatArray:
    return points + rng.uniform(-by, by, points.shape)


def plausible(count: int, seed: int) -> Linkage:
    """Random corners: one-piece and split lower arms, rack ahead of and behind the axle."""
    rng = np.random.default_rng(seed)
    kinds = [
        (ONE_PIECE, ONE_PIECE_SPRING, LOWER_FRONT),
        (ONE_PIECE | FORE, ONE_PIECE_SPRING, LOWER_REAR),
        (SPLIT, SPLIT_SPRING, LOWER_FRONT),
        (SPLIT | FORE, REAR_LINK_SPRING, LOWER_REAR),
    ]
    parts = []
    for points, seats, on in kinds:
        size = count // len(kinds)
        corner = corner_of(points, size)
        moved = {name: _scattered(getattr(corner, name), 18.0, rng) for name in POINTS}
        if points["lower_front_outer"] == points["lower_rear_outer"]:
            moved["lower_rear_outer"] = moved["lower_front_outer"]
        corner = replace(
            corner,
            **moved,
            static_camber=rng.uniform(-2.0, 1.0, size),
            static_toe=rng.uniform(-0.3, 0.3, size),
        )
        spring = spring_of(seats, on, size)
        parts.append(
            assemble(
                corner,
                Spring(
                    _scattered(spring.lower, 15.0, rng),
                    _scattered(spring.upper, 15.0, rng),
                    spring.on,
                ),
            )
        )
    return stack(parts)


def loads_of(count: int, **given: float | FloatArray | BoolArray) -> Loads:
    """Loads with everything not given at zero, brakes outboard."""
    names = ("fx", "fy", "fz", "mz", "unsprung_mass", "bar_force", "stop_force")
    values = {name: np.zeros(count) + given.get(name, 0.0) for name in names}
    knuckle = np.broadcast_to(np.asarray(given.get("on_knuckle", True)), count).astype(np.bool_)
    return Loads(**values, on_knuckle=knuckle)
