"""The roll gradient against a textbook's worked number."""

from __future__ import annotations

import math

import pytest

from tests.plugins.corner_rows import values
from whybone_chassis.roll_balance import CHECK

GRAVITY = 9.80665


def test_roll_angle_per_lateral_acceleration() -> None:
    """Barton & Fieldhouse, Automotive Chassis Engineering, 2018, p. 174 (read).

    Sprung 1280 kg, 0.365 m above the roll axis, 28 650 N·m/rad: 0.0194 rad/(m/s²), the weight's
    part in the roll stiffness included.
    """
    per_axle = math.radians(28_650.0 / 2.0)
    row = {
        "sprung_mass": 1280.0,
        "sprung_share_front": 0.5,
        "sprung_cg_height": 365.0 + 150.0,
        "track_front": 1500.0,
        "track_rear": 1500.0,
        "roll_centre_front": 100.0,
        "roll_centre_rear": 200.0,
        "wheel_rate_front": 0.0,
        "wheel_rate_rear": 0.0,
        "bar_stiffness_front": per_axle,
        "bar_stiffness_rear": per_axle,
    }
    found = values(CHECK, row)
    assert found["roll_arm"] == pytest.approx(365.0, rel=1e-14)
    assert math.radians(found["roll_gradient"]) / GRAVITY == pytest.approx(0.0194, abs=0.00005)
    assert found["roll_gradient"] == pytest.approx(10.9, abs=0.05)
