"""Poses against a general solver: scipy, one position at a time, small steps from the design."""

from __future__ import annotations

import os

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.plugins.mechanics.reference import Reference, seat_on_arm, seat_on_link
from tests.plugins.mechanics.samples import plausible
from whybone_chassis.mechanics.assembly import Linkage
from whybone_chassis.mechanics.linkage import Pose, pose_at_spring, pose_at_travel
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray

CORNERS = 240
TARGETS = ((-80.0, 0.0), (80.0, 0.0), (0.0, 72.0), (0.0, -72.0), (80.0, -72.0), (-80.0, 72.0))
LEAST_COMPARED = 200
AGREEMENT = 1e-9


def _joints(pose: Pose) -> FloatArray:
    return np.stack(
        [
            pose.upper_outer,
            pose.lower_front_outer,
            pose.lower_rear_outer,
            pose.tie_rod_outer,
            pose.wheel_centre,
        ],
        axis=1,
    )


def _compare(
    linkage: Linkage, pose: Pose, travel: float, rack: float
) -> tuple[float, float, int, list[int]]:
    """Largest disagreement in mm and rad, rows that neither closes, rows that one closes."""
    worst_mm = worst_rad = 0.0
    neither, differ = 0, []
    joints = _joints(pose)
    for row in range(linkage.rows):
        reference = Reference.of(linkage, row)
        x = reference.sweep(travel, rack)
        closed = pose.status[row] == Status.CLOSED
        if x is None or not closed:
            neither += x is None and not closed
            if (x is None) == closed:
                differ.append(row)
            continue
        worst_mm = max(worst_mm, float(np.abs(joints[row] - reference.points(x)).max()))
        turn = Rotation.from_matrix(pose.rotation[row]) * reference.rotation(x).inv()
        worst_rad = max(worst_rad, float(turn.magnitude()))
    return worst_mm, worst_rad, neither, differ


@pytest.mark.parametrize(("travel", "rack"), TARGETS)
def test_poses_agree_with_a_general_solver(travel: float, rack: float) -> None:
    linkage = plausible(CORNERS, seed=1)
    pose = pose_at_travel(linkage, np.full(CORNERS, travel), np.full(CORNERS, rack))
    worst_mm, worst_rad, neither, differ = _compare(linkage, pose, travel, rack)
    print(
        f"travel {travel:+.0f}, rack {rack:+.0f}: {worst_mm:.1e} mm, {worst_rad:.1e} rad; "
        f"closed by neither {neither} of {CORNERS}, by one {differ}"
    )
    assert worst_mm < AGREEMENT
    assert worst_rad < AGREEMENT
    assert differ == []
    assert CORNERS - neither >= LEAST_COMPARED


@pytest.mark.skipif("WHYBONE_LONG" not in os.environ, reason="long run: set WHYBONE_LONG")
def test_poses_far_out_close_where_a_general_solver_closes_them() -> None:
    count = 1200
    linkage, rng = plausible(count, seed=99), np.random.default_rng(98)
    travel, rack = rng.uniform(-160, 160, count), rng.uniform(-130, 130, count)
    pose = pose_at_travel(linkage, travel, rack)
    for row in range(count):
        x = Reference.of(linkage, row).sweep(travel[row], rack[row])
        assert (x is None) == (pose.status[row] != Status.CLOSED), row
        if x is not None:
            off = _joints(pose)[row] - Reference.of(linkage, row).points(x)
            assert np.abs(off).max() < AGREEMENT, row


def _reference_spring(linkage: Linkage, row: int, joints: FloatArray) -> float:
    """Spring length from reference joints, by turning the carrier with scipy's rotations."""
    corner, spring = linkage.corner, linkage.spring
    assert spring is not None
    if corner.one_piece[row]:
        pivot, joint = corner.lower_front_inner[row], corner.lower_front_outer[row]
        other = corner.lower_rear_inner[row]
        seat = seat_on_arm(pivot, other, joint, joints[1], spring.lower[row])
    else:
        side, moved = ("rear", joints[2]) if spring.on[row] else ("front", joints[1])
        pivot = getattr(corner, f"lower_{side}_inner")[row]
        joint = getattr(corner, f"lower_{side}_outer")[row]
        seat = seat_on_link(pivot, joint, moved, spring.lower[row])
    return float(np.linalg.norm(seat - spring.upper[row]))


def test_spring_lengths_and_poses_at_a_spring_length_agree_with_a_general_solver() -> None:
    count = 40
    linkage = plausible(count, seed=2)
    lengths, joints = np.empty(count), np.empty((count, 5, 3))
    rng = np.random.default_rng(3)
    travel, rack = rng.uniform(-80, 80, count), rng.uniform(-45, 45, count)
    for row in range(count):
        reference = Reference.of(linkage, row)
        x = reference.sweep(travel[row], rack[row])
        assert x is not None
        joints[row] = reference.points(x)
        lengths[row] = _reference_spring(linkage, row, joints[row])
    at_travel = pose_at_travel(linkage, travel, rack)
    at_spring = pose_at_spring(linkage, lengths, rack)
    off_length = float(np.abs(at_travel.spring_length - lengths).max())
    off_mm = float(np.abs(_joints(at_spring) - joints).max())
    print(f"spring length {off_length:.1e} mm, pose at that length {off_mm:.1e} mm")
    assert off_length < AGREEMENT
    assert off_mm < AGREEMENT
