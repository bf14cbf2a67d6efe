"""Poses of a corner: at a wheel travel or a spring length, and at a rack travel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, Self, TypeVar

import numpy as np

from whybone_chassis.mechanics.assembly import Linkage
from whybone_chassis.mechanics.columns import matrix, rows
from whybone_chassis.mechanics.constraints import (
    LOWER_FRONT,
    LOWER_REAR,
    TIE_ROD,
    WHEEL,
    Condition,
    Footing,
    HeldHeight,
    Placed,
    State,
    hold,
)
from whybone_chassis.mechanics.continuation import Path, Problem, close
from whybone_chassis.mechanics.corner import contact_centre
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, IntArray, norm, rotate
from whybone_chassis.mechanics.wheel import WheelPose

#: Least firmness (`constraints.hold`) of a usable pose: 0.01 to 0.3 in plausible corners, and
#: positions lose as many digits as it has zeros.
LEAST_HOLD = 1e-6
#: Largest error of a link's length, of the height or the spring length in a pose, mm.
CLOSURE_MM = 1e-10


@dataclass(frozen=True, slots=True)
class Pose(WheelPose):
    """Positions of a corner's moving points, NaN in rows that cannot close.

    Attributes
    ----------
    linkage : Linkage
        Row for row.
    state : State
        Swing of the upper arm and rotation of the knuckle.
    rack : ndarray, shape (n,)
        Mm along Y.
    status : ndarray of int, shape (n,)
        `Status` codes.
    upper_outer, lower_front_outer, lower_rear_outer, tie_rod_outer, tie_rod_inner, wheel_centre
        Points, shape (n, 3), mm.
    rotation : ndarray, shape (n, 3, 3)
        Knuckle's rotation from its design position.
    spin_axis, contact_centre : ndarray, shape (n, 3)
        Unit vector outward; point in mm.
    spring_lower : ndarray, shape (n, 3)
        Lower seat, mm; NaN without a spring.
    """

    linkage: Linkage
    state: State
    rack: FloatArray
    status: IntArray
    upper_outer: FloatArray
    lower_front_outer: FloatArray
    lower_rear_outer: FloatArray
    tie_rod_outer: FloatArray
    tie_rod_inner: FloatArray
    wheel_centre: FloatArray
    rotation: FloatArray
    spin_axis: FloatArray
    contact_centre: FloatArray
    spring_lower: FloatArray

    @property
    def joint(self) -> FloatArray:
        """Joint (n, 3) the knuckle's motion is told about: the upper outer one, mm."""
        return self.upper_outer

    @property
    def spring_length(self) -> FloatArray:
        """Spring length (n,) in mm; NaN without a spring."""
        spring = self.linkage.spring
        return self.rack * np.nan if spring is None else norm(self.spring_lower - spring.upper)


class Spread(Protocol):
    """Linkages of one or more rows; a single one can stand for many."""

    @property
    def rows(self) -> int:
        """Number of rows."""

    def spread(self, count: int) -> Self:
        """Stand for a number of rows of one geometry, without copying it."""


L = TypeVar("L", bound=Spread)


def expand(linkage: L, *values: FloatArray) -> tuple[L, list[FloatArray]]:
    """Repeat a single geometry for many positions, or single positions for many geometries.

    Raises
    ------
    ValueError
        If the shapes do not go together.
    """
    shape = np.broadcast_shapes((linkage.rows,), *(np.shape(v) for v in values))
    if len(shape) != 1:
        raise ValueError(f"travel, spring length and rack: give shape (n,), not {shape}")
    full = [np.ascontiguousarray(np.broadcast_to(v, shape), dtype=np.float64) for v in values]
    if linkage.rows != shape[0]:
        linkage = linkage.spread(shape[0])
    return linkage, full


def pose_at_travel(linkage: Linkage, travel: FloatArray, rack: FloatArray) -> Pose:
    """Pose corners at wheel travels and rack travels.

    Parameters
    ----------
    linkage : Linkage
        n rows, or one that is posed n times.
    travel : ndarray, shape (n,) or ()
        Rise of the wheel centre from its design height, mm.
    rack : ndarray, shape (n,) or ()
        Rack travel along Y, mm: positive moves the tie rod's inner end to the left.

    Returns
    -------
    Pose
        Link lengths and height held to 1e-10 mm, in the assembly that a straight path of travel
        and rack from the design position leads to; NaN with a status where there is none.

    Raises
    ------
    ValueError
        If the shapes do not go together.
    """
    linkage, (travel, rack) = expand(linkage, travel, rack)
    start = linkage.corner.wheel_centre[:, 2]
    return _solve(linkage, HeldHeight(), linkage.at_height, Path(start, start + travel, rack))


def pose_at_spring(linkage: Linkage, length: FloatArray, rack: FloatArray) -> Pose:
    """Pose corners at spring lengths and rack travels.

    Parameters
    ----------
    linkage : Linkage
        n rows, or one that is posed n times; assembled with a spring.
    length : ndarray, shape (n,) or ()
        Spring length between its seats, mm.
    rack : ndarray, shape (n,) or ()
        Rack travel along Y, mm.

    Returns
    -------
    Pose
        As from `pose_at_travel`.

    Raises
    ------
    ValueError
        If the shapes do not go together or the linkage has no spring.
    """
    linkage, (length, rack) = expand(linkage, length, rack)
    spring, held, footing = linkage.require_spring()
    return _solve(linkage, held, footing, Path(spring.length, length, rack))


def _firm(problem: Problem, placed: Placed) -> BoolArray:
    """Whether rows are at their target and held firmly there."""
    chain, condition, path, _ = problem
    links = chain.links(placed, path.rack)
    off = np.abs(chain.gaps(links)) / np.sqrt(chain.square)
    missed = np.abs(condition.gap(placed, path.end) / condition.per_target(path.end))
    firmness = hold(chain, chain.equations(placed, links, condition))
    there: BoolArray = np.all(off < CLOSURE_MM, axis=0) & (missed < CLOSURE_MM)
    return there & (firmness > LEAST_HOLD)


def _screen(problem: Problem, status: IntArray) -> IntArray:
    """Statuses with targets that no pose has and rows that are singular from the start."""
    target = problem.path.end
    finite = np.isfinite(target) & np.isfinite(problem.path.rack)
    found = np.where(problem.footing.hold > LEAST_HOLD, Status.CLOSED, Status.SINGULAR)
    found = np.where(problem.condition.possible(target), found, Status.OVER_EXTENDED)
    found = np.where(finite, found, Status.NOT_FINITE)
    return np.where(status == Status.CLOSED, found, status)


def settle(problem: Problem, status: IntArray) -> tuple[State, Placed, IntArray]:
    """Close the rows that can be.

    Parameters
    ----------
    problem : Problem
        All rows.
    status : ndarray of int, shape (n,)
        `Status` codes of their geometry.

    Returns
    -------
    State, Placed
        NaN in rows that do not close.
    ndarray of int, shape (n,)
        `Status` codes of the poses.
    """
    count = len(problem.path.rack)
    state = State(np.full((2, count), np.nan), np.full((4, count), np.nan))
    with np.errstate(all="ignore"):  # rows without a pose are named by their status
        status = _screen(problem, status)
        ready = np.flatnonzero(status == Status.CLOSED)
        found, status[ready] = close(problem.take(ready))
        state.swing[:, ready], state.turn[:, ready] = found
        placed = problem.chain.place(state)
        lost = (status == Status.CLOSED) & ~_firm(problem, placed)
        if lost.any():
            status[lost] = Status.SINGULAR
            state.swing[:, lost], state.turn[:, lost] = np.nan, np.nan
            placed = problem.chain.place(state)
    return state, placed, status


def _solve(linkage: Linkage, condition: Condition, footing: Footing, path: Path) -> Pose:
    """Close the rows that can be, and place the points of all."""
    problem = Problem(linkage.chain, condition, path, footing)
    state, placed, status = settle(problem, linkage.status)
    with np.errstate(all="ignore"):  # rows without a pose are NaN
        return _place(linkage, state, placed, path.rack, status)


def _place(
    linkage: Linkage, state: State, placed: Placed, rack: FloatArray, status: IntArray
) -> Pose:
    """Positions of the moving points, row-first."""
    corner = linkage.corner
    outer = placed.joint[:, None] + placed.arms
    rotation = np.ascontiguousarray(np.moveaxis(matrix(state.turn), -1, 0))
    spin = rotate(rotation, linkage.spin)
    centre = rows(outer[:, WHEEL])
    inner = corner.tie_rod_inner.copy()
    inner[:, 1] += rack
    inner[status != Status.CLOSED] = np.nan
    seat = np.full_like(centre, np.nan)
    if linkage.held_spring is not None:
        joint, _ = linkage.held_spring.joint(placed)
        seat = rows(linkage.held_spring.seat.at(joint))
    return Pose(
        linkage=linkage,
        state=state,
        rack=rack,
        status=status,
        upper_outer=rows(placed.joint),
        lower_front_outer=rows(outer[:, LOWER_FRONT]),
        lower_rear_outer=rows(outer[:, LOWER_REAR]),
        tie_rod_outer=rows(outer[:, TIE_ROD]),
        tie_rod_inner=inner,
        wheel_centre=centre,
        rotation=rotation,
        spin_axis=spin,
        contact_centre=contact_centre(centre, spin, corner.loaded_radius),
        spring_lower=seat,
    )
