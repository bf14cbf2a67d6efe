"""Rear rates from the Jacobian against differences of positions, within their own error.

Richardson: central differences at steps h and h/2 differ by three times the finer one's leading
error, and (4·finer − coarser)/3 removes it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.plugins.mechanics.rear_samples import plausible_rear
from whybone_chassis.mechanics.rear_linkage import RearPose, pose_rear
from whybone_chassis.mechanics.rear_velocity import motion_ratio, per_travel
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.mechanics.velocity import velocity_of, wheel_rates

STEP = 4.0
COUNT = 90
#: Rounding of positions (1e-11 mm or deg at worst) over the step.
ROUNDING = 1e-11

LINKAGE = plausible_rear(COUNT, seed=42)
TRAVEL = np.random.default_rng(43).uniform(-60, 60, COUNT)


def _excess(read: Callable[[RearPose], FloatArray], rate: FloatArray) -> float:
    """Largest disagreement as a multiple of the differences' own error."""
    coarse, fine = (
        (read(pose_rear(LINKAGE, TRAVEL + h)) - read(pose_rear(LINKAGE, TRAVEL - h))) / (2.0 * h)
        for h in (STEP, STEP / 2)
    )
    error = np.abs(fine - coarse) / 3.0
    off = np.abs(rate - (4.0 * fine - coarse) / 3.0)
    print(f"  largest {off.max():.1e}, error of the differences up to {error.max():.1e}")
    return float((off / (error + ROUNDING)).max())


def test_rear_rates_equal_differences_within_their_error() -> None:
    pose = pose_rear(LINKAGE, TRAVEL)
    motion = per_travel(pose)
    rates = wheel_rates(pose, motion)
    assert _excess(lambda p: p.toe, rates.toe) < 1.0
    assert _excess(lambda p: p.camber, rates.camber) < 1.0
    assert _excess(lambda p: p.wheel_centre, rates.wheel_centre) < 1.0
    assert _excess(lambda p: p.contact_centre, rates.contact_rolling) < 1.0
    assert _excess(lambda p: p.lower_outer, motion.joint) < 1.0
    knuckle_end = velocity_of(motion, pose, pose.integral_on_knuckle)
    assert _excess(lambda p: p.integral_on_knuckle, knuckle_end) < 1.0


def test_rear_motion_ratio_and_braked_contact_equal_differences() -> None:
    pose = pose_rear(LINKAGE, TRAVEL)
    motion = per_travel(pose)
    assert _excess(lambda p: -p.spring_length, motion_ratio(motion)) < 1.0
    offset = np.einsum("nji,nj->ni", pose.rotation, pose.contact_centre - pose.wheel_centre)

    def fixed(p: RearPose) -> FloatArray:
        point: FloatArray = p.wheel_centre + np.einsum("nij,nj->ni", p.rotation, offset)
        return point

    assert _excess(fixed, wheel_rates(pose, motion).contact_fixed) < 1.0
