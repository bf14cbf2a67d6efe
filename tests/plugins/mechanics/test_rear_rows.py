"""Rear rows are independent: the same bits alone, in any batch and order, beside any failure."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from tests.plugins.mechanics.rear_samples import (
    AHEAD,
    POINTS,
    RATES,
    plausible_rear,
    rear,
    rear_corner_of,
    seats_of,
    stack_rear,
)
from tests.plugins.mechanics.samples import Point, loads_of
from whybone_chassis.mechanics.rear_corner import RearCorner, Seats
from whybone_chassis.mechanics.rear_linkage import RearLinkage, assemble_rear, pose_rear
from whybone_chassis.mechanics.rear_statics import balance_rear
from whybone_chassis.mechanics.rear_velocity import motion_ratio, per_travel
from whybone_chassis.mechanics.rear_windup import BushRates, wind_up
from whybone_chassis.mechanics.status import REASONS, Status
from whybone_chassis.mechanics.vectors import FloatArray, IntArray
from whybone_chassis.mechanics.velocity import wheel_rates

Results = dict[str, FloatArray]


def _collect(into: Results, prefix: str, record: object) -> None:
    for field in fields(record):  # type: ignore[arg-type]  # only dataclasses are passed
        value = getattr(record, field.name)
        if isinstance(value, np.ndarray):
            into[f"{prefix}.{field.name}"] = value


def _everything(linkage: RearLinkage, travel: FloatArray) -> Results:
    """Every number the library gives for some rows."""
    pose = pose_rear(linkage, travel)
    motion = per_travel(pose)
    count = len(pose.status)
    out: Results = {"toe": pose.toe, "camber": pose.camber, "length": pose.spring_length}
    _collect(out, "pose", pose)
    _collect(out, "motion", motion)
    _collect(out, "rates", wheel_rates(pose, motion))
    out["ratio"] = motion_ratio(motion)
    loads = loads_of(count, fx=-3000.0, fy=-2000.0, fz=6000.0, bar_force=300.0)
    _collect(out, "forces", balance_rear(pose, loads))
    turn = wind_up(pose, BushRates(*(np.full(count, rate) for rate in RATES)))
    return out | {"wind-up": turn.stiffness, "shares": turn.shares.T}


def _rows(linkage: RearLinkage, travel: FloatArray, index: IntArray) -> Results:
    return _everything(linkage.take(index), np.ascontiguousarray(travel[index]))


def _assert_same(one: Results, other: Results, index: IntArray) -> None:
    for name, values in one.items():
        assert values[index].tobytes() == other[name].tobytes(), name


def _batch(count: int) -> tuple[RearLinkage, FloatArray]:
    """Rows of which some cannot close."""
    return plausible_rear(count, seed=52), np.random.default_rng(53).uniform(-260, 260, count)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 1000])
def test_a_rear_batch_equals_its_rows_one_by_one(count: int) -> None:
    linkage, travel = _batch(count)
    whole = _everything(linkage, travel)
    for row in range(count):
        index = np.array([row])
        _assert_same(whole, _rows(linkage, travel, index), index)


def test_permuted_rear_rows_give_permuted_results() -> None:
    linkage, travel = _batch(400)
    index = np.random.default_rng(54).permutation(400)
    _assert_same(_everything(linkage, travel), _rows(linkage, travel, index), index)


def test_no_rear_rows_give_no_rows() -> None:
    out = _everything(rear().take(np.zeros(0, dtype=np.int64)), np.zeros(0))
    assert {len(values) for values in out.values()} == {0}


def test_one_rear_geometry_for_many_positions_equals_as_many_geometries() -> None:
    travel = np.random.default_rng(55).uniform(-60, 60, 200)
    copied = _everything(rear().take(np.zeros(200, dtype=np.int64)), travel)
    _assert_same(_everything(rear(), travel), copied, np.arange(200))


def _with(**points: Point) -> RearLinkage:
    return assemble_rear(rear_corner_of(AHEAD | points), seats_of())


def _impossible() -> dict[str, tuple[RearLinkage, float, Status]]:
    """Each kind of row that cannot be posed: linkage, travel, expected status."""
    plain = rear_corner_of(AHEAD)
    joint = AHEAD["lower_outer"]
    return {
        "too far up": (rear(), 500.0, Status.OVER_EXTENDED),
        "too far down": (rear(), -600.0, Status.OVER_EXTENDED),
        "integral link without length": (
            _with(integral_on_arm=AHEAD["integral_on_knuckle"]),
            0.0,
            Status.COINCIDENT,
        ),
        "integral link through the joint": (
            _with(
                upper_front_inner=(-2860.0, 430.0, 488.0),
                upper_rear_inner=(-3045.0, 430.0, 480.0),
                upper_rear_outer=(-3045.0, 690.0, 488.0),
                integral_on_arm=(joint[0], joint[1], joint[2] - 60.0),
                integral_on_knuckle=(joint[0], joint[1], joint[2] + 90.0),
            ),
            10.0,
            Status.SINGULAR,
        ),
        "arm without pivots": (
            _with(lower_front_inner=AHEAD["lower_rear_inner"]),
            0.0,
            Status.COINCIDENT,
        ),
        "joint on the pivot line": (
            _with(lower_outer=(-2930.0, 400.0, 235.0)),
            0.0,
            Status.ON_PIVOT_LINE,
        ),
        "upper link into the joint": (_with(upper_rear_outer=joint), 0.0, Status.COINCIDENT),
        "not a number": (rear(), np.nan, Status.NOT_FINITE),
        "point not finite": (_with(integral_on_arm=(0.0, np.inf, 0.0)), 0.0, Status.NOT_FINITE),
        "seat not finite": (
            assemble_rear(plain, seats_of(points=((0.0, np.nan, 0.0), (0.0, 1.0, 0.0)))),
            0.0,
            Status.NOT_FINITE,
        ),
        "spring without length": (
            assemble_rear(plain, seats_of(points=((0.0, 1.0, 0.0), (0.0, 1.0, 0.0)))),
            0.0,
            Status.COINCIDENT,
        ),
        "no radius": (
            assemble_rear(replace(plain, loaded_radius=np.zeros(1)), seats_of()),
            0.0,
            Status.BAD_RADIUS,
        ),
        "wheel lying flat": (
            assemble_rear(replace(plain, static_camber=np.full(1, 90.0)), seats_of()),
            0.0,
            Status.BAD_RADIUS,
        ),
    }


@pytest.mark.parametrize("kind", _impossible())
def test_an_impossible_rear_pose_is_nan_with_its_reason(kind: str) -> None:
    linkage, travel, status = _impossible()[kind]
    pose = pose_rear(linkage, np.array([travel]))
    assert pose.status.tolist() == [status]
    assert pose.reasons() == [REASONS[status]]
    for name in ("lower_outer", "integral_on_arm", "wheel_centre", "contact_centre"):
        assert np.all(np.isnan(getattr(pose, name))), name
    assert np.all(np.isnan(pose.rotation))
    out = _everything(linkage, np.array([travel]))
    for name in ("toe", "rates.toe", "ratio", "forces.integral", "forces.spring", "wind-up"):
        assert np.isnan(out[name][0]), name


def test_impossible_rear_rows_leave_the_others_untouched() -> None:
    sound, travel = _batch(12)
    bad = list(_impossible().values())
    both = stack_rear([sound, *(case[0] for case in bad)])
    travel = np.concatenate([travel, [case[1] for case in bad]])
    index = np.argsort(np.random.default_rng(56).random(len(travel)))
    mixed = _rows(both, travel, index)
    where = np.argsort(index)[:12]
    for name, values in _everything(sound, travel[:12]).items():
        assert mixed[name][where].tobytes() == values.tobytes(), name


def test_every_closed_rear_pose_keeps_its_lengths() -> None:
    linkage, travel = _batch(999)
    pose = pose_rear(linkage, travel)
    closed = pose.status == Status.CLOSED
    assert 500 < closed.sum() < 999
    corner = linkage.corner
    pairs = [
        (pose.upper_front_outer, corner.upper_front_inner, "upper_front_outer"),
        (pose.upper_rear_outer, corner.upper_rear_inner, "upper_rear_outer"),
        (pose.lower_outer, corner.lower_front_inner, "lower_outer"),
        (pose.lower_outer, corner.lower_rear_inner, "lower_outer"),
    ]
    for outer, inner, name in pairs:
        design = np.linalg.norm(getattr(corner, name) - inner, axis=1)
        now = np.linalg.norm(outer - inner, axis=1)
        assert np.abs(now - design)[closed].max() < 1e-10
    design = np.linalg.norm(corner.integral_on_knuckle - corner.integral_on_arm, axis=1)
    now = np.linalg.norm(pose.integral_on_knuckle - pose.integral_on_arm, axis=1)
    assert np.abs(now - design)[closed].max() < 1e-10
    assert np.abs(pose.travel - travel)[closed].max() < 1e-10
    assert np.all(np.linalg.det(pose.rotation[closed]) > 0.0)


def test_wrong_shapes_are_refused_by_name() -> None:
    plain = rear_corner_of(AHEAD)
    assert set(POINTS) < set(RearCorner.__dataclass_fields__)
    with pytest.raises(ValueError, match="integral_on_arm: give shape"):
        replace(plain, integral_on_arm=np.zeros((1, 2)))
    with pytest.raises(ValueError, match="same number of rows"):
        replace(plain, loaded_radius=np.full(2, 345.0))
    with pytest.raises(ValueError, match="seats: give 1 rows"):
        assemble_rear(plain, Seats(np.zeros((2, 3)), np.ones((2, 3))))
    with pytest.raises(ValueError, match="broadcast"):
        pose_rear(plausible_rear(2, seed=1), np.zeros(3))


def test_what_needs_a_spring_is_nan_without_one() -> None:
    pose = pose_rear(assemble_rear(rear_corner_of(AHEAD)), np.zeros(1))
    assert pose.status[0] == Status.CLOSED
    assert np.isnan(pose.spring_length[0])
    assert np.isnan(motion_ratio(per_travel(pose))[0])
