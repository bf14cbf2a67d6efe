"""Rates from the Jacobian against differences of positions, within the differences' own error.

Richardson: central differences at steps h and h/2 differ by three times the finer one's leading
error, and (4·finer − coarser)/3 removes it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tests.plugins.mechanics.samples import plausible
from whybone_chassis.mechanics.assembly import Linkage
from whybone_chassis.mechanics.axis import caster_rate, steering_axis
from whybone_chassis.mechanics.linkage import Pose, pose_at_spring, pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.mechanics.velocity import (
    Hold,
    Motion,
    motion_ratio,
    per_rack,
    per_travel,
    wheel_rates,
)

STEP = 4.0
COUNT = 80
#: Rounding of positions (1e-11 mm or deg at worst) over the step.
ROUNDING = 1e-11


def _start() -> tuple[Linkage, FloatArray, FloatArray]:
    rng = np.random.default_rng(11)
    return plausible(COUNT, seed=4), rng.uniform(-60, 60, COUNT), rng.uniform(-35, 35, COUNT)


Posed = Callable[[float], Pose]
Reading = Callable[[Pose], FloatArray]


def _central(posed: Posed, read: Reading, step: float) -> FloatArray:
    difference: FloatArray = (read(posed(step)) - read(posed(-step))) / (2.0 * step)
    return difference


def _excess(posed: Posed, read: Reading, rate: FloatArray) -> float:
    """Largest disagreement as a multiple of the differences' own error; print it."""
    coarse, fine = _central(posed, read, STEP), _central(posed, read, STEP / 2)
    error = np.abs(fine - coarse) / 3.0
    off = np.abs(rate - (4.0 * fine - coarse) / 3.0)
    print(f"  largest {off.max():.1e}, error of the differences up to {error.max():.1e}")
    return float((off / (error + ROUNDING)).max())


def _drivers() -> dict[str, tuple[Posed, Callable[[Pose], Motion]]]:
    linkage, travel, rack = _start()
    length = pose_at_travel(linkage, travel, rack).spring_length
    return {
        "travel": (lambda h: pose_at_travel(linkage, travel + h, rack), per_travel),
        "rack at held height": (
            lambda h: pose_at_travel(linkage, travel, rack + h),
            lambda pose: per_rack(pose, Hold.HEIGHT),
        ),
        "rack at held spring": (
            lambda h: pose_at_spring(linkage, length, rack + h),
            lambda pose: per_rack(pose, Hold.SPRING),
        ),
    }


@pytest.mark.parametrize("driver", ["travel", "rack at held height", "rack at held spring"])
def test_rates_equal_differences_within_their_error(driver: str) -> None:
    posed, motion_of = _drivers()[driver]
    pose = posed(0.0)
    rates = wheel_rates(pose, motion_of(pose))
    print(driver)
    assert _excess(posed, lambda p: p.toe, rates.toe) < 1.0
    assert _excess(posed, lambda p: p.camber, rates.camber) < 1.0
    assert _excess(posed, lambda p: p.wheel_centre, rates.wheel_centre) < 1.0
    assert _excess(posed, lambda p: p.contact_centre, rates.contact_rolling) < 1.0


@pytest.mark.parametrize("driver", ["travel", "rack at held height"])
def test_spring_rate_and_braked_contact_equal_differences(driver: str) -> None:
    posed, motion_of = _drivers()[driver]
    pose = posed(0.0)
    motion = motion_of(pose)
    assert _excess(posed, lambda p: p.spring_length, motion.spring) < 1.0
    offset = np.einsum("nji,nj->ni", pose.rotation, pose.contact_centre - pose.wheel_centre)

    def fixed(p: Pose) -> FloatArray:
        point: FloatArray = p.wheel_centre + np.einsum("nij,nj->ni", p.rotation, offset)
        return point

    rates = wheel_rates(pose, motion)
    assert _excess(posed, fixed, rates.contact_fixed) < 1.0


def test_spring_is_still_while_its_length_is_held() -> None:
    posed, motion_of = _drivers()["rack at held spring"]
    assert np.abs(motion_of(posed(0.0)).spring).max() < 1e-13


def test_motion_ratio_is_spring_over_wheel_travel() -> None:
    posed, _ = _drivers()["travel"]
    ratio = motion_ratio(posed(0.0))
    assert _excess(posed, lambda p: -p.spring_length, ratio) < 1.0
    assert np.all((ratio > 0.2) & (ratio < 1.0))


def test_track_rate_is_both_wheels_contact_centres_moving_apart() -> None:
    posed, motion_of = _drivers()["travel"]
    pose = posed(0.0)
    rates = wheel_rates(pose, motion_of(pose))
    assert _excess(posed, lambda p: 2.0 * p.contact_centre[:, 1], rates.track) < 1.0


def test_caster_rate_of_one_piece_arms_is_that_of_their_joint_line() -> None:
    posed, motion_of = _drivers()["travel"]
    pose = posed(0.0)
    one = pose.linkage.corner.one_piece
    rate = caster_rate(steering_axis(pose), motion_of(pose))[one]

    def caster(p: Pose) -> FloatArray:
        line = (p.upper_outer - p.lower_front_outer)[one]
        return np.degrees(np.arctan2(-line[:, 0], line[:, 2].copy()))

    assert _excess(posed, caster, rate) < 1.0
