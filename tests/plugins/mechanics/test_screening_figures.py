"""The invented design's figures against those of another screening solver, as it rounded them.

Derived, not published: a second program's results for the same points, good to their last digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.plugins.mechanics.samples import loads_of, one_piece, split
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.statics import balance
from whybone_chassis.mechanics.vectors import norm
from whybone_chassis.mechanics.velocity import motion_ratio, per_travel, wheel_rates

LINKAGES = {"one-piece": one_piece(), "split": split()}


@pytest.mark.parametrize(
    ("kind", "toes", "gradient", "ratio", "locks"),
    [
        ("one-piece", (0.28, 0.10, -0.08), -2.5, 0.62, (35.3, 28.6)),
        ("split", (0.42, 0.10, -0.23), -3.3, 0.57, (34.4, 30.3)),
    ],
)
def test_positions_and_rates(
    kind: str,
    toes: tuple[float, ...],
    gradient: float,
    ratio: float,
    locks: tuple[float, float],
) -> None:
    linkage = LINKAGES[kind]
    bumps = pose_at_travel(linkage, np.array([-80.0, 0.0, 80.0]), np.zeros(3))
    assert bumps.toe == pytest.approx(toes, abs=0.005)
    design = pose_at_travel(linkage, np.zeros(1), np.zeros(1))
    rates = wheel_rates(design, per_travel(design))
    assert 1e3 * rates.toe[0] == pytest.approx(gradient, abs=0.05)
    assert 1e3 * rates.camber[0] == pytest.approx(-21.0, abs=0.5)
    assert motion_ratio(design)[0] == pytest.approx(ratio, abs=0.005)
    ends = pose_at_travel(linkage, np.zeros(2), np.array([-72.0, 72.0]))
    assert np.abs(ends.toe) == pytest.approx(locks, abs=0.06)


def test_roll_centre_and_steering_axis() -> None:
    pose = pose_at_travel(one_piece(), np.zeros(1), np.zeros(1))
    height = 780.0 * wheel_rates(pose, per_travel(pose)).contact_rolling[0, 1]
    axis = axes.steering_axis(pose)
    assert height == pytest.approx(95.0, abs=0.5)
    assert axis.inclination[0] == pytest.approx(11.0, abs=0.5)
    assert axis.caster[0] == pytest.approx(4.3, abs=0.05)
    assert axes.scrub_radius(axis, pose)[0] == pytest.approx(14.0, abs=0.5)
    assert axes.trail(axis, pose)[0] == pytest.approx(24.0, abs=0.5)


@pytest.mark.parametrize(
    ("load", "upper", "lower", "tie_rod", "spring"),
    [
        ({"fz": 5150.0}, 989, 5267, 205, 8290),
        ({"fx": -6257.0, "fz": 6953.0}, 4777, 12877, -353, 10831),
        ({"fy": -7004.0, "fz": 8240.0}, 3519, 12549, -840, 11887),
        ({"fz": 15450.0}, 2967, 15800, 616, 24871),
    ],
)
def test_joint_forces(
    load: dict[str, float], upper: float, lower: float, tie_rod: float, spring: float
) -> None:
    pose = pose_at_travel(one_piece(), np.zeros(1), np.zeros(1))
    forces = balance(pose, loads_of(1, **load))
    got = [
        norm(forces.upper_joint)[0],
        norm(forces.lower_joint)[0],
        forces.tie_rod[0],
        forces.spring[0],
    ]
    assert got == pytest.approx([upper, lower, tie_rod, spring], abs=2.0)
