"""Wind-up against the method of displacements, and by hand where one bush gives all of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.plugins.mechanics.rear_samples import RATES, plausible_rear, rates_of
from tests.plugins.mechanics.test_rear_statics import _planar
from whybone_chassis.mechanics.rear_linkage import RearPose, pose_rear
from whybone_chassis.mechanics.rear_windup import ELEMENTS, BushRates, wind_up
from whybone_chassis.mechanics.vectors import FloatArray

COUNT = 90


def _moves(point: FloatArray, origin: FloatArray, body: int) -> FloatArray:
    """Velocity (3, 12) of a point by the small motions of knuckle (0) and arm (1)."""
    out = np.zeros((3, 12))
    x, y, z = point - origin
    out[:, 6 * body : 6 * body + 3] = np.eye(3)
    out[:, 6 * body + 3 : 6 * body + 6] = [[0, z, -y], [-z, 0, x], [y, -x, 0]]
    return out


def _by_displacements(pose: RearPose, rates: BushRates, i: int) -> float:
    """Assemble the stiffness of both bodies, hold what is held, turn it with a unit torque."""
    corner = pose.linkage.corner
    hub, joint = pose.wheel_centre[i], pose.lower_outer[i]
    stiffness = np.zeros((12, 12))
    links = [
        (pose.upper_front_outer[i], corner.upper_front_inner[i], rates.upper_front[i], None),
        (pose.upper_rear_outer[i], corner.upper_rear_inner[i], rates.upper_rear[i], None),
        (pose.integral_on_knuckle[i], pose.integral_on_arm[i], rates.integral[i], 1),
    ]
    for outer, inner, rate, body in links:
        along = (outer - inner) / np.linalg.norm(outer - inner)
        stretch = along @ _moves(outer, hub, 0)
        if body is not None:
            stretch = stretch - along @ _moves(inner, hub, body)
        stiffness += rate * np.outer(stretch, stretch)
    front, rear = corner.lower_front_inner[i], corner.lower_rear_inner[i]
    axis = (rear - front) / np.linalg.norm(rear - front)
    along_line = np.outer(axis, axis)
    bushes = (
        (front, rates.arm_front_radial[i], rates.arm_front_axial[i]),
        (rear, rates.arm_rear_radial[i], rates.arm_rear_axial[i]),
    )
    for place, radial, axial in bushes:
        move = _moves(place, hub, 1)
        stiffness += move.T @ (radial * (np.eye(3) - along_line) + axial * along_line) @ move
    height = _moves(hub, hub, 0)[2:]
    held = np.vstack([_moves(joint, hub, 0) - _moves(joint, hub, 1), height])
    torque = np.zeros(16)
    torque[3:6] = pose.spin_axis[i]
    # Millimetres and radians: rows and columns of turns made lengths, so that digits are kept.
    scale = np.tile([1.0, 1.0, 1.0, 0.01, 0.01, 0.01], 2)
    held = held * scale * 1e4
    matrix = np.block([[stiffness * np.outer(scale, scale), held.T], [held, np.zeros((4, 4))]])
    torque[:12] *= scale
    found = np.linalg.solve(matrix, torque)[:12] * scale
    return float(np.radians(1e-3 / (found[3:6] @ pose.spin_axis[i])))


def _random_rates(count: int) -> BushRates:
    rng = np.random.default_rng(50)
    return BushRates(*(rate * rng.uniform(0.3, 3.0, count) for rate in RATES))


def test_wind_up_agrees_with_the_method_of_displacements() -> None:
    pose = pose_rear(
        plausible_rear(COUNT, seed=48), np.random.default_rng(49).uniform(-50, 50, COUNT)
    )
    rates = _random_rates(COUNT)
    found = wind_up(pose, rates).stiffness
    wanted = np.array([_by_displacements(pose, rates, i) for i in range(COUNT)])
    off = np.abs(found / wanted - 1.0).max()
    print(f"wind-up: {off:.1e} relative; {found.min():.0f} to {found.max():.0f} N·m/deg")
    assert off < 1e-9


def test_the_integral_link_alone_gives_its_rate_times_its_lever_squared() -> None:
    """Level links across the vehicle, all else stiff: k·a², 120 mm ahead of the joint."""
    stiff = rates_of(1, (1e30, 1e30, 20e3, 1e30, 1e30, 1e30, 1e30))
    found = wind_up(_planar(), stiff)
    wanted = np.radians(20e3 * 120.0**2 * 1e-3)
    assert found.stiffness[0] == pytest.approx(wanted, rel=1e-12)
    assert found.shares[ELEMENTS.index("integral link"), 0] == pytest.approx(1.0, rel=1e-12)


def test_two_parallel_upper_links_give_nothing_to_the_wind_up() -> None:
    """Common practice, no source: they hold camber, not the rocking of the knuckle."""
    rates = rates_of(1)
    soft = replace(rates, upper_front=rates.upper_front / 100, upper_rear=rates.upper_rear / 100)
    stiff, loose = (wind_up(_planar(), each).stiffness[0] for each in (rates, soft))
    assert loose == pytest.approx(stiff, rel=1e-12)
    weak = replace(rates, integral=rates.integral / 100)
    assert wind_up(_planar(), weak).stiffness[0] < 0.05 * stiff


def test_shares_add_up_and_every_softer_bush_softens_the_whole() -> None:
    pose, rates = pose_rear(plausible_rear(9, seed=51), np.zeros(9)), _random_rates(9)
    found = wind_up(pose, rates)
    assert np.allclose(found.shares.sum(axis=0), 1.0, rtol=1e-14)
    for name in BushRates.__dataclass_fields__:
        softer = replace(rates, **{name: 0.5 * getattr(rates, name)})
        assert np.all(wind_up(pose, softer).stiffness < found.stiffness), name
