"""Steering ratio, rack and lock angles against published values."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.plugins.corner_rows import ONE_PIECE_ROW, values
from whybone_chassis.ratio_band import CHECK
from whybone_chassis.ratio_band_numbers import ideal_outer


def turns(rack_travel: float, pitch_diameter: float) -> float:
    """Turns lock to lock of a straight rack: one turn moves it by the pitch circumference."""
    row = ONE_PIECE_ROW | {
        "c_factor": math.pi * pitch_diameter,
        "rack_travel": rack_travel / 2.0,
        "wheelbase": 2950.0,
        "wheel_track": 1560.0,
    }
    return float(values(CHECK, row)["turns_lock_to_lock"])


def test_rack_and_pinion_example() -> None:
    """Barton & Fieldhouse, Automotive Chassis Engineering, Springer 2018, §2.7 p. 87 (read).

    Arm 140 mm swung by 37° to either side; pinion of 7 teeth, module 3. "2×40" there is a slip for
    2×140.
    """
    travel = 2.0 * 140.0 * math.sin(math.radians(37.0))
    assert travel == pytest.approx(168.5, abs=0.05)
    assert turns(travel, 7 * 3.0) == pytest.approx(2.55, abs=0.01)
    assert turns(travel, 17.5) == pytest.approx(3.06, abs=0.01)


def test_ackermann_angles() -> None:
    """Rattan, Theory of Machines: c/L 0.44, inner 18° gives outer 15.87° (recalled)."""
    outer = ideal_outer(np.array([18.0]), np.array([1320.0]), np.array([3000.0]))
    assert outer[0] == pytest.approx(15.87, abs=0.005)


def test_ackermann_share_of_an_ideal_pair_is_100() -> None:
    """cot δo − cot δi = c/L, any text on steering: the share is 100 when it holds, 0 at equals."""
    found = values(
        CHECK,
        ONE_PIECE_ROW
        | {"c_factor": 50.0, "rack_travel": 72.0, "wheelbase": 2950.0, "wheel_track": 1560.0},
    )
    inner, outer = (1.0 / math.tan(math.radians(found[f"{at}_angle"])) for at in ("inner", "outer"))
    # The wheelbase at which this very linkage would roll without slip.
    ideal = found["axis_distance"] / (outer - inner)
    row = ONE_PIECE_ROW | {
        "c_factor": 50.0,
        "rack_travel": 72.0,
        "wheelbase": ideal,
        "wheel_track": 1560.0,
    }
    assert values(CHECK, row)["ackermann_percent"] == pytest.approx(100.0, abs=1e-9)


@pytest.mark.parametrize(
    ("radius_ft", "steer"), [(500.0, 0.96), (200.0, 2.40), (100.0, 4.80), (50.0, 9.61)]
)
def test_low_speed_turning(radius_ft: float, steer: float) -> None:
    """Gillespie, Fundamentals of Vehicle Dynamics, ch. 6: L 100.6 in, δ = 57.3·L/R (recalled).

    The rack travel at which the mean wheel angle is the published one turns a corner's wheels so
    that the circle about the rear axle has nearly that radius: δ for tan δ and the two wheels'
    difference leave a relative δ² of error. No static toe, which would spread the two angles.
    """
    base = 100.6 * 25.4
    assert math.degrees(base / (radius_ft * 304.8)) == pytest.approx(steer, abs=0.01)

    def mean(travel: float) -> tuple[float, float]:
        row = ONE_PIECE_ROW | {
            "c_factor": 50.0,
            "rack_travel": travel,
            "wheelbase": base,
            "wheel_track": 1560.0,
            "static_toe": 0.0,
        }
        found = values(CHECK, row)
        circle = 1e3 * found["turning_circle"] / 2.0
        radius = math.sqrt(circle * circle - base * base) - 780.0
        return (found["inner_angle"] + found["outer_angle"]) / 2.0, radius

    low, high = 0.1, 60.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if mean(middle)[0] < steer else (low, middle)
    allowed = 0.005 / steer + math.radians(steer) ** 2  # as printed, and the formula's own
    assert mean(low)[1] == pytest.approx(radius_ft * 304.8, rel=allowed)
