"""Forces against virtual work, against equilibrium written out, and in their planar limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from tests.plugins.mechanics.samples import (
    ONE_PIECE,
    Point,
    corner_of,
    loads_of,
    one_piece,
    plausible,
    spring_of,
    stack,
)
from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.linkage import Pose, pose_at_travel
from whybone_chassis.mechanics.statics import GRAVITY, Forces, Loads, applied, balance
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray, cross, norm, unit

COUNT = 200
Number = npt.NDArray[Any]


def _random_loads(count: int, seed: int) -> Loads:
    rng = np.random.default_rng(seed)
    return loads_of(
        count,
        fx=rng.uniform(-7000, 7000, count),
        fy=rng.uniform(-7000, 7000, count),
        fz=rng.uniform(1000, 16000, count),
        mz=rng.uniform(-150, 150, count),
        on_knuckle=rng.random(count) < 0.5,
        unsprung_mass=rng.uniform(20, 60, count),
        bar_force=rng.uniform(-1500, 1500, count),
        stop_force=rng.uniform(0, 3000, count),
    )


def _posed(count: int = COUNT) -> Pose:
    rng = np.random.default_rng(21)
    linkage = plausible(count, seed=20)
    return pose_at_travel(linkage, rng.uniform(-70, 70, count), rng.uniform(-40, 40, count))


@dataclass(frozen=True)
class _Row:
    """One row's points for complex-step derivatives."""

    inner: FloatArray
    outer: FloatArray
    hub: FloatArray
    carrier: int
    one_piece: bool
    pivots: FloatArray
    design_joint: FloatArray
    design_seat: FloatArray
    upper_seat: FloatArray

    def seat(self, joint: Number) -> Number:
        """Spring seat for a joint position: arm by sine and cosine, link by two reflections."""
        pivot = self.pivots[0]
        rest, start, now = self.design_seat - pivot, self.design_joint - pivot, joint - pivot
        if self.one_piece:
            axis = (self.pivots[1] - pivot) / np.linalg.norm(self.pivots[1] - pivot)
            start, now = start - axis * (axis @ start), now - axis * (axis @ now)
            cosine = (start @ now) / (start @ start)
            sine = (axis @ np.cross(start, now)) / (start @ start)
            along = axis * (axis @ rest)
            turned: Number = pivot + along + cosine * (rest - along) + sine * np.cross(axis, rest)
            return turned
        first = start / np.linalg.norm(start)
        second = first + now / np.sqrt(now @ now)
        mirrored = rest - 2.0 * first * (first @ rest)
        twice: Number = pivot + mirrored - 2.0 * second * (second @ mirrored) / (second @ second)
        return twice

    def spring(self, joint: Number) -> Number:
        span = self.seat(joint) - self.upper_seat
        return np.asarray(np.sqrt(span @ span))

    def lengths(self, twist: Number) -> Number:
        """Five link lengths, spring length and seat height for a displacement and small turn."""
        outer = self.outer + twist[:3] + np.cross(twist[3:], self.outer - self.hub)
        spans = outer - self.inner
        links = np.sqrt((spans * spans).sum(axis=1))
        joint = outer[self.carrier]
        return np.array([*links, self.spring(joint), self.seat(joint)[2]])


def _row(pose: Pose, i: int) -> _Row:
    c, spring = pose.linkage.corner, pose.linkage.spring
    assert spring is not None
    one = bool(c.one_piece[i])
    rear = not one and bool(spring.on[i])
    return _Row(
        inner=np.array(
            [
                c.upper_front_inner[i],
                c.upper_rear_inner[i],
                c.lower_front_inner[i],
                c.lower_rear_inner[i],
                pose.tie_rod_inner[i],
            ]
        ),
        outer=np.array(
            [
                pose.upper_outer[i],
                pose.upper_outer[i],
                pose.lower_front_outer[i],
                pose.lower_rear_outer[i],
                pose.tie_rod_outer[i],
            ]
        ),
        hub=pose.wheel_centre[i],
        carrier=3 if rear else 2,
        one_piece=one,
        pivots=np.array([c.lower_rear_inner[i], c.lower_front_inner[i]])
        if rear
        else np.array([c.lower_front_inner[i], c.lower_rear_inner[i]]),
        design_joint=(c.lower_rear_outer if rear else c.lower_front_outer)[i],
        design_seat=spring.lower[i],
        upper_seat=spring.upper[i],
    )


def _gradient(function: Any, count: int, at: FloatArray) -> FloatArray:  # noqa: ANN401 - real and complex alike
    """Complex-step derivatives: no difference is taken, so no digits are lost."""
    tiny = 1e-30
    columns = [np.imag(function(at + 1j * tiny * np.eye(count)[k])) / tiny for k in range(count)]
    return np.stack(columns, axis=-1)


def _virtual_work(
    row: _Row, force: FloatArray, moment: FloatArray, bar: float, stop: float
) -> tuple[FloatArray, FloatArray]:
    """Multipliers of the five lengths and the spring, and the carrier's joint force."""
    rates = _gradient(row.lengths, 6, np.zeros(6))
    work = np.concatenate([force, moment]) + stop * rates[5] + bar * rates[6]
    scale = np.array([1, 1, 1, 0.01, 0.01, 0.01])
    matrix = (rates[:6] * np.array([-1, -1, -1, -1, -1, 1])[:, None]).T
    found = np.linalg.solve(matrix * scale[:, None], -work * scale)
    joint = row.outer[row.carrier]
    push = (found[5] + stop) * _gradient(row.spring, 3, joint)
    push = push + bar * _gradient(lambda p: row.seat(p)[2], 3, joint)
    for link in (2, 3) if row.one_piece else (row.carrier,):
        push = push - found[link] * (row.outer[link] - row.inner[link]) / np.linalg.norm(
            row.outer[link] - row.inner[link]
        )
    return found, push


def test_forces_equal_virtual_work() -> None:
    pose, loads = _posed(), _random_loads(COUNT, 22)
    forces = balance(pose, loads)
    force, moment = applied(pose, loads)
    worst = 0.0
    for i in range(COUNT):
        row = _row(pose, i)
        found, joint = _virtual_work(
            row, force[i], moment[i], loads.bar_force[i], loads.stop_force[i]
        )
        got = [forces.upper_front[i], forces.upper_rear[i], forces.tie_rod[i], forces.spring[i]]
        expected = [found[0], found[1], found[4], found[5]]
        if not row.one_piece:
            got.append(forces.other_lower[i])
            expected.append(found[2 if row.carrier == 3 else 3])
        got.extend(forces.carrier_joint[i])
        expected.extend(joint)
        off = np.abs(np.array(got) - np.array(expected)).max()
        worst = max(worst, float(off / np.abs(expected).max()))
    print(f"virtual work: {worst:.1e} relative")
    assert worst < 1e-9


def _residuals(pose: Pose, loads: Loads, forces: Forces) -> tuple[FloatArray, FloatArray]:
    """Force (N) and moment (N·mm, about the origin) left over on knuckle and carrier together."""
    c, spring = pose.linkage.corner, pose.linkage.spring
    assert spring is not None
    rear = (spring.on == 1)[:, None]
    force, moment = applied(pose, loads)
    moment = moment + cross(pose.wheel_centre, force)
    tie = unit(pose.tie_rod_inner - pose.tie_rod_outer) * forces.tie_rod[:, None]
    joint = np.where(rear, pose.lower_rear_outer, pose.lower_front_outer)
    outer = np.where(rear, pose.lower_front_outer, pose.lower_rear_outer)
    inner = np.where(rear, c.lower_front_inner, c.lower_rear_inner)
    other = unit(inner - outer) * np.nan_to_num(forces.other_lower)[:, None]
    ends = (
        (pose.upper_outer, forces.upper_joint),
        (pose.tie_rod_outer, tie),
        (joint, forces.carrier_joint),
        (outer, other),
    )
    for place, push in ends:
        force, moment = force + push, moment + cross(place, push)
    return force, moment


def test_the_knuckle_is_in_equilibrium() -> None:
    pose, loads = _posed(), _random_loads(COUNT, 23)
    force, moment = _residuals(pose, loads, balance(pose, loads))
    assert np.abs(force).max() < 1e-8
    assert np.abs(moment).max() < 1e-5


def test_a_spring_link_is_in_equilibrium_with_its_bush_moment() -> None:
    pose = _posed()
    loads = loads_of(COUNT, fz=5000.0, fy=-2000.0)
    forces = balance(pose, loads)
    spring = pose.linkage.spring
    assert spring is not None
    split = ~pose.linkage.corner.one_piece
    rear = (spring.on == 1)[:, None]
    c = pose.linkage.corner
    pivot = np.where(rear, c.lower_rear_inner, c.lower_front_inner)
    joint = np.where(rear, pose.lower_rear_outer, pose.lower_front_outer)
    start = np.where(rear, c.lower_rear_outer, c.lower_front_outer) - pivot
    push = unit(pose.spring_lower - spring.upper) * forces.spring[:, None]
    moment = cross(pose.spring_lower - pivot, push) - cross(joint - pivot, forces.carrier_joint)
    middle = unit(unit(start) + unit(joint - pivot))
    moment = (moment + 1e3 * forces.bush_moment[:, None] * middle)[split]
    assert np.abs(moment).max() < 1e-5
    assert np.all(np.isnan(forces.bush_moment[~split]))


PLANAR: dict[str, Point] = {
    "upper_front_inner": (120.0, 430.0, 520.0),
    "upper_rear_inner": (-120.0, 430.0, 520.0),
    "upper_outer": (0.0, 690.0, 520.0),
    "tie_rod_inner": (-140.0, 400.0, 260.0),
    "tie_rod_outer": (-140.0, 700.0, 260.0),
    "wheel_centre": (0.0, 780.0, 345.0),
}
PLANAR_ONE_PIECE = PLANAR | {
    "lower_front_inner": (150.0, 380.0, 210.0),
    "lower_front_outer": (0.0, 720.0, 210.0),
    "lower_rear_inner": (-150.0, 380.0, 210.0),
    "lower_rear_outer": (0.0, 720.0, 210.0),
}
PLANAR_SPLIT = PLANAR | {
    "lower_front_inner": (150.0, 380.0, 210.0),
    "lower_front_outer": (30.0, 690.0, 210.0),
    "lower_rear_inner": (-150.0, 380.0, 210.0),
    "lower_rear_outer": (-30.0, 690.0, 210.0),
}


def _planar(points: dict[str, Point]) -> Linkage:
    corner = corner_of(points)
    fields = {name: getattr(corner, name) for name in type(corner).__dataclass_fields__}
    upright = fields | {"static_camber": np.zeros(1), "static_toe": np.zeros(1)}
    front, start = np.array(points["lower_front_outer"]), np.array(points["lower_front_inner"])
    seat = start + 0.6 * (front - start)
    return assemble(type(corner)(**upright), spring_of((tuple(seat), (0.0, 520.0, 640.0))))


@pytest.mark.parametrize("points", [PLANAR_ONE_PIECE, PLANAR_SPLIT])
def test_horizontal_links_and_an_unloaded_tie_rod_share_by_heights(
    points: dict[str, Point],
) -> None:
    """Common statics of a beam on two supports: no source needed."""
    pose = pose_at_travel(_planar(points), np.zeros(1), np.zeros(1))
    cornering = 3000.0
    forces = balance(pose, loads_of(1, fy=-cornering))
    upper, lower, ground = 520.0, 210.0, 0.0
    spacing = upper - lower
    assert forces.tie_rod[0] == pytest.approx(0.0, abs=1e-8)
    assert forces.spring[0] == pytest.approx(0.0, abs=1e-8)
    pull, push = forces.upper_joint[0], forces.lower_joint[0]
    assert pull[1] == pytest.approx(-cornering * (lower - ground) / spacing, rel=1e-12)
    assert push[1] == pytest.approx(cornering * (upper - ground) / spacing, rel=1e-12)
    assert np.abs([pull[0], pull[2], push[0], push[2]]).max() < 1e-8
    assert forces.upper_front[0] > 0.0
    assert forces.upper_rear[0] > 0.0


def test_inboard_brakes_move_the_braking_force_to_the_wheel_centre() -> None:
    pose = _posed(4)
    outboard = applied(pose, loads_of(4, fx=-1000.0))
    inboard = applied(pose, loads_of(4, fx=-1000.0, on_knuckle=False))
    down = pose.wheel_centre[:, 2] - pose.contact_centre[:, 2]
    assert np.array_equal(outboard[0], inboard[0])
    assert np.all(inboard[1] == 0.0)
    assert np.allclose(outboard[1][:, 1], 1000.0 * down, rtol=1e-12)


def test_a_wheel_standing_on_its_own_weight_loads_no_link() -> None:
    pose = pose_at_travel(_planar(PLANAR_ONE_PIECE), np.zeros(1), np.zeros(1))
    forces = balance(pose, loads_of(1, fz=40.0 * GRAVITY, unsprung_mass=40.0))
    assert norm(forces.upper_joint)[0] < 1e-9
    assert norm(forces.lower_joint)[0] < 1e-9
    assert abs(forces.spring[0]) < 1e-9


def test_a_stop_takes_from_the_spring_what_it_carries() -> None:
    pose = _posed(8)
    bare = balance(pose, loads_of(8, fz=9000.0))
    stopped = balance(pose, loads_of(8, fz=9000.0, stop_force=2500.0))
    assert np.allclose(stopped.spring + 2500.0, bare.spring, rtol=1e-12)
    assert np.allclose(stopped.carrier_joint, bare.carrier_joint, rtol=1e-10, atol=1e-8)


def test_a_spring_in_line_with_the_pivot_determines_nothing() -> None:
    dead = assemble(corner_of(ONE_PIECE), spring_of(((0.0, 600.0, 245.0), (0.0, 160.0, 199.0))))
    linkage = stack([one_piece(), dead, one_piece()])
    pose = pose_at_travel(linkage, np.zeros(3), np.zeros(3))
    forces = balance(pose, loads_of(3, fz=5000.0))
    assert np.all(pose.status == Status.CLOSED)
    assert forces.status.tolist() == [Status.CLOSED, Status.INDETERMINATE, Status.CLOSED]
    assert forces.condition[1] > 1e6
    assert np.isnan(forces.spring).tolist() == [False, True, False]
    assert np.all(np.isnan(forces.lower_joint[1]))


def test_loads_that_are_not_finite_say_so() -> None:
    odd = np.array([5000.0, np.nan, np.inf, 5000.0])
    loads = loads_of(4, fz=odd, fx=odd)
    forces = balance(_posed(4), loads)
    assert forces.status.tolist() == [0, Status.NOT_FINITE, Status.NOT_FINITE, 0]
    assert np.isnan(forces.spring).tolist() == [False, True, True, False]
