"""Points of a rear corner with an integral link, left wheel, in the design position.

The lower arm turns about two points on the body and carries one ball joint; two upper links run
from the body to the knuckle; the integral link runs between arm and knuckle, both of which move.
Axes and signs as in `corner`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.mechanics.corner import (
    COINCIDENT_MM,
    Rows,
    all_finite,
    distance_from_line,
)
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray, IntArray, norm


@dataclass(frozen=True, slots=True)
class RearCorner(Rows):
    """Rear corner of the left wheel in its design position.

    One degree of freedom: 1 of the arm and 6 of the knuckle, less 3 of the ball joint, 2 of the
    upper links and 1 of the integral link.

    Parameters
    ----------
    lower_front_inner, lower_rear_inner : ndarray, shape (n, 3)
        The lower arm's pivots on the body, mm.
    lower_outer : ndarray, shape (n, 3)
        Ball joint from arm to knuckle, mm.
    integral_on_arm, integral_on_knuckle : ndarray, shape (n, 3)
        Ends of the integral link, mm.
    upper_front_inner, upper_front_outer, upper_rear_inner, upper_rear_outer : ndarray, (n, 3)
        Upper links: joints on the body and on the knuckle, mm.
    wheel_centre : ndarray, shape (n, 3)
        Mm.
    loaded_radius : ndarray, shape (n,)
        Mm.
    static_camber, static_toe : ndarray, shape (n,)
        Degrees.

    Raises
    ------
    ValueError
        If a field has another shape or the fields differ in their number of rows.
    """

    lower_front_inner: FloatArray
    lower_rear_inner: FloatArray
    lower_outer: FloatArray
    integral_on_arm: FloatArray
    integral_on_knuckle: FloatArray
    upper_front_inner: FloatArray
    upper_front_outer: FloatArray
    upper_rear_inner: FloatArray
    upper_rear_outer: FloatArray
    wheel_centre: FloatArray
    loaded_radius: FloatArray
    static_camber: FloatArray
    static_toe: FloatArray

    @property
    def rows(self) -> int:
        """Number of rows."""
        return len(self.loaded_radius)


@dataclass(frozen=True, slots=True)
class Seats(Rows):
    """Seats of a spring between body and lower arm, in the design position.

    Parameters
    ----------
    lower, upper : ndarray, shape (n, 3)
        On the lower arm and on the body, mm.

    Raises
    ------
    ValueError
        If a field has another shape or the fields differ in rows.
    """

    lower: FloatArray
    upper: FloatArray


def _spans(corner: RearCorner, seats: Seats | None) -> list[tuple[FloatArray, FloatArray]]:
    """Pairs of points that must be apart."""
    pairs = [
        (corner.lower_front_inner, corner.lower_rear_inner),
        (corner.integral_on_arm, corner.integral_on_knuckle),
        (corner.upper_front_inner, corner.upper_front_outer),
        (corner.upper_rear_inner, corner.upper_rear_outer),
        (corner.lower_outer, corner.upper_front_outer),
        (corner.lower_outer, corner.upper_rear_outer),
    ]
    return pairs if seats is None else [*pairs, (seats.lower, seats.upper)]


def problems(corner: RearCorner, seats: Seats | None = None) -> IntArray:
    """Find rows whose geometry cannot be computed with.

    Parameters
    ----------
    corner : RearCorner
    seats : Seats, optional

    Returns
    -------
    ndarray of int, shape (n,)
        `Status` codes; `Status.CLOSED` where nothing is wrong.
    """
    with np.errstate(all="ignore"):  # rows that are not finite are named below, not warned about
        apart = [norm(b - a) > COINCIDENT_MM for a, b in _spans(corner, seats)]
        swing = distance_from_line(
            corner.lower_outer, corner.lower_front_inner, corner.lower_rear_inner
        )
        level = np.cos(np.radians(corner.static_camber)) > COINCIDENT_MM
    status = np.full(corner.rows, Status.CLOSED, dtype=np.int64)
    status[~(level & (corner.loaded_radius > 0.0))] = Status.BAD_RADIUS
    status[swing <= COINCIDENT_MM] = Status.ON_PIVOT_LINE
    status[~np.all(apart, axis=0)] = Status.COINCIDENT
    status[~all_finite([corner] if seats is None else [corner, seats])] = Status.NOT_FINITE
    return status
