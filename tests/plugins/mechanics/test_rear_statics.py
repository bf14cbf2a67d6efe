"""Rear forces against virtual work, against equilibrium written out, and the trade's signs."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.plugins.mechanics.rear_reference import slopes
from tests.plugins.mechanics.rear_samples import (
    AHEAD,
    BEHIND,
    LAYOUTS,
    RAISED,
    plausible_rear,
    rear,
    rear_corner_of,
    seats_of,
    stack_rear,
)
from tests.plugins.mechanics.samples import Point, loads_of
from whybone_chassis.mechanics.rear_linkage import RearPose, assemble_rear, pose_rear
from whybone_chassis.mechanics.rear_statics import balance_rear
from whybone_chassis.mechanics.statics import Loads, applied
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray, cross, unit

COUNT = 150


def _posed(count: int = COUNT) -> RearPose:
    travel = np.random.default_rng(45).uniform(-60, 60, count)
    return pose_rear(plausible_rear(count, seed=44), travel)


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


def _by_virtual_work(pose: RearPose, loads: Loads, i: int) -> FloatArray:
    """Links, ball joint on the knuckle and spring: multipliers of seven constraints.

    The knuckle (translation, small turn about the wheel centre) and the arm (turn about its pivot
    line) are set free; no constraint may do work together with the loads in any of the seven
    motions.
    """
    corner, seats = pose.linkage.corner, pose.linkage.seats
    assert seats is not None
    hub, pivot = pose.wheel_centre[i], corner.lower_front_inner[i]
    line = corner.lower_rear_inner[i] - pivot
    axis = line / np.linalg.norm(line)

    def knuckle(q: npt.NDArray[np.complex128], point: FloatArray) -> npt.NDArray[np.complex128]:
        moved: npt.NDArray[np.complex128] = point + q[:3] + np.cross(q[3:6], point - hub)
        return moved

    def arm(q: npt.NDArray[np.complex128], point: FloatArray) -> npt.NDArray[np.complex128]:
        moved: npt.NDArray[np.complex128] = point + q[6] * np.cross(axis, point - pivot)
        return moved

    def seat_length(q: npt.NDArray[np.complex128]) -> npt.NDArray[np.complex128]:
        span = arm(q, pose.spring_lower[i]) - seats.upper[i]
        return np.asarray(np.sqrt(span @ span))

    def constraints(q: npt.NDArray[np.complex128]) -> npt.NDArray[np.complex128]:
        spans = [
            knuckle(q, pose.upper_front_outer[i]) - corner.upper_front_inner[i],
            knuckle(q, pose.upper_rear_outer[i]) - corner.upper_rear_inner[i],
            knuckle(q, pose.integral_on_knuckle[i]) - arm(q, pose.integral_on_arm[i]),
        ]
        lengths = [-np.sqrt(span @ span) for span in spans]
        joint = knuckle(q, pose.lower_outer[i]) - arm(q, pose.lower_outer[i])
        return np.array([*lengths, *joint, seat_length(q)])

    force, moment = applied(pose, loads)
    still = np.zeros(7)
    work = np.array([*force[i], *moment[i], 0.0])
    work += loads.stop_force[i] * slopes(lambda q: np.array([seat_length(q)]), still)[0]
    work[6] += loads.bar_force[i] * slopes(lambda q: arm(q, pose.spring_lower[i]), still)[2, 6]
    scale = np.array([1.0, 1.0, 1.0, 0.01, 0.01, 0.01, 0.01])
    found: FloatArray = np.linalg.solve(
        slopes(constraints, still).T * scale[:, None], -work * scale
    )
    return found


def test_rear_forces_equal_virtual_work() -> None:
    pose, loads = _posed(), _random_loads(COUNT, 46)
    forces = balance_rear(pose, loads)
    worst = 0.0
    for i in range(COUNT):
        got = [
            forces.upper_front[i],
            forces.upper_rear[i],
            forces.integral[i],
            *forces.lower_joint[i],
            forces.spring[i],
        ]
        wanted = _by_virtual_work(pose, loads, i)
        worst = max(worst, float(np.abs(got - wanted).max() / np.abs(wanted).max()))
    print(f"virtual work: {worst:.1e} relative")
    assert worst < 1e-9


def test_knuckle_and_arm_are_in_equilibrium() -> None:
    pose, loads = _posed(), _random_loads(COUNT, 47)
    corner, seats = pose.linkage.corner, pose.linkage.seats
    assert seats is not None
    forces = balance_rear(pose, loads)
    force, moment = applied(pose, loads)
    moment = moment + cross(pose.wheel_centre, force)
    along = unit(pose.integral_on_arm - pose.integral_on_knuckle) * forces.integral[:, None]
    pulls = [
        (pose.lower_outer, forces.lower_joint),
        (pose.integral_on_knuckle, along),
    ]
    for side, axial in (("front", forces.upper_front), ("rear", forces.upper_rear)):
        outer = getattr(pose, f"upper_{side}_outer")
        inner = getattr(corner, f"upper_{side}_inner")
        pulls.append((outer, unit(inner - outer) * axial[:, None]))
    for place, pull in pulls:
        force, moment = force + pull, moment + cross(place, pull)
    assert np.abs(force).max() < 1e-8
    assert np.abs(moment).max() < 1e-4  # N·mm, with levers from the origin, 3 m away

    pivot = corner.lower_front_inner
    push = unit(pose.spring_lower - seats.upper) * (forces.spring + loads.stop_force)[:, None]
    push[:, 2] += loads.bar_force
    turning = cross(pose.lower_outer - pivot, -forces.lower_joint)
    turning += cross(pose.integral_on_arm - pivot, -along) + cross(pose.spring_lower - pivot, push)
    axis = unit(corner.lower_rear_inner - pivot)
    assert np.abs(np.einsum("ni,ni->n", axis, turning)).max() < 1e-5


def _increments(points: dict[str, Point]) -> FloatArray:
    """Integral link force per kN: braking outboard, driving through the knuckle, inboard motor."""
    pose = pose_rear(rear(points), np.zeros(3))
    loads = loads_of(3, fx=np.array([-1e3, 1e3, 1e3]), on_knuckle=np.array([True, True, False]))
    return balance_rear(pose, loads).integral


@pytest.mark.parametrize(
    ("layout", "signs"),
    [("ahead", (-1, 1, -1)), ("raised", (-1, 1, 1)), ("behind", (1, -1, 1))],
)
def test_signs_of_the_load_increments(layout: str, signs: tuple[int, ...]) -> None:
    """Common practice, no source: compressed under braking, pulled under acceleration.

    So it is with the link ahead of the lower joint, the arm below and the torque on the knuckle;
    an inboard motor's force at the wheel centre's height compresses it with the joint below the
    wheel centre, and pulls it with the joint above.
    """
    found = _increments(LAYOUTS[layout])
    assert np.sign(found).tolist() == list(signs)
    assert found[1] == pytest.approx(-found[0], rel=1e-12)


def _mirrored(points: dict[str, Point]) -> dict[str, Point]:
    """Turn the link alone round to the other side of the lower joint."""
    x = points["lower_outer"][0]
    return points | {
        name: (2.0 * x - points[name][0], *points[name][1:])
        for name in ("integral_on_arm", "integral_on_knuckle")
    }


@pytest.mark.parametrize("points", [AHEAD, RAISED, BEHIND])
def test_a_link_on_the_other_side_of_the_joint_reverses_all_signs(
    points: dict[str, Point],
) -> None:
    assert np.array_equal(np.sign(_increments(_mirrored(points))), -np.sign(_increments(points)))


def test_an_arm_above_the_knuckle_end_reverses_all_signs() -> None:
    swapped = AHEAD | {
        "integral_on_arm": AHEAD["integral_on_knuckle"],
        "integral_on_knuckle": AHEAD["integral_on_arm"],
    }
    assert np.array_equal(np.sign(_increments(swapped)), -np.sign(_increments(AHEAD)))


PLANAR: dict[str, Point] = {
    "lower_front_inner": (150.0, 380.0, 210.0),
    "lower_rear_inner": (-150.0, 380.0, 210.0),
    "lower_outer": (0.0, 720.0, 210.0),
    "integral_on_arm": (120.0, 720.0, 210.0),
    "integral_on_knuckle": (120.0, 720.0, 330.0),
    "upper_front_inner": (90.0, 430.0, 480.0),
    "upper_front_outer": (90.0, 690.0, 480.0),
    "upper_rear_inner": (-60.0, 430.0, 480.0),
    "upper_rear_outer": (-60.0, 690.0, 480.0),
    "wheel_centre": (0.0, 780.0, 345.0),
}
"""Level links across the vehicle, upright integral link: every force by hand."""


def _planar(**moved: Point) -> RearPose:
    corner = rear_corner_of(PLANAR | moved)
    fields = {name: getattr(corner, name) for name in type(corner).__dataclass_fields__}
    upright = fields | {"static_camber": np.zeros(1), "static_toe": np.zeros(1)}
    return pose_rear(assemble_rear(type(corner)(**upright), seats_of()), np.zeros(1))


def test_braking_by_hand() -> None:
    """Moments about the lower joint, in side view: F·z_joint is held by the link's lever."""
    forces = balance_rear(_planar(), loads_of(1, fx=-1000.0))
    assert forces.integral[0] == pytest.approx(-1000.0 * 210.0 / 120.0, rel=1e-12)
    assert forces.lower_joint[0, 0] == pytest.approx(1000.0, rel=1e-12)
    assert forces.lower_joint[0, 2] == pytest.approx(-1000.0 * 210.0 / 120.0, rel=1e-12)


def test_an_inboard_motor_by_hand() -> None:
    forces = balance_rear(_planar(), loads_of(1, fx=1000.0, on_knuckle=False))
    assert forces.integral[0] == pytest.approx(-1000.0 * (345.0 - 210.0) / 120.0, rel=1e-12)


def test_two_parallel_upper_links_hold_camber_and_leave_the_rocking_to_the_integral_link() -> None:
    """Common practice, no source."""
    cornering = balance_rear(_planar(), loads_of(1, fy=-3000.0))
    assert cornering.integral[0] == pytest.approx(0.0, abs=1e-9)
    upper = cornering.upper_front[0] + cornering.upper_rear[0]
    assert upper == pytest.approx(3000.0 * 210.0 / 270.0, rel=1e-12)
    braking = balance_rear(_planar(), loads_of(1, fx=-3000.0))
    # The braking force turns the knuckle about Z too, by 60 mm of lever to the joint: only as a
    # pair do the upper links see it.
    assert braking.upper_front[0] == pytest.approx(-braking.upper_rear[0], rel=1e-12)
    assert braking.integral[0] < -1000.0


def test_without_a_lever_of_the_integral_link_nothing_holds_the_rocking() -> None:
    """Its line through the lower joint: the closing equations are singular, and say so."""
    through = _planar(integral_on_arm=(0.0, 720.0, 150.0), integral_on_knuckle=(0.0, 720.0, 330.0))
    assert through.status.tolist() == [Status.SINGULAR]
    forces = balance_rear(through, loads_of(1, fx=-3000.0))
    assert forces.status.tolist() == [Status.SINGULAR]
    assert np.isnan(forces.integral[0])


def test_a_spring_in_line_with_the_pivots_has_no_force_and_the_links_have() -> None:
    dead = assemble_rear(
        rear_corner_of(AHEAD), seats_of(points=((-2930.0, 560.0, 245.0), (-2930.0, 400.0, 235.0)))
    )
    pose = pose_rear(stack_rear([rear(), dead, rear()]), np.zeros(3))
    forces = balance_rear(pose, loads_of(3, fz=5000.0))
    assert np.isnan(forces.spring).tolist() == [False, True, False]
    assert forces.status.tolist() == [Status.CLOSED] * 3
    assert forces.integral[1] == forces.integral[0]


def test_links_need_no_spring() -> None:
    bare = pose_rear(assemble_rear(rear_corner_of(AHEAD)), np.zeros(1))
    sprung = pose_rear(rear(), np.zeros(1))
    loads = loads_of(1, fz=5000.0, fx=-2000.0, bar_force=300.0)
    without, with_spring = balance_rear(bare, loads), balance_rear(sprung, loads)
    assert without.integral.tobytes() == with_spring.integral.tobytes()
    assert without.lower_joint.tobytes() == with_spring.lower_joint.tobytes()
    assert np.isnan(without.spring[0])


def test_loads_that_are_not_finite_say_so() -> None:
    odd = np.array([5000.0, np.nan, np.inf, 5000.0])
    forces = balance_rear(_posed(4), loads_of(4, fz=odd, fx=odd))
    assert forces.status.tolist() == [0, Status.NOT_FINITE, Status.NOT_FINITE, 0]
    assert np.isnan(forces.integral).tolist() == [False, True, True, False]
