"""The brake balance against a textbook example and the regulations' formulas."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tracker.contract.check import Outputs
from tracker.contract.kit import Subject
from whybone_chassis.brake_balance import CHECK
from whybone_chassis.brake_balance_classes import CLASSES
from whybone_chassis.brake_balance_sums import least_rate

GRAVITY = 9.80665

# Wong, Theory of Ground Vehicles, Example 3.2, recalled from memory: 21.24 kN, wheelbase 2.87 m,
# centre 1.27 m behind the front axle and 0.508 m high, 60 % of the braking in front, rolling
# resistance 0.02.
WONG: dict[str, Any] = {
    **{f"mass_{trim}": 21_240.0 / GRAVITY for trim in ("laden", "unladen")},
    **{f"cg_{trim}": (-1270.0, 0.0, 508.0) for trim in ("laden", "unladen")},
    "wheelbase": 2870.0,
    "vehicle_class": "M1",
    "piston_area_front": 3_000.0,
    "piston_area_rear": 2_000.0,
    "effective_radius_front": 110.0,
    "effective_radius_rear": 110.0,
    "pad_friction_front": 0.4,
    "pad_friction_rear": 0.4,
    "tyre_radius": 320.0,
    "deceleration": 0.5,
    "rolling_resistance": 0.02,
    "road_friction": 0.8,
}


def answer(**changes: object) -> Outputs:
    row = {**WONG, **changes}
    return CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})


@pytest.mark.parametrize(("friction", "front", "rear"), [(0.8, 0.999, 0.668), (0.2, 0.219, 0.222)])
def test_wong_locking_decelerations(friction: float, front: float, rear: float) -> None:
    values = answer(road_friction=friction).values
    assert values["brake_share_front_laden"][0] == pytest.approx(0.6, rel=1e-14)
    assert values["lock_front_laden"][0] == pytest.approx(front, abs=0.0005)
    assert values["lock_rear_laden"][0] == pytest.approx(rear, abs=0.0005)


# Least braking rate at an adhesion of 0.8: UN R13-H 0.52 (recalled from memory), and 0.61 of
# 71/320/EEC with 0.85, read in Crolla, Automotive Engineering, p. 362.
@pytest.mark.parametrize(("vehicle", "rate"), [("M1", 0.52), ("N1", 0.61), ("N3", 0.61)])
def test_regulation_line(vehicle: str, rate: float) -> None:
    slope = np.array([CLASSES[vehicle].slope])
    assert least_rate(slope, np.array([0.8]))[0] == pytest.approx(rate, rel=1e-12)
    assert least_rate(slope, np.array([0.2]))[0] == pytest.approx(0.1, rel=1e-12)


# Directive 71/320/EEC, Annex II, appendix (read): front above rear from 0.15 up to 0.8 for M1, up
# to 0.5 for N1, up to 0.30 for the others.
@pytest.mark.parametrize(("vehicle", "last"), [("M1", 0.8), ("N1", 0.5), ("N2", 0.3), ("M3", 0.3)])
def test_lock_order_is_judged_over_the_rates_of_the_class(vehicle: str, last: float) -> None:
    assert CLASSES[vehicle].order_up_to == last


# Stopping distance allowed (recalled from memory): M1 0.1·v + 0.006·v² from 100 km/h = 70 m, N1
# 0.15·v + v²/130 from 80 km/h = 61.2 m.
@pytest.mark.parametrize(("vehicle", "speed", "limit"), [("M1", 100.0, 70.0), ("N1", 80.0, 61.2)])
def test_stopping_distance_allowed(vehicle: str, speed: float, limit: float) -> None:
    values = answer(vehicle_class=vehicle, initial_speed=speed).values
    assert values["stopping_limit"][0] == pytest.approx(limit, abs=0.05)


# Mean fully developed deceleration (read in a UNECE working paper): (v_b² − v_e²)/(25.92·(s_e −
# s_b)), from 0.8 to 0.1 of the speed, in m/s².
def test_mean_fully_developed_deceleration_of_the_stop_drawn() -> None:
    row = {**WONG, "initial_speed": 100.0}
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    stop = next(each for each in CHECK.figures(batch, {}) if each.key == "stop").series[0]
    # Distance is straight over the square of the speed once the brakes have responded.
    squares, distances = np.array(stop.y)[:0:-1] ** 2, np.array(stop.x)[:0:-1]
    begin, end = (float(np.interp((part * 100) ** 2, squares, distances)) for part in (0.8, 0.1))
    developed = (80.0**2 - 10.0**2) / (25.92 * (end - begin))
    rate = min(answer().values[f"lock_{axle}_laden"][0] for axle in ("front", "rear"))
    assert developed == pytest.approx(rate * GRAVITY, rel=1e-12)


def test_published_constant_is_twice_the_square_of_km_h_in_m_s() -> None:
    assert pytest.approx(25.92) == 2 * 3.6**2
    assert CLASSES["M1"].deceleration == pytest.approx(6.43, abs=0.005)
    # 130 in v²/130 is printed to three digits: 5.0 m/s² would give 129.6.
    assert CLASSES["N1"].deceleration == pytest.approx(5.0, rel=0.005)
