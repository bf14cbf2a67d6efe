"""The steering axis: screw axis, classic construction, and the lengths read from it."""

from __future__ import annotations

import numpy as np
from scipy.spatial.transform import Rotation

from tests.plugins.mechanics.samples import (
    ONE_PIECE,
    ONE_PIECE_SPRING,
    SPLIT,
    SPLIT_SPRING,
    Point,
    corner_of,
    one_piece,
    plausible,
    split,
    spring_of,
)
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.linkage import Pose, pose_at_spring, pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm, unit
from whybone_chassis.mechanics.velocity import Hold, per_rack, velocity_of

COUNT = 200


def _moved(linkage: Linkage, seed: int) -> Pose:
    rng = np.random.default_rng(seed)
    travel, rack = rng.uniform(-80, 80, linkage.rows), rng.uniform(-40, 40, linkage.rows)
    pose = pose_at_travel(linkage, travel, rack)
    assert np.all(pose.status == 0)
    return pose


def test_axis_of_a_one_piece_arm_is_the_line_of_its_joints() -> None:
    pose = _moved(plausible(COUNT, seed=5), 6)
    axis = axes.steering_axis(pose)
    one = pose.linkage.corner.one_piece
    assert one.sum() == COUNT // 2
    line = unit(pose.upper_outer - pose.lower_front_outer)[one]
    tilt = float(norm(cross(axis.direction[one], line)).max())
    off = max(
        float(axes.distance(axis, joint)[one].max())
        for joint in (pose.upper_outer, pose.lower_front_outer)
    )
    pitch = float(np.abs(axis.pitch[one]).max())
    print(f"one-piece arm: tilt {tilt:.1e} rad, off {off:.1e} mm, pitch {pitch:.1e} mm/rad")
    assert tilt < 1e-12
    assert off < 1e-9
    assert pitch < 1e-9


def test_classic_axis_of_a_one_piece_arm_is_the_same_line() -> None:
    pose = _moved(one_piece().take(np.zeros(20, dtype=np.int64)), 7)
    screw, classic = axes.steering_axis(pose), axes.classic_axis(pose)
    assert np.abs(screw.direction - classic.direction).max() < 1e-12
    assert axes.distance(screw, axes.crossing(pose)).max() < 1e-9


def _coplanar(tilt: FloatArray, seed: int) -> tuple[Linkage, FloatArray]:
    """Split arms whose lower links lie in one tilted plane, and where their lines meet."""
    rng = np.random.default_rng(seed)
    count = len(tilt)
    corner = corner_of(SPLIT, count)
    meet = np.array([12.0, 745.0, 204.0]) + rng.uniform(-15, 15, (count, 3))
    plane = Rotation.from_rotvec(tilt)
    moved = {}
    for side, way in (("front", (0.02, -1.0, 0.0)), ("rear", (-0.75, -0.66, 0.0))):
        along = plane.apply(np.array(way) / np.linalg.norm(way))
        moved[f"lower_{side}_outer"] = meet + rng.uniform(50, 75, (count, 1)) * along
        moved[f"lower_{side}_inner"] = meet + rng.uniform(330, 480, (count, 1)) * along
    fields = {name: getattr(corner, name) for name in type(corner).__dataclass_fields__}
    spring = spring_of(SPLIT_SPRING, count=count)
    return assemble(type(corner)(**(fields | moved)), spring), meet


def test_coplanar_links_move_their_meeting_point_only_across_their_plane() -> None:
    tilt = np.random.default_rng(8).uniform(-0.12, 0.12, (COUNT, 3))
    linkage, meet = _coplanar(tilt, 9)
    pose = pose_at_travel(linkage, np.zeros(COUNT), np.zeros(COUNT))
    motion = per_rack(pose, Hold.SPRING)
    velocity = velocity_of(motion, pose, meet)
    normal = Rotation.from_rotvec(tilt).apply(np.array([0.0, 0.0, 1.0]))
    across = dot(velocity, normal)
    in_plane = norm(velocity - across[:, None] * normal)
    print(
        f"meeting point: in the plane {in_plane.max():.1e}, across it up to "
        f"{np.abs(across).max():.1e} mm/mm"
    )
    assert in_plane.max() < 1e-12
    assert np.abs(across).max() > 1e-3
    apart = axes.distance(axes.screw_axis(pose, motion), meet)
    expected = norm(cross(motion.turn, velocity)) / dot(motion.turn, motion.turn)
    assert np.abs(apart - expected).max() < 1e-9


def test_crossing_of_coplanar_links_is_their_meeting_point() -> None:
    tilt = np.random.default_rng(10).uniform(-0.12, 0.12, (COUNT, 3))
    linkage, meet = _coplanar(tilt, 11)
    pose = pose_at_travel(linkage, np.zeros(COUNT), np.zeros(COUNT))
    assert np.abs(axes.crossing(pose) - meet).max() < 1e-9


def test_links_parallel_from_above_have_no_crossing() -> None:
    parallel: dict[str, Point] = SPLIT | {
        "lower_front_inner": (20.0, 380.0, 222.0),
        "lower_front_outer": (20.0, 680.0, 207.0),
        "lower_rear_inner": (-120.0, 380.0, 222.0),
        "lower_rear_outer": (-120.0, 680.0, 207.0),
    }
    pose = pose_at_travel(assemble(corner_of(parallel)), np.zeros(1), np.zeros(1))
    assert np.all(np.isnan(axes.crossing(pose)))
    assert np.all(np.isnan(axes.classic_axis(pose).direction))


def test_screw_axis_is_the_limit_of_finite_rack_steps() -> None:
    linkage = plausible(40, seed=12)
    rng = np.random.default_rng(13)
    length = linkage.require_spring()[0].length + rng.uniform(-20, 20, 40)
    rack = rng.uniform(-30, 30, 40)
    axis = axes.steering_axis(pose_at_spring(linkage, length, rack))

    def tilt(step: float) -> FloatArray:
        ends = [pose_at_spring(linkage, length, rack + h).rotation for h in (-step, step)]
        turn = Rotation.from_matrix(ends[1]) * Rotation.from_matrix(ends[0]).inv()
        return norm(cross(unit(turn.as_rotvec()), axis.direction))

    coarse, fine = tilt(2.0), tilt(1.0)
    assert np.all(fine < 0.3 * coarse + 1e-9)
    assert fine.max() < 1e-3


def test_angles_and_lengths_of_the_axis_by_hand() -> None:
    pose = pose_at_travel(
        assemble(corner_of(ONE_PIECE), spring_of(ONE_PIECE_SPRING)), np.zeros(1), np.zeros(1)
    )
    axis = axes.steering_axis(pose)
    upper, lower = np.array(ONE_PIECE["upper_outer"]), np.array(ONE_PIECE["lower_front_outer"])
    rise = upper - lower
    assert np.isclose(axis.inclination[0], np.degrees(np.arctan(-rise[1] / rise[2])), rtol=1e-12)
    assert np.isclose(axis.caster[0], np.degrees(np.arctan(-rise[0] / rise[2])), rtol=1e-12)
    contact = pose.contact_centre[0]
    ground = lower + rise * (contact[2] - lower[2]) / rise[2]
    toe = np.radians(0.1)
    forward, left = (np.cos(toe), -np.sin(toe)), (np.sin(toe), np.cos(toe))
    offset = (contact - ground)[:2]
    assert np.isclose(axes.scrub_radius(axis, pose)[0], offset @ left, atol=1e-9)
    assert np.isclose(axes.trail(axis, pose)[0], -offset @ forward, atol=1e-9)
    assert np.isclose(axes.distance_at_ground(axis, pose)[0], 2.0 * ground[1], atol=1e-9)
    hub = np.array(ONE_PIECE["wheel_centre"])
    beside = (hub - lower - rise * (hub[2] - lower[2]) / rise[2])[:2]
    assert np.isclose(axes.offset_at_wheel_centre(axis, pose)[0], beside @ left, atol=1e-9)


def test_virtual_axis_of_a_split_arm_stands_outboard_of_its_joints() -> None:
    pose = pose_at_travel(split(), np.zeros(1), np.zeros(1))
    lower = axes.steering_axis(pose).at_height(pose.lower_front_outer[:, 2].copy())
    assert lower[0, 1] > pose.lower_front_outer[0, 1] + 30.0
    assert lower[0, 1] > pose.lower_rear_outer[0, 1] + 30.0
