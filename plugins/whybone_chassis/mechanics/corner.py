"""Points of a left wheel corner and the wheel's own conventions.

ISO 8855:2011 axes: X forward, Y left, Z up, millimetres. Toe-in is positive, so for the left
wheel toe = −steer; camber is positive with the top of the wheel outward.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Self

import numpy as np

from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import (
    BoolArray,
    FloatArray,
    IntArray,
    cross,
    norm,
    scale,
    unit,
)

#: Two points nearer than this (mm) are one point; far below any drawing, far above rounding.
COINCIDENT_MM = 1e-6

LOWER_FRONT = 0
LOWER_REAR = 1


class Rows:
    """Base of row-wise records: every field is an array whose first axis is the row."""

    __slots__ = ()

    def __post_init__(self) -> None:
        for field in fields(self):  # type: ignore[arg-type]  # only dataclasses derive from this
            value = getattr(self, field.name)
            if value.ndim > 2 or (value.ndim == 2 and value.shape[1] != 3):  # noqa: PLR2004 - rows of points
                raise ValueError(
                    f"{field.name}: give shape (n,) or, for a point, (n, 3), not {value.shape}"
                )
        sizes = {field.name: len(getattr(self, field.name)) for field in fields(self)}  # type: ignore[arg-type]  # as above
        if len(set(sizes.values())) > 1:
            raise ValueError(f"give every field the same number of rows, not {sizes}")

    def spread(self, count: int) -> Self:
        """Repeat a single row, without copying it."""
        values = (getattr(self, f.name) for f in fields(self))  # type: ignore[arg-type]  # as above
        return type(self)(*(np.broadcast_to(v, (count, *v.shape[1:])) for v in values))

    def take(self, index: IntArray) -> Self:
        """Return the rows named by `index` (any order, repeats allowed)."""
        return type(self)(**{f.name: getattr(self, f.name)[index] for f in fields(self)})  # type: ignore[arg-type]  # as above


@dataclass(frozen=True, slots=True)
class Corner(Rows):
    """Double-wishbone corner of the left wheel in its design position.

    A one-piece lower arm has equal lower outer points; a split lower arm has two, and its
    steering axis is then virtual.

    Parameters
    ----------
    upper_front_inner, upper_rear_inner, upper_outer : ndarray, shape (n, 3)
        Upper arm: body joints and the joint on the knuckle, mm.
    lower_front_inner, lower_front_outer, lower_rear_inner, lower_rear_outer : ndarray, shape (n, 3)
        Lower links, mm.
    tie_rod_inner, tie_rod_outer : ndarray, shape (n, 3)
        Tie rod: joint on the rack and joint on the knuckle, mm.
    wheel_centre : ndarray, shape (n, 3)
        Mm.
    loaded_radius : ndarray, shape (n,)
        Mm.
    static_camber, static_toe : ndarray, shape (n,)
        Degrees, signs as in the module's description.

    Raises
    ------
    ValueError
        If a field has another shape or the fields differ in their number of rows.
    """

    upper_front_inner: FloatArray
    upper_rear_inner: FloatArray
    upper_outer: FloatArray
    lower_front_inner: FloatArray
    lower_front_outer: FloatArray
    lower_rear_inner: FloatArray
    lower_rear_outer: FloatArray
    tie_rod_inner: FloatArray
    tie_rod_outer: FloatArray
    wheel_centre: FloatArray
    loaded_radius: FloatArray
    static_camber: FloatArray
    static_toe: FloatArray

    @property
    def rows(self) -> int:
        """Number of rows."""
        return len(self.loaded_radius)

    @property
    def one_piece(self) -> BoolArray:
        """Whether each row's lower arm is one piece (equal lower outer points), shape (n,)."""
        equal: BoolArray = np.all(self.lower_front_outer == self.lower_rear_outer, axis=-1)
        return equal


@dataclass(frozen=True, slots=True)
class Spring(Rows):
    """Spring between body and lower arm, in the corner's design position.

    Parameters
    ----------
    lower, upper : ndarray, shape (n, 3)
        Seat on the lower arm or link, and seat on the body, mm.
    on : ndarray of int, shape (n,)
        `LOWER_FRONT` or `LOWER_REAR`: the link that carries it; ignored for a one-piece arm.

    Raises
    ------
    ValueError
        If a field has another shape, the fields differ in rows or `on` holds another code.
    """

    lower: FloatArray
    upper: FloatArray
    on: IntArray

    def __post_init__(self) -> None:
        super(Spring, self).__post_init__()
        if not np.all((self.on == LOWER_FRONT) | (self.on == LOWER_REAR)):
            raise ValueError(f"on: give {LOWER_FRONT} (lower front) or {LOWER_REAR} (lower rear)")

    @property
    def length(self) -> FloatArray:
        """Length (n,) in mm in the design position."""
        return norm(self.lower - self.upper)


def spin_axis(toe: FloatArray, camber: FloatArray) -> FloatArray:
    """Return the unit spin axis of the left wheel, pointing outward.

    Parameters
    ----------
    toe, camber : ndarray, shape (n,)
        Degrees.

    Returns
    -------
    ndarray, shape (n, 3)
        (sin τ cos γ, cos τ cos γ, −sin γ).
    """
    tau, gamma = np.radians(toe), np.radians(camber)
    level = np.cos(gamma)
    return np.stack((np.sin(tau) * level, np.cos(tau) * level, -np.sin(gamma)), axis=-1)


def toe_of(axis: FloatArray) -> FloatArray:
    """Toe in degrees of unit spin axes of shape (n, 3)."""
    return np.degrees(np.arctan2(axis[..., 0].copy(), axis[..., 1].copy()))


def camber_of(axis: FloatArray) -> FloatArray:
    """Camber in degrees of unit spin axes of shape (n, 3)."""
    level = np.sqrt(axis[..., 0] ** 2 + axis[..., 1] ** 2)
    return np.degrees(np.arctan2(-axis[..., 2], level))


def down_in_wheel_plane(axis: FloatArray) -> FloatArray:
    """Return unit vectors (n, 3) in the wheel plane from the wheel centre to the ground."""
    upright = np.zeros_like(axis)
    upright[..., 2] = 1.0
    return -unit(upright - scale(axis[..., 2], axis))


def contact_centre(wheel_centre: FloatArray, axis: FloatArray, radius: FloatArray) -> FloatArray:
    """Contact centre: a loaded radius down the wheel plane; it is not fixed to the knuckle.

    Parameters
    ----------
    wheel_centre, axis : ndarray, shape (n, 3)
        Mm; unit spin axis.
    radius : ndarray, shape (n,)
        Loaded radius, mm.

    Returns
    -------
    ndarray, shape (n, 3)
        Mm.
    """
    return wheel_centre + scale(radius, down_in_wheel_plane(axis))


def _points(item: Rows) -> list[FloatArray]:
    """Every array of a record as columns of one row each."""
    arrays = (getattr(item, field.name) for field in fields(item))  # type: ignore[arg-type]  # only dataclasses derive from it
    return [a.reshape(len(a), -1).astype(np.float64) for a in arrays]


def all_finite(items: Sequence[Rows]) -> BoolArray:
    """Whether every number of some records is finite, row by row, shape (n,)."""
    values = np.concatenate([a for item in items for a in _points(item)], axis=1)
    finite: BoolArray = np.all(np.isfinite(values), axis=1)
    return finite


def _spans(corner: Corner, spring: Spring | None) -> list[tuple[FloatArray, FloatArray]]:
    """Pairs of points that must be apart."""
    pairs = [
        (corner.upper_front_inner, corner.upper_outer),
        (corner.upper_rear_inner, corner.upper_outer),
        (corner.upper_front_inner, corner.upper_rear_inner),
        (corner.lower_front_inner, corner.lower_front_outer),
        (corner.lower_rear_inner, corner.lower_rear_outer),
        (corner.lower_front_inner, corner.lower_rear_inner),
        (corner.tie_rod_inner, corner.tie_rod_outer),
        (corner.upper_outer, corner.lower_front_outer),
        (corner.upper_outer, corner.lower_rear_outer),
    ]
    return pairs if spring is None else [*pairs, (spring.lower, spring.upper)]


def distance_from_line(point: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Distance (n,) in mm of each point from the line through start and end."""
    return norm(cross(unit(end - start), point - start))


def problems(corner: Corner, spring: Spring | None = None) -> IntArray:
    """Find rows whose geometry cannot be computed with.

    Parameters
    ----------
    corner : Corner
    spring : Spring, optional

    Returns
    -------
    ndarray of int, shape (n,)
        `Status` codes; `Status.CLOSED` where nothing is wrong.
    """
    with np.errstate(all="ignore"):  # rows that are not finite are named below, not warned about
        apart = [norm(b - a) > COINCIDENT_MM for a, b in _spans(corner, spring)]
        swings = distance_from_line(
            corner.upper_outer, corner.upper_front_inner, corner.upper_rear_inner
        )
        lower = distance_from_line(
            corner.lower_front_outer, corner.lower_front_inner, corner.lower_rear_inner
        )
        level = np.cos(np.radians(corner.static_camber)) > COINCIDENT_MM
    status = np.full(corner.rows, Status.CLOSED, dtype=np.int64)
    status[~(level & (corner.loaded_radius > 0.0))] = Status.BAD_RADIUS
    on_line = (swings <= COINCIDENT_MM) | (corner.one_piece & (lower <= COINCIDENT_MM))
    status[on_line] = Status.ON_PIVOT_LINE
    status[~np.all(apart, axis=0)] = Status.COINCIDENT
    status[~all_finite([corner] if spring is None else [corner, spring])] = Status.NOT_FINITE
    return status
