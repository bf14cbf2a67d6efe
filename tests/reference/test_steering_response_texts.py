"""The steering response against two textbooks, recalled from memory."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tracker.contract.kit import Subject
from whybone_chassis.steering_response import CHECK

GRAVITY = 9.80665
POUND, FOOT, INCH = 0.45359237, 0.3048, 25.4
NO_ROLL = {"roll_gradient": 0.0, "roll_steer_front": 0.0, "roll_steer_rear": 0.0}


def found(**row: Any) -> dict[str, float]:  # noqa: ANN401  numbers of a row
    subject = Subject(check=CHECK, rows=[row])
    outputs = CHECK.compute(subject.batch([row]), {})
    return {port: float(values[0]) for port, values in outputs.values.items()}


# Wong, Theory of Ground Vehicles, Example 5.1, recalled from memory: 20.105 kN, L 2.8 m, 53.5 %
# front; cornering stiffness per *tyre*, so an axle has twice as much.
WONG: dict[str, Any] = {
    "mass": 20_105.0 / GRAVITY,
    "front_share": 0.535,
    "wheelbase": 2800.0,
    "cornering_front": 2 * 38_920.0,
    "cornering_rear": 2 * 38_250.0,
    "ratio": 1.0,
    "speed": 50.0,
    **NO_ROLL,
}


def test_wong_understeering_example() -> None:
    values = found(**WONG)
    assert math.radians(values["understeer"]) == pytest.approx(0.0160, abs=0.00005)
    assert values["characteristic_speed"] / 3.6 == pytest.approx(41.5, abs=0.05)


def test_wong_oversteering_example() -> None:
    values = found(**{**WONG, "cornering_front": 2 * 47_820.0})
    assert values["critical_speed"] / 3.6 == pytest.approx(53.1, abs=0.05)


# Gillespie, Fundamentals of Vehicle Dynamics, chapter 6, recalled from memory: a wheelbase of
# 100.6 in needs these angles at low speed.
@pytest.mark.parametrize(
    ("radius", "angle"), [(500.0, 0.96), (200.0, 2.40), (100.0, 4.80), (50.0, 9.61)]
)
def test_gillespie_steer_angle_at_a_crawl(radius: float, angle: float) -> None:
    speed = 0.001  # km/h
    values = found(**{**WONG, "wheelbase": 100.6 * INCH, "speed": speed})
    turning = speed / 3.6 / (radius * FOOT)  # yaw velocity, rad/s
    # Yaw gain is turning over steer: rad/s per rad.
    assert math.degrees(turning / values["yaw_gain"]) == pytest.approx(angle, abs=0.006)


def test_gillespie_characteristic_speed_formula_in_its_own_units() -> None:
    """V_char = √(57.3·g·L/K), g in ft/s², L in ft, K in deg/g: ft/s."""
    values = found(**WONG)
    speed = math.sqrt(57.3 * 32.174 * (2.8 / FOOT) / values["understeer"])
    assert values["characteristic_speed"] == pytest.approx(speed * FOOT * 3.6, rel=1e-4)


def test_gillespie_properties_at_the_characteristic_speed() -> None:
    values = found(**WONG)
    speed = values["characteristic_speed"]
    at = found(**{**WONG, "speed": speed})
    neutral = speed / 3.6 / 2.8  # yaw gain of a neutral vehicle, 1/s
    assert at["yaw_gain"] == pytest.approx(neutral / 2, rel=1e-12)
    # Twice the steer angle of a crawl on the same radius: 100 m.
    lateral = (speed / 3.6) ** 2 / 100.0 / GRAVITY
    steer = 100.0 * lateral / at["sensitivity"]
    assert steer == pytest.approx(2 * math.degrees(2.8 / 100.0), rel=1e-12)


def test_gillespie_roll_steer_part_with_his_sign_of_the_rear() -> None:
    """(ε_f − ε_r)·dφ/da_y; his ε_r is positive where ours is negative."""
    epsilon_front, epsilon_rear, gradient = 0.08, -0.03, 6.0
    row = {"roll_gradient": gradient, "roll_steer_front": 0.08, "roll_steer_rear": 0.03}
    values = found(**{**WONG, **row})
    assert values["understeer_roll"] == pytest.approx(
        (epsilon_front - epsilon_rear) * gradient, rel=1e-14
    )


def test_per_tyre_stiffness_by_mistake_doubles_the_gradient() -> None:
    halved = {key: WONG[key] / 2 for key in ("cornering_front", "cornering_rear")}
    mistaken = found(**{**WONG, **halved})["understeer"]
    assert mistaken == pytest.approx(2 * found(**WONG)["understeer"], rel=1e-12)
