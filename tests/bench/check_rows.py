"""Rows about checks on linkages: batches against general solvers and against row by row."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from scipy.optimize import root

from tests.bench.harness import Row, timed
from tests.plugins import test_ball_joint_moment as joints
from tests.plugins import test_brake_package as brake_package
from tests.plugins import test_camber_travel as camber_travel
from tests.plugins import test_joint_angles as joint_angles
from tests.plugins import test_ratio_band as ratio_band
from tests.plugins import test_rear_links as rear_links
from tests.plugins import test_roll_steer as roll_steer
from tests.plugins import test_steering_axis as steering_axis
from tests.plugins.joint_force_reference import MIXED
from tests.plugins.mechanics.reference import Reference
from tests.plugins.mechanics.samples import one_piece
from tests.plugins.rear_rows import draw_rear
from tracker.contract.check import Check, Table
from tracker.contract.kit import Row as Case
from tracker.contract.kit import Subject
from whybone_chassis.ball_joint_moment import CHECK as BALL_JOINT_MOMENT
from whybone_chassis.brake_package import CHECK as BRAKE_PACKAGE
from whybone_chassis.camber_travel import CHECK as CAMBER_TRAVEL
from whybone_chassis.joint_angles import CHECK as JOINT_ANGLES
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.ratio_band import CHECK as RATIO_BAND
from whybone_chassis.rear_links import CHECK as REAR_LINKS
from whybone_chassis.roll_steer import CHECK as ROLL_STEER
from whybone_chassis.steering_axis import CHECK as STEERING_AXIS

__all__ = [
    "batch_ball_joint_moment",
    "batch_brake_package",
    "batch_camber_travel",
    "batch_joint_angles",
    "batch_ratio_band",
    "batch_rear_links",
    "batch_roll_steer",
    "batch_steering_axis",
    "linkage",
]

_ROWS = 10_000
_SIDE = 100  # positions along travel and along rack: together _ROWS
_TOLERANCE = 1e-12  # of the general solvers, relative to about 100 mm: 1e-10 mm
_METHODS = ("hybr", "lm")  # the methods of scipy's `root` that take an analytic Jacobian


def linkage(*, quick: bool) -> Row:
    """Time the best general solver per position ÷ the batch solve, 10,000 positions.

    The general solver starts warm from the position before, has the analytic Jacobian and the
    same tolerance, and is timed on a stretch of the same sweep.
    """
    corner, (travel, rack) = one_piece(), _sweep()
    rounds = 3 if quick else 9
    batch = min(timed(lambda: pose_at_travel(corner, travel, rack)) for _ in range(rounds)) / _ROWS
    centres = pose_at_travel(corner, travel, rack).wheel_centre
    stretch = range(4800, 4900 if quick else 5800)
    times, apart = [], 0.0
    for method in _METHODS:
        seconds, found = _one_by_one(method, stretch)
        times.append(seconds / len(stretch))
        apart = max(apart, float(np.abs(found - centres[list(stretch)]).max()))
    if apart > 1e-9:
        raise AssertionError(f"the solvers differ by {apart:.1e} mm")
    best = min(times)
    note = f"{1e6 * best:.0f} µs against {1e6 * batch:.2f} µs a position, apart {apart:.0e} mm"
    return Row("linkage", best / batch, 100.0, note, at_least=True)


def _sweep() -> tuple[FloatArray, FloatArray]:
    """Travel up and down while the rack moves on: neighbours are near each other."""
    travel = np.linspace(-80.0, 80.0, _SIDE)
    rack = np.linspace(-72.0, 72.0, _SIDE)
    there_and_back = [travel[:: 1 if line % 2 == 0 else -1] for line in range(_SIDE)]
    return np.concatenate(there_and_back), np.repeat(rack, _SIDE)


def _one_by_one(method: str, stretch: range) -> tuple[float, FloatArray]:
    """Seconds for a stretch of the sweep and the wheel centres found."""
    reference, (travel, rack) = Reference.of(one_piece(), 0), _sweep()
    start = reference.sweep(travel[stretch[0]], rack[stretch[0]])
    found = np.empty((len(stretch), 3))

    def solve() -> None:
        x = start
        for place, at in enumerate(stretch):
            x = root(
                reference.gaps,
                x,
                args=(travel[at], rack[at]),
                jac=reference.jacobian,
                method=method,
                tol=_TOLERANCE,
            ).x
            found[place] = x[:3]

    seconds = timed(solve)
    return seconds, found + reference.centre


Draw = Callable[[np.random.Generator], Case]


def _batch(
    check: Check,
    draw: Draw,
    *,
    quick: bool,
    tables: Mapping[str, Sequence[Sequence[Any]]] | None = None,
) -> Row:
    """Time a check row by row (a sample) ÷ in one batch of 10,000 rows."""
    subject = Subject(check=check, rows=draw, tables=tables or {})
    inputs = subject.batch(subject.draw(_ROWS))
    sample = range(0, _ROWS, _ROWS // (50 if quick else 400))
    alone = [_row(inputs, at) for at in sample]
    rounds = 2 if quick else 5
    batch = min(timed(lambda: check.compute(inputs, {})) for _ in range(rounds)) / _ROWS
    each = min(
        timed(lambda: [check.compute(row, {}) for row in alone]) for _ in range(rounds)
    ) / len(alone)
    key = check.manifest({}).key
    note = f"{1e6 * each:.0f} µs alone against {1e6 * batch:.1f} µs a row in a batch"
    return Row(f"batch-{key}", each / batch, 50.0, note, at_least=True)


def _row(inputs: Mapping[str, Any], at: int) -> dict[str, Any]:
    return {
        key: each if isinstance(each, Table) else each[at : at + 1] for key, each in inputs.items()
    }


def batch_ratio_band(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Steering ratio: rack sweeps of 10,000 geometries."""
    return _batch(RATIO_BAND, ratio_band.draw, quick=quick)


def batch_ball_joint_moment(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Joint forces: four load cases of 10,000 geometries."""
    return _batch(BALL_JOINT_MOMENT, joints.draw, quick=quick, tables={"load_cases": MIXED})


def batch_rear_links(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Rear wheel curves, forces and wind-up of 10,000 geometries."""
    return _batch(REAR_LINKS, draw_rear, quick=quick, tables={"load_cases": rear_links.MIXED})


def batch_roll_steer(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Roll steer: toe curves of 10,000 geometries."""
    return _batch(ROLL_STEER, roll_steer.draw, quick=quick)


def batch_camber_travel(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Camber and centres of 10,000 geometries."""
    return _batch(CAMBER_TRAVEL, camber_travel.draw, quick=quick)


def batch_steering_axis(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Steering axes of 10,000 geometries."""
    return _batch(STEERING_AXIS, steering_axis.draw, quick=quick)


def batch_joint_angles(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Joint angles: nine positions of 10,000 geometries."""
    return _batch(JOINT_ANGLES, joint_angles.draw, quick=quick)


def batch_brake_package(*, quick: bool) -> Row:
    """One by one ÷ in one batch. Brake package of 10,000 sets of dimensions."""
    tables = {"barrel": brake_package.BARREL, "caliper": brake_package.CALIPER}
    return _batch(BRAKE_PACKAGE, brake_package.draw, quick=quick, tables=tables)
