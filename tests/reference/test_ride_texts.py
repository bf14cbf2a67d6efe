"""The ride against a textbook's worked numbers and a gas law differentiated by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.plugins.corner_rows import values
from whybone_chassis.ride import CHECK

GRAVITY = 9.80665
ATMOSPHERE = 101_325.0  # Pa, ISO 2533:1975, recalled

PLAIN: dict[str, Any] = {
    "sprung_mass_kerb": 300.0,
    "sprung_mass_design": 317.5,
    "sprung_mass_laden": 330.0,
    "unsprung_mass": 45.4,
    "motion_ratio": 1.0,
    "tyre_rate": 192.0,
    "spring_rate": 22.0,
    "bump_travel": 80.0,
    "rebound_travel": 80.0,
}


def test_natural_frequencies_of_a_quarter_car() -> None:
    """Barton & Fieldhouse, Automotive Chassis Engineering, 2018, p. 209 (read): 317.5/45.4 kg."""
    found = values(CHECK, PLAIN)
    assert 2 * math.pi * found["body_mode_design"] == pytest.approx(7.87, rel=0.002)
    assert 2 * math.pi * found["hop_mode_design"] == pytest.approx(68.7, rel=0.002)


@pytest.mark.parametrize(("b", "c"), [(400.0, 250.0), (350.0, 350.0), (380.0, 190.0)])
def test_wheel_rate_of_a_lever(b: float, c: float) -> None:
    """Same book, p. 179 (read): wheel rate = spring rate · (c/b)²."""
    found = values(CHECK, PLAIN | {"motion_ratio": c / b, "spring_rate": 60.0})
    assert found["wheel_rate_design"] == pytest.approx(60.0 * (c / b) ** 2, rel=1e-12)


@pytest.mark.parametrize(("exponent", "rate"), [(1.38, 19.3), (1.0, 14.0)])
def test_air_spring_of_constant_area(exponent: float, rate: float) -> None:
    """Derived: d/dz of p·Vⁿ = const for 0.7 MPa absolute, 0.01 m², 5 l gives n·p·A²/V, kN/m."""
    load = (0.7e6 - ATMOSPHERE) * 0.01
    air = {
        "spring": "air",
        "effective_area": 1e4,
        "air_volume": 5.0,
        "polytropic_exponent": exponent,
        "sprung_mass_design": load / GRAVITY,
    }
    found = values(CHECK, PLAIN | air)
    assert found["wheel_rate_design"] == pytest.approx(exponent * 0.7 * 1e8 / 5e6, rel=1e-12)
    assert found["wheel_rate_design"] == pytest.approx(rate, abs=0.05)
    gauge = 7.0 - ATMOSPHERE / 1e5
    assert found["gauge_pressure_design"] == pytest.approx(gauge, rel=1e-12)
