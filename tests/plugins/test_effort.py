"""The steering effort against bodies turned numerically, and its limiting cases."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.spatial.transform import Rotation

from tracker.contract.check import Outputs
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.effort import CHECK
from whybone_chassis.effort_forces import jacking_moment

GEAR: dict[str, Any] = {
    "rack_force": 2_400.0,
    "c_factor": 50.0,
    "efficiency": 0.9,
    "steering_wheel_diameter": 370.0,
    "vehicle_class": "N1",
    "assist_force": 1_800.0,
}
PARKING: dict[str, Any] = {
    "wheel_load": 5_150.0,
    "friction": 0.8,
    "scrub_arm": 90.0,
    "inclination": 11.0,
    "offset": 14.0,
    "steer_angle": 32.0,
    "ratio": 14.0,
}


def answer(**row: object) -> Outputs:
    return CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})


def run(**changes: object) -> dict[str, float]:
    outputs = answer(**{**GEAR, **PARKING, **changes})
    assert not outputs.problems
    assert not outputs.absences
    return {port: float(values[0]) for port, values in outputs.values.items()}


@pytest.mark.parametrize("inclination", [0.0, 6.0, 11.0, 15.0, -4.0])
@pytest.mark.parametrize("steer", [0.0, 10.0, 28.0, 45.0])
def test_jacking_moment_is_the_work_of_lifting_the_vehicle(
    inclination: float, steer: float
) -> None:
    """A contact turned about the inclined axis sinks; the vehicle rises by as much."""
    lean, load, offset = math.radians(inclination), 5_000.0, 25.0
    axis = np.array([0.0, -math.sin(lean), math.cos(lean)])
    contact = np.array([0.0, offset / 1000, 0.0])

    def height(angle: float) -> float:
        return -float(Rotation.from_rotvec(axis * angle).apply(contact)[2])

    step, angle = 1e-4, math.radians(steer)
    ahead = 8 * (height(angle + step) - height(angle - step))
    slope = (ahead - height(angle + 2 * step) + height(angle - 2 * step)) / (12 * step)
    found = jacking_moment(*(np.array([each]) for each in (load, offset, inclination, steer)))
    assert found[0] == pytest.approx(load * slope, abs=1e-7)


def test_turning_the_wheel_does_the_work_the_rack_takes() -> None:
    """Work over a quarter turn, integrated; the gear loses its share."""
    found = run(assist_force=0.0)
    put_in, _ = quad(lambda _: found["torque_without_assistance"], 0.0, math.pi / 2)
    taken, _ = quad(lambda _: GEAR["rack_force"], 0.0, 0.050 / 4)
    assert put_in * GEAR["efficiency"] == pytest.approx(taken, rel=1e-12)


def test_parking_turns_both_wheels_with_the_work_put_in() -> None:
    found = run(assist_force=0.0)
    moments = 2 * (found["scrub_moment"] + found["jacking_moment"])
    # One degree at the steering wheel turns the wheels by 1/ratio degrees.
    assert found["parking_torque"] * GEAR["efficiency"] * PARKING["ratio"] == pytest.approx(
        moments, rel=1e-12
    )
    rack = 0.050 / 360 * PARKING["ratio"]  # m per degree of steer
    assert found["parking_rack_force"] * rack == pytest.approx(moments * math.radians(1.0))


def test_rim_force_is_torque_over_radius_and_use_is_force_over_limit() -> None:
    found = run()
    for assistance, state, limit in (("with", "intact", 200.0), ("without", "failed", 300.0)):
        torque = found[f"torque_{assistance}_assistance"]
        force = found[f"rim_force_{assistance}_assistance"]
        assert force * 0.185 == pytest.approx(torque, rel=1e-14)
        assert found[f"limit_{state}"] == limit
        assert found[f"use_{state}"] == pytest.approx(force / limit, rel=1e-14)


def test_assistance_takes_its_share_and_never_more_than_all() -> None:
    manual = run(assist_force=0.0)
    assert manual["torque_with_assistance"] == manual["torque_without_assistance"]
    half = run(assist_force=1_200.0)
    assert half["torque_with_assistance"] == pytest.approx(manual["torque_with_assistance"] / 2)
    strong = run(assist_force=1e5)
    assert strong["torque_with_assistance"] == 0.0
    assert strong["parking_torque"] == 0.0
    assert strong["torque_without_assistance"] == manual["torque_without_assistance"]


def test_manual_steering_needs_no_word_about_assistance() -> None:
    row = {key: value for key, value in {**GEAR, **PARKING}.items() if key != "assist_force"}
    values = answer(**row).values
    assert values["use_failed"][0] * 300.0 == pytest.approx(values["use_intact"][0] * 200.0)


def test_upright_axis_lifts_nothing_and_left_is_as_right() -> None:
    assert run(inclination=0.0)["jacking_moment"] == 0.0
    assert run(steer_angle=0.0)["jacking_moment"] == 0.0
    assert run(steer_angle=-32.0)["parking_torque"] == run()["parking_torque"]


def test_quicker_gear_is_heavier_in_proportion() -> None:
    quick = run(c_factor=60.0, assist_force=0.0)
    slow = run(c_factor=50.0, assist_force=0.0)
    ratio = quick["torque_without_assistance"] / slow["torque_without_assistance"]
    assert ratio == pytest.approx(60.0 / 50.0, rel=1e-14)


def test_parking_is_absent_without_its_inputs_and_carries_no_rule() -> None:
    told = {absence.port: absence.reason for absence in answer(**GEAR).absences}
    assert told == dict.fromkeys(
        ("scrub_moment", "jacking_moment", "parking_rack_force", "parking_torque"),
        "wheel_load is not given",
    )
    partly = {key: value for key, value in PARKING.items() if key != "ratio"}
    assert answer(**GEAR, **partly).absences[0].reason == "ratio is not given"
    assert {rule.output for rule in CHECK.manifest({}).rules} == {"use_intact", "use_failed"}


def test_wrong_parking_numbers_leave_the_driving_ones_known() -> None:
    outputs = answer(**{**GEAR, **PARKING, "inclination": 95.0})
    (problem,) = outputs.problems
    assert problem.reason == "inclination must lie within 90 deg of zero"
    assert np.isfinite(outputs.values["use_intact"][0])
    assert np.isnan(outputs.values["parking_torque"][0])


def drawn(**changes: object) -> dict[str, Figure]:
    row = {**GEAR, **changes}
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    return {figure.key: figure for figure in CHECK.figures(batch, {})}


def test_figures_show_both_states() -> None:
    figures = drawn()
    without, helped = figures["torque"].series
    assert without.x[-1] == 3_000.0
    assert helped.y[-1] == pytest.approx(without.y[-1] * 1_200 / 3_000)
    force, limit = figures["rim-force"].series
    assert limit.y == (200.0, 300.0)
    assert force.labels == ("intact", "failed")
    assert drawn(efficiency=0.0) == {}


def draw(generator: np.random.Generator) -> Row:
    row = {
        key: value * float(generator.uniform(0.7, 1.1))
        for key, value in GEAR.items()
        if key != "vehicle_class"
    }
    return {**row, "vehicle_class": str(generator.choice(["M1", "M2", "M3", "N1", "N2", "N3"]))}


def draw_full(generator: np.random.Generator) -> Row:
    parking = {key: value * float(generator.uniform(0.5, 1.5)) for key, value in PARKING.items()}
    return {**draw(generator), **parking}


BAD: list[Row] = [
    {"rack_force": -1.0},
    {"c_factor": 0.0},
    {"efficiency": 0.0},
    {"efficiency": 1.1},
    {"steering_wheel_diameter": 0.0},
    {"assist_force": -1.0},
    {"rack_force": 1e308, "c_factor": 1e10},
]
BAD_PARKING: list[Row] = [
    *({key: -1.0} for key in ("wheel_load", "friction", "scrub_arm")),
    {"ratio": 0.0},
    {"steer_angle": 90.0},
    {"inclination": -90.0},
]


@pytest.mark.parametrize(("draw_row", "bad"), [(draw, BAD), (draw_full, BAD_PARKING)])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: object, bad: list[Row]) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw_row,  # type: ignore[arg-type]  # one of the two functions above
        degenerate=bad,
        # Forces are held against limits in newtons, so only lengths may change scale.
        scalings=[{"mm": 2.0, "m": 2.0, "N": 1.0, "rev": 1.0, "deg": 1.0}],
    )
    PROMISES[promise](subject)
