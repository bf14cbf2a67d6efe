"""Rows are independent: the same bits alone, in any batch, in any order, beside any failure."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from tests.plugins.mechanics.samples import (
    ONE_PIECE,
    ONE_PIECE_SPRING,
    POINTS,
    Point,
    corner_of,
    loads_of,
    one_piece,
    plausible,
    split,
    spring_of,
    stack,
)
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.corner import Corner
from whybone_chassis.mechanics.linkage import pose_at_spring, pose_at_travel
from whybone_chassis.mechanics.statics import balance
from whybone_chassis.mechanics.status import REASONS, Status
from whybone_chassis.mechanics.vectors import FloatArray, IntArray
from whybone_chassis.mechanics.velocity import Hold, per_rack, per_travel, wheel_rates

Results = dict[str, FloatArray]


def _collect(into: Results, prefix: str, record: object) -> None:
    for field in fields(record):  # type: ignore[arg-type]  # only dataclasses are passed
        value = getattr(record, field.name)
        if isinstance(value, np.ndarray):
            into[f"{prefix}.{field.name}"] = value


def _everything(linkage: Linkage, travel: FloatArray, rack: FloatArray) -> Results:
    """Every number the library gives for some rows."""
    pose = pose_at_travel(linkage, travel, rack)
    out: Results = {"toe": pose.toe, "camber": pose.camber, "length": pose.spring_length}
    _collect(out, "pose", pose)
    held = pose_at_spring(linkage, np.nan_to_num(pose.spring_length, nan=1e4), rack)
    _collect(out, "held", held)
    motions = {"travel": per_travel(pose)}
    motions |= {hold.name: per_rack(pose, hold) for hold in Hold}
    for name, motion in motions.items():
        _collect(out, name, motion)
        _collect(out, f"{name} rates", wheel_rates(pose, motion))
    for name, axis in (("screw", axes.steering_axis(pose)), ("classic", axes.classic_axis(pose))):
        _collect(out, name, axis)
        out[f"{name} scrub"] = axes.scrub_radius(axis, pose)
        out[f"{name} trail"], out[f"{name} caster"] = axes.trail(axis, pose), axis.caster
    forces = balance(pose, loads_of(pose.linkage.rows, fx=-3000.0, fy=-2000.0, fz=6000.0))
    _collect(out, "forces", forces)
    return out


def _rows(linkage: Linkage, travel: FloatArray, rack: FloatArray, index: IntArray) -> Results:
    return _everything(
        linkage.take(index),
        np.ascontiguousarray(travel[index]),
        np.ascontiguousarray(rack[index]),
    )


def _assert_same(one: Results, other: Results, index: IntArray) -> None:
    for name, values in one.items():
        assert values[index].tobytes() == other[name].tobytes(), name


def _batch(count: int) -> tuple[Linkage, FloatArray, FloatArray]:
    """Rows of which about a fifth cannot close."""
    rng = np.random.default_rng(31)
    linkage = plausible(count + -count % 4, seed=30).take(np.arange(count))
    return linkage, rng.uniform(-130, 130, count), rng.uniform(-90, 90, count)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 1000])
def test_a_batch_equals_its_rows_one_by_one(count: int) -> None:
    linkage, travel, rack = _batch(count)
    whole = _everything(linkage, travel, rack)
    for row in range(count):
        index = np.array([row])
        _assert_same(whole, _rows(linkage, travel, rack, index), index)


def test_no_rows_give_no_rows() -> None:
    nothing = np.zeros(0)
    assert pose_at_travel(one_piece(), nothing, nothing).toe.shape == (0,)
    out = _everything(one_piece().take(np.zeros(0, dtype=np.int64)), nothing, nothing)
    assert {len(values) for values in out.values()} == {0}


def test_a_batch_across_blocks_equals_its_rows() -> None:
    linkage = plausible(4, seed=32).take(np.arange(10_000) % 4)
    rng = np.random.default_rng(33)
    travel, rack = rng.uniform(-130, 130, 10_000), rng.uniform(-90, 90, 10_000)
    whole = pose_at_travel(linkage, travel, rack)
    for index in (np.arange(8190, 8200), np.array([9999]), np.arange(17, 4000)):
        part = pose_at_travel(linkage.take(index), travel[index], rack[index])
        assert part.status.tobytes() == whole.status[index].tobytes()
        assert part.wheel_centre.tobytes() == whole.wheel_centre[index].tobytes()
        assert part.rotation.tobytes() == whole.rotation[index].tobytes()


def test_permuted_rows_give_permuted_results() -> None:
    linkage, travel, rack = _batch(500)
    index = np.random.default_rng(34).permutation(500)
    whole = _everything(linkage, travel, rack)
    _assert_same(whole, _rows(linkage, travel, rack, index), index)


def test_one_geometry_for_many_positions_equals_as_many_geometries() -> None:
    rng = np.random.default_rng(35)
    travel, rack = rng.uniform(-80, 80, 300), rng.uniform(-60, 60, 300)
    shared = _everything(one_piece(), travel, rack)
    copied = _everything(one_piece().take(np.zeros(300, dtype=np.int64)), travel, rack)
    _assert_same(shared, copied, np.arange(300))


def _with(linkage: Linkage, **points: Point) -> Linkage:
    moved = {name: np.array([p], dtype=float) for name, p in points.items()}
    return assemble(replace(linkage.corner, **moved), linkage.spring)


def _offset(linkage: Linkage, by: float) -> Linkage:
    """Move the whole corner along X."""
    shift = np.array([by, 0.0, 0.0])
    corner, (spring, _, _) = linkage.corner, linkage.require_spring()
    points = {name: getattr(corner, name) + shift for name in POINTS}
    moved = replace(spring, lower=spring.lower + shift, upper=spring.upper + shift)
    return assemble(replace(corner, **points), moved)


def _impossible() -> dict[str, tuple[Linkage, float, float, Status]]:
    """Each kind of row that cannot be posed: linkage, travel, rack, expected status."""
    sound, plain = one_piece(), corner_of(ONE_PIECE)
    spring = spring_of(ONE_PIECE_SPRING)
    on_line = _with(sound, upper_outer=(0.0, 430.0, 481.0))
    idle = {"tie_rod_inner": ONE_PIECE["lower_front_inner"]}
    loose = _with(sound, **idle, tie_rod_outer=ONE_PIECE["lower_front_outer"])
    return {
        "too far up": (sound, 400.0, 0.0, Status.OVER_EXTENDED),
        "rack out of reach": (sound, 0.0, -400.0, Status.OVER_EXTENDED),
        "mirrored tie rod": (split(), 0.0, 600.0, Status.WRONG_BRANCH),
        "coincident": (
            _with(sound, tie_rod_outer=ONE_PIECE["tie_rod_inner"]),
            0.0,
            0.0,
            Status.COINCIDENT,
        ),
        "joint on its pivot line": (on_line, 0.0, 0.0, Status.ON_PIVOT_LINE),
        "tie rod that steers nothing": (loose, 10.0, 0.0, Status.SINGULAR),
        "too far from the origin for 1e-10 mm": (
            _offset(sound, 1e8),
            10.0,
            0.0,
            Status.SINGULAR,
        ),
        "not a number": (sound, np.nan, 0.0, Status.NOT_FINITE),
        "infinite rack": (sound, 0.0, np.inf, Status.NOT_FINITE),
        "point not finite": (
            _with(sound, wheel_centre=(0.0, np.nan, 345.0)),
            0.0,
            0.0,
            Status.NOT_FINITE,
        ),
        "no radius": (
            assemble(replace(plain, loaded_radius=np.zeros(1)), spring),
            0.0,
            0.0,
            Status.BAD_RADIUS,
        ),
        "wheel lying flat": (
            assemble(replace(plain, static_camber=np.full(1, 90.0)), spring),
            0.0,
            0.0,
            Status.BAD_RADIUS,
        ),
    }


@pytest.mark.parametrize("kind", _impossible())
def test_an_impossible_pose_is_nan_with_its_reason(kind: str) -> None:
    linkage, travel, rack, status = _impossible()[kind]
    pose = pose_at_travel(linkage, np.array([travel]), np.array([rack]))
    assert pose.status.tolist() == [status]
    assert pose.reasons() == [REASONS[status]]
    assert REASONS[status]
    for name in ("upper_outer", "wheel_centre", "contact_centre", "tie_rod_inner", "spring_lower"):
        assert np.all(np.isnan(getattr(pose, name))), name
    assert np.all(np.isnan(pose.rotation))
    assert np.isnan(pose.toe[0])
    assert np.isnan(wheel_rates(pose, per_travel(pose)).toe[0])
    assert np.isnan(balance(pose, loads_of(1, fz=5000.0)).spring[0])


def test_impossible_rows_leave_the_others_untouched() -> None:
    sound, travel, rack = _batch(12)
    bad = list(_impossible().values())
    both = stack([sound, *(case[0] for case in bad)])
    travel = np.concatenate([travel, [case[1] for case in bad]])
    rack = np.concatenate([rack, [case[2] for case in bad]])
    index = np.argsort(np.random.default_rng(36).random(len(travel)))
    mixed = _rows(both, travel, rack, index)
    where = np.argsort(index)[:12]
    alone = _everything(sound, travel[:12], rack[:12])
    for name, values in alone.items():
        assert mixed[name][where].tobytes() == values.tobytes(), name


def test_a_spring_cannot_have_a_length_of_nothing_or_less() -> None:
    linkage = one_piece()
    length = float(linkage.require_spring()[0].length[0])
    pose = pose_at_spring(linkage, np.array([length, 0.0, -length, 4.0 * length]), np.zeros(4))
    assert pose.status[0] == Status.CLOSED
    assert pose.status[1:].tolist() == [Status.OVER_EXTENDED] * 3
    assert np.all(np.isnan(pose.wheel_centre[1:]))


def test_every_closed_pose_keeps_its_lengths() -> None:
    linkage, travel, rack = _batch(1000)
    pose = pose_at_travel(linkage, travel, rack)
    closed = pose.status == Status.CLOSED
    assert 500 < closed.sum() < 1000
    corner: Corner = linkage.corner
    pairs = [
        ("upper_front_inner", "upper_outer"),
        ("upper_rear_inner", "upper_outer"),
        ("lower_front_inner", "lower_front_outer"),
        ("lower_rear_inner", "lower_rear_outer"),
    ]
    for inner, outer in pairs:
        design = np.linalg.norm(getattr(corner, outer) - getattr(corner, inner), axis=1)
        now = np.linalg.norm(getattr(pose, outer) - getattr(corner, inner), axis=1)
        assert np.abs(now - design)[closed].max() < 1e-10
    tie = np.linalg.norm(pose.tie_rod_outer - pose.tie_rod_inner, axis=1)
    design = np.linalg.norm(corner.tie_rod_outer - corner.tie_rod_inner, axis=1)
    assert np.abs(tie - design)[closed].max() < 1e-10
    assert np.abs(pose.travel - travel)[closed].max() < 1e-10
    turn = np.einsum("nij,nkj->nik", pose.rotation, pose.rotation)[closed]
    assert np.abs(turn - np.eye(3)).max() < 1e-14
    assert np.all(np.linalg.det(pose.rotation[closed]) > 0.0)
