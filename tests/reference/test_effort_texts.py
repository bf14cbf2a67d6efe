"""The steering effort against a textbook's worked examples and the regulation's limits."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tracker.contract.kit import Subject
from whybone_chassis.effort import CHECK

GRAVITY = 9.80665

GEAR: dict[str, Any] = {
    "rack_force": 1_000.0,
    "c_factor": 50.0,
    "efficiency": 1.0,
    "steering_wheel_diameter": 380.0,
    "vehicle_class": "M1",
}


def found(**changes: object) -> dict[str, float]:
    row = {**GEAR, **changes}
    subject = Subject(check=CHECK, rows=[row])
    values = CHECK.compute(subject.batch([row]), {}).values
    return {port: float(each[0]) for port, each in values.items()}


# Barton & Fieldhouse, Automotive Chassis Engineering, section 2.7, p. 87 (read): an arm of 140 mm
# turned by 37° each way, so rack travel 2·140·sin 37° = 168.5 mm (the print has 2×40). A gear of
# 3.5 turns and 80 % efficiency needs 50 N·m; what does a pinion of 21 or 17.5 mm at 97 % need?
TRAVEL = 2 * 140.0 * math.sin(math.radians(37.0))


@pytest.mark.parametrize(("pitch", "turns", "torque"), [(21.0, 2.55, 56.6), (17.5, 3.06, 47.16)])
def test_barton_torque_of_a_quicker_gear(pitch: float, turns: float, torque: float) -> None:
    assert pytest.approx(168.5, abs=0.05) == TRAVEL
    old = found(c_factor=TRAVEL / 3.5, efficiency=0.8)["torque_without_assistance"]
    force = 1_000.0 * 50.0 / old
    c_factor = math.pi * pitch
    assert pytest.approx(turns, abs=0.01) == TRAVEL / c_factor
    new = found(rack_force=force, c_factor=c_factor, efficiency=0.97)
    # The text rounds the turns to two digits before it divides: 0.2 %.
    rounded = torque * turns / (TRAVEL / c_factor)
    assert new["torque_without_assistance"] == pytest.approx(rounded, abs=0.02)


# The same, Example E2.1, p. 82 (read): 1200 kg on the wheel, inclination 12°, offset 25 mm, scrub
# arm 87 mm, friction 0.58.
@pytest.mark.parametrize(("steer", "jacking"), [(28.0, 28.0), (45.0, 42.0)])
def test_barton_scrub_and_jacking_moment(steer: float, jacking: float) -> None:
    values = found(
        wheel_load=1_200.0 * GRAVITY,
        friction=0.58,
        scrub_arm=87.0,
        inclination=12.0,
        offset=25.0,
        steer_angle=steer,
        ratio=16.0,
    )
    assert values["scrub_moment"] == pytest.approx(594.0, abs=0.5)
    assert values["jacking_moment"] == pytest.approx(jacking, abs=0.5)


# UN Regulation No. 79, 01 series, 6.2 (recalled from memory): daN intact and failed.
@pytest.mark.parametrize(
    ("classes", "intact", "failed"),
    [("M1 M2", 15, 30), ("N1", 20, 30), ("N2", 25, 40), ("N3 M3", 20, 45)],
)
def test_regulation_limits(classes: str, intact: float, failed: float) -> None:
    for each in classes.split():
        values = found(vehicle_class=each)
        assert values["limit_intact"] == 10 * intact
        assert values["limit_failed"] == 10 * failed


def test_limit_reached_exactly_uses_all_of_it() -> None:
    force = 150.0 * 0.19 * 2 * np.pi / 0.050
    assert found(rack_force=force)["use_intact"] == pytest.approx(1.0, rel=1e-12)
