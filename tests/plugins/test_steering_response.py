"""The steering response against the single-track model's equations of motion, and its limits."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize_scalar

from tracker.contract.check import Outputs
from tracker.contract.figure import Figure, FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.steering_response import CHECK

GRAVITY = 9.80665

# Invented light utility vehicle.
VEHICLE: dict[str, Any] = {
    "mass": 1800.0,
    "front_share": 950.0 / 1800.0,
    "wheelbase": 2950.0,
    "cornering_front": 92_000.0,
    "cornering_rear": 112_000.0,
    "roll_gradient": 5.0,
    "roll_steer_front": 0.06,
    "roll_steer_rear": 0.02,
    "ratio": 17.8,
    "speed": 100.0,
}


def answer(**changes: object) -> Outputs:
    row = {**VEHICLE, **changes}
    return CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})


def run(**changes: object) -> dict[str, float]:
    outputs = answer(**changes)
    assert not outputs.problems
    return {port: float(values[0]) for port, values in outputs.values.items()}


def absent(**changes: object) -> dict[str, str]:
    return {each.port: each.reason for each in answer(**changes).absences}


def drawn(**changes: object) -> dict[str, Figure]:
    row = {**VEHICLE, **changes}
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    return {figure.key: figure for figure in CHECK.figures(batch, {})}


def slip_model(row: Row, speed: float) -> tuple[np.ndarray, np.ndarray]:
    """Return A and b of d(v, r)/dt = A (v, r) + b · road-wheel angle, with axles steered by roll.

    Body axes to ISO 8855: y and yaw to the left. In a left turn the lateral acceleration is
    positive; roll steer then turns the front wheels out of the turn and the rear wheels into it.
    Roll follows the steady lateral acceleration, v̇ left out, as the gradient is defined.
    """
    mass, share = row["mass"], row["front_share"]
    length = row["wheelbase"] / 1000
    ahead, behind = length * (1 - share), length * share
    front, rear = row["cornering_front"], row["cornering_rear"]
    per_rate = math.radians(row["roll_gradient"]) * speed / GRAVITY  # roll per yaw velocity
    out, into = (row[f"roll_steer_{axle}"] * per_rate for axle in ("front", "rear"))
    inertia = 1.2 * mass * ahead * behind
    # front force = C_f (δ − out·r − (v + a r)/V), rear force = C_r (into·r − (v − b r)/V)
    f_v, f_r = -front / speed, front * (-out - ahead / speed)
    r_v, r_r = -rear / speed, rear * (into + behind / speed)
    matrix = np.array(
        [
            [(f_v + r_v) / mass, (f_r + r_r) / mass - speed],
            [(ahead * f_v - behind * r_v) / inertia, (ahead * f_r - behind * r_r) / inertia],
        ]
    )
    return matrix, np.array([front / mass, ahead * front / inertia])


def settled(row: Row) -> tuple[float, float]:
    """Drive the model for a while; return g per 100 deg and 1/s at the steering wheel."""
    speed = row["speed"] / 3.6
    matrix, push = slip_model(row, speed)
    wheel = math.radians(1.0) / row["ratio"]  # one degree at the steering wheel
    end = solve_ivp(
        lambda _, state: matrix @ state + push * wheel,
        (0.0, 60.0),
        [0.0, 0.0],
        method="LSODA",
        rtol=1e-11,
        atol=1e-15,
    ).y[:, -1]
    rate = float(end[1])
    return 100 * rate * speed / GRAVITY, rate / math.radians(1.0)


@pytest.mark.parametrize("speed", [20.0, 60.0, 100.0, 160.0])
@pytest.mark.parametrize("roll", [(0.0, 0.0), (0.06, 0.02), (-0.05, 0.03), (0.1, -0.1)])
def test_gains_are_those_of_the_equations_of_motion_driven_to_steady_state(
    speed: float, roll: tuple[float, float]
) -> None:
    row = {**VEHICLE, "speed": speed, "roll_steer_front": roll[0], "roll_steer_rear": roll[1]}
    found = run(**row)
    sensitivity, yaw_gain = settled(row)
    assert found["sensitivity"] == pytest.approx(sensitivity, rel=1e-7)
    assert found["yaw_gain"] == pytest.approx(yaw_gain, rel=1e-7)


@pytest.mark.parametrize("rear", [60_000.0, 70_000.0, 80_000.0])
def test_critical_speed_is_where_the_equations_of_motion_lose_their_stability(rear: float) -> None:
    still = {"speed": 0.0, "roll_steer_front": 0.0, "roll_steer_rear": 0.0}
    row = {**VEHICLE, "cornering_rear": rear, **still}

    def growth(speed: float) -> float:
        return float(np.linalg.eigvals(slip_model(row, speed)[0]).real.max())

    stable_until = float(brentq(growth, 5.0, 200.0, xtol=1e-10))
    assert run(**row)["critical_speed"] == pytest.approx(3.6 * stable_until, rel=1e-8)
    assert absent(**row)["characteristic_speed"].startswith("the vehicle oversteers")


def test_yaw_gain_peaks_at_the_characteristic_speed() -> None:
    speed = run()["characteristic_speed"]
    peak = minimize_scalar(
        lambda each: -run(speed=float(each))["yaw_gain"],
        bounds=(speed / 2, speed * 2),
        method="bounded",
        options={"xatol": 1e-6},
    )
    assert peak.x == pytest.approx(speed, rel=1e-5)


def test_understeer_is_the_slope_of_the_steer_angle_over_lateral_acceleration() -> None:
    """Road-wheel angle on a fixed radius: L/R plus K per g, by its definition."""
    radius, found = 100.0, run()
    angles = []
    for each in (0.1, 0.2):
        speed = 3.6 * math.sqrt(each * GRAVITY * radius)
        sensitivity = run(speed=speed)["sensitivity"]
        angles.append(100 * each / sensitivity / VEHICLE["ratio"])
    assert angles[0] == pytest.approx(
        math.degrees(2.95 / radius) + 0.1 * found["understeer"], rel=1e-12
    )
    assert (angles[1] - angles[0]) / 0.1 == pytest.approx(found["understeer"], rel=1e-10)


def test_parts_add_up() -> None:
    found = run(understeer_compliance=0.4, understeer_camber=0.1)
    assert found["understeer_roll"] == pytest.approx((0.06 + 0.02) * 5.0, rel=1e-15)
    assert found["compliance_part"] == 0.4
    assert found["camber_part"] == 0.1
    parts = ("understeer_tyres", "understeer_roll", "compliance_part", "camber_part")
    assert found["understeer"] == pytest.approx(sum(found[each] for each in parts), rel=1e-15)


def test_raising_roll_steer_of_either_axle_makes_the_steering_less_sharp() -> None:
    base = run()["sensitivity"]
    for axle in ("front", "rear"):
        assert run(**{f"roll_steer_{axle}": 0.2})["sensitivity"] < base


def test_parts_that_are_not_given_are_told_as_not_included() -> None:
    assert absent()["compliance_part"] == "not included: understeer_compliance is not given"
    assert absent(understeer_compliance=0.0).keys() == {"camber_part", "critical_speed"}
    cells = drawn()["parts"].series
    assert cells[1].labels[3:5] == ("not included", "not included")
    assert drawn(understeer_camber=0.25)["parts"].series[1].labels[4] == "+0.250"


def neutral(**changes: object) -> dict[str, object]:
    even = {"front_share": 0.5, "cornering_front": 1e5, "cornering_rear": 1e5}
    return {**even, "roll_steer_front": 0.07, "roll_steer_rear": -0.07, **changes}


def test_neutral_vehicle_has_neither_speed_and_gains_that_grow_for_ever() -> None:
    reasons = absent(**neutral())
    assert reasons["characteristic_speed"] == "the vehicle is neutral: it has no such speed"
    assert reasons["critical_speed"] == reasons["characteristic_speed"]
    found = run(**neutral(speed=3_600.0))
    assert found["understeer"] == 0.0
    assert found["yaw_gain"] == pytest.approx(1000.0 / 2.95 / VEHICLE["ratio"], rel=1e-12)


def test_vehicle_that_is_neutral_to_rounding_counts_as_neutral() -> None:
    # 0.1 + 0.2 is not 0.3 in binary; a characteristic speed of millions of km/h would be noise.
    rounding = neutral(roll_steer_front=0.1 + 0.2, roll_steer_rear=-0.3)
    assert run(**rounding)["understeer"] != 0.0
    assert "neutral" in absent(**rounding)["characteristic_speed"]


def test_standing_still_gives_no_gain_exactly() -> None:
    found = run(speed=0.0)
    assert found["sensitivity"] == 0.0
    assert found["yaw_gain"] == 0.0


def test_crawling_gain_is_that_of_the_geometry() -> None:
    speed = 0.01
    found = run(speed=speed)["yaw_gain"]
    assert found == pytest.approx(speed / 3.6 / 2.95 / VEHICLE["ratio"], rel=1e-6)


@pytest.mark.parametrize("excess", [0.0, 1e-6, 1.0])
def test_at_the_critical_speed_and_above_there_are_no_gains(excess: float) -> None:
    loose = {"cornering_rear": 60_000.0}
    speed = run(**loose, speed=0.0)["critical_speed"] * (1 + excess)
    outputs = answer(**loose, speed=speed)
    (problem,) = outputs.problems
    assert problem.reason == "unstable: at or above the critical speed"
    assert problem.ports == ("sensitivity", "yaw_gain")
    assert np.isnan(outputs.values["yaw_gain"][0])
    assert np.isfinite(outputs.values["understeer"][0])


def test_curves_start_at_rest_and_stop_at_the_critical_speed() -> None:
    figures = drawn()
    assert figures["yaw-gain"].kind is FigureKind.CURVE
    vehicle, even = figures["yaw-gain"].series
    assert vehicle.y[0] == even.y[0] == 0.0
    assert len(vehicle.y) == len(even.y)
    assert vehicle.y[-1] < even.y[-1]
    loose, _ = drawn(cornering_rear=60_000.0)["sensitivity"].series
    assert loose.x[-1] < run(cornering_rear=60_000.0, speed=0.0)["critical_speed"]
    assert drawn(speed=300.0)["sensitivity"].series[0].x[-1] == 300.0


def test_figures_of_a_senseless_row_have_nothing_to_draw() -> None:
    assert drawn(wheelbase=math.nan)["sensitivity"].series[0].x == ()


def draw(generator: np.random.Generator) -> Row:
    """Draw a vehicle; about one in four oversteers, with a critical speed above 60 km/h."""
    row = {
        key: value * float(generator.uniform(0.8, 1.25))
        for key, value in VEHICLE.items()
        if not key.startswith("roll_steer")
    }
    return {
        **row,
        "speed": float(generator.uniform(0.0, 60.0)),
        "roll_steer_front": float(generator.uniform(-0.1, 0.1)),
        "roll_steer_rear": float(generator.uniform(-0.1, 0.1)),
    }


def draw_full(generator: np.random.Generator) -> Row:
    parts = {key: float(generator.uniform(0.0, 0.5)) for key in ("compliance", "camber")}
    return {**draw(generator), **{f"understeer_{key}": part for key, part in parts.items()}}


@pytest.mark.parametrize("draw_row", [draw, draw_full])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: object) -> None:
    loads = {"kg": 3.0, "N": 3.0, "g": 1.0, "deg": 1.0, "rad": 1.0}
    subject = Subject(
        check=CHECK,
        rows=draw_row,  # type: ignore[arg-type]  # one of the two functions above
        degenerate=[
            *({key: 0.0} for key in ("mass", "wheelbase", "cornering_front", "ratio")),
            {"cornering_rear": -1.0},
            {"front_share": 1.5},
            {"speed": -1.0},
            {"cornering_rear": 1e3, "speed": 200.0},
            {"mass": 1e308},
        ],
        # Lengths fourfold in twice the time leave an acceleration alone.
        scalings=[
            {**loads, "mm": 1.0, "km": 1.0, "h": 1.0, "s": 1.0},
            {**loads, "mm": 4.0, "km": 4.0, "h": 2.0, "s": 2.0},
        ],
    )
    PROMISES[promise](subject)
