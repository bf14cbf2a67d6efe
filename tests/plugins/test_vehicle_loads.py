"""Vehicle loads against a general solve of the equilibrium of all four wheels, and the limits."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog

from tracker.contract.check import Outputs
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.vehicle_loads import CHECK
from whybone_chassis.vehicle_loads_cases import step_slope

GRAVITY = 9.80665

# Invented light utility vehicle.
VEHICLE: dict[str, Any] = {
    "mass_kerb": 1650.0,
    "cg_kerb": (-1330.0, 8.0, 640.0),
    "mass_design": 1800.0,
    "cg_design": (-1393.0, 5.0, 660.0),
    "mass_laden": 2300.0,
    "cg_laden": (-1603.0, -12.0, 700.0),
    "wheelbase": 2950.0,
    "track_front": 1560.0,
    "track_rear": 1540.0,
    "trim": "laden",
    "braking": 0.9,
    "brake_share_front": 0.66,
    "cornering": 0.6,
    "transfer_share_front": 0.55,
    "bump_factor": 3.0,
}
FURTHER: dict[str, Any] = {
    "step_height": 80.0,
    "loaded_radius": 345.0,
    "kerb_strike": 1.5,
    "acceleration": 0.4,
    "drive_share_front": 0.3,
}
MIDDLE = {f"cg_{trim}": (-1475.0, 0.0, 700.0) for trim in ("kerb", "design", "laden")}


def answer(**changes: object) -> Outputs:
    row = {**VEHICLE, **FURTHER, **changes}
    return CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})


def run(**changes: object) -> dict[str, float]:
    outputs = answer(**changes)
    assert not outputs.problems
    assert not outputs.absences
    return {port: float(values[0]) for port, values in outputs.values.items()}


def reasons(**changes: object) -> dict[str, str]:
    found: dict[str, str] = {}
    for problem in answer(**changes).problems:
        for port in problem.ports or ("all",):
            found.setdefault(port, problem.reason)
    return found


# Wheels: front left, front right, rear left, rear right.
def places(row: Row) -> np.ndarray:
    front, rear = row["track_front"] / 2, row["track_rear"] / 2
    back = -row["wheelbase"]
    return np.array([[0, front, 0], [0, -front, 0], [back, rear, 0], [back, -rear, 0]], dtype=float)


def equations(row: Row, forward: float, left: float) -> tuple[np.ndarray, np.ndarray]:
    """Return M and b of M · loads = b under an acceleration in g.

    Vertical balance, roll and pitch moment about the front axle's middle on the ground (forces
    along the ground have none), and the part of the roll moment the front axle takes besides what
    an offset centre of gravity gives it.
    """
    centre = np.array(row[f"cg_{row['trim']}"])
    weight = row[f"mass_{row['trim']}"] * GRAVITY
    body = np.cross(centre, weight * np.array([-forward, -left, -1.0]))
    matrix = np.ones((4, 4))
    for wheel, place in enumerate(places(row)):
        matrix[1:3, wheel] = np.cross(place, [0.0, 0.0, 1.0])[:2]
    offset = centre[1] / row["track_front"]
    matrix[3] = [0.5 - offset, -0.5 - offset, 0.0, 0.0]
    taken = -left * weight * centre[2] * row["transfer_share_front"] / row["track_front"]
    return matrix, np.array([weight, -body[0], -body[1], taken])


@pytest.mark.parametrize("trim", ["kerb", "design", "laden"])
@pytest.mark.parametrize(
    ("case", "forward", "left"),
    [
        ("static", 0.0, 0.0),
        ("braking", -0.9, 0.0),
        ("drive", 0.4, 0.0),
        ("cornering", 0.0, -0.6),
    ],
)
def test_wheel_loads_are_those_of_a_general_solve(
    case: str, forward: float, left: float, trim: str
) -> None:
    found = run(trim=trim)
    loads = np.linalg.solve(*equations({**VEHICLE, "trim": trim}, forward, left))
    assert found[f"fz_front_{case}"] == pytest.approx(loads[0], rel=1e-12)
    assert found[f"fz_rear_{case}"] == pytest.approx(loads[2], rel=1e-12)


@pytest.mark.parametrize("cornering", [0.3, 0.9, 1.0, 1.05, 1.08])
@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 1.0])
def test_lifted_wheels_leave_the_rest_to_the_other_axle(cornering: float, share: float) -> None:
    """Loads that are not negative, in equilibrium, nearest to the share asked for: linear program.

    Variables: four loads and the gap between the front axle's part and the one asked for.
    """
    row = {**VEHICLE, "cornering": cornering, "transfer_share_front": share}
    matrix, wanted = equations(row, 0.0, -cornering)
    balance = np.hstack([matrix[:3], np.zeros((3, 1))])
    gap = np.array([np.append(matrix[3], -1.0), np.append(-matrix[3], -1.0)])
    best = linprog(
        [0, 0, 0, 0, 1],
        A_ub=gap,
        b_ub=[wanted[3], -wanted[3]],
        A_eq=balance / np.abs(balance).max(axis=1, keepdims=True),
        b_eq=wanted[:3] / np.abs(balance).max(axis=1),
    )
    assert best.success
    found = run(cornering=cornering, transfer_share_front=share)
    assert found["fz_front_cornering"] == pytest.approx(best.x[0], rel=1e-8)
    assert found["fz_rear_cornering"] == pytest.approx(best.x[2], rel=1e-8)


def test_vehicle_overturns_at_half_its_track_over_the_height_of_its_centre() -> None:
    """Static stability factor t/(2h); common practice, no source."""
    level = {**MIDDLE, "track_rear": 1560.0}
    limit = 1560.0 / 2 / 700.0
    below = run(**level, cornering=limit * (1 - 1e-9))
    weight = 2300.0 * GRAVITY
    assert below["fz_front_cornering"] == pytest.approx(weight / 2, rel=1e-8)
    assert below["fz_rear_cornering"] == pytest.approx(weight / 2, rel=1e-8)
    assert reasons(**level, cornering=limit * (1 + 1e-9)) == {
        f"{force}_{axle}_cornering": "cornering: the vehicle overturns"
        for force in ("fy", "fz")
        for axle in ("front", "rear")
    }


def test_side_forces_of_all_four_wheels_turn_the_whole_vehicle() -> None:
    found = run()
    weight = VEHICLE["mass_laden"] * GRAVITY
    outer = found["fy_front_cornering"] + found["fy_rear_cornering"]
    inner_load = weight - found["fz_front_cornering"] - found["fz_rear_cornering"]
    assert outer - 0.6 * inner_load == pytest.approx(-0.6 * weight, rel=1e-12)
    assert found["fy_front_cornering"] == pytest.approx(-0.6 * found["fz_front_cornering"])


def test_braking_and_driving_forces_add_up_to_mass_times_acceleration() -> None:
    found, weight = run(), VEHICLE["mass_laden"] * GRAVITY
    braking = 2 * (found["fx_front_braking"] + found["fx_rear_braking"])
    assert braking == pytest.approx(-0.9 * weight, rel=1e-14)
    assert found["fx_front_braking"] == pytest.approx(-0.66 * 0.9 * weight / 2, rel=1e-14)
    driving = 2 * (found["fx_front_drive"] + found["fx_rear_drive"])
    assert driving == pytest.approx(0.4 * weight, rel=1e-14)
    assert found["fx_front_drive"] == pytest.approx(0.3 * 0.4 * weight / 2, rel=1e-14)


def test_axle_loads_of_every_trim_are_its_weight() -> None:
    found = run()
    for trim in ("kerb", "design", "laden"):
        front, rear = (found[f"{axle}_axle_load_{trim}"] for axle in ("front", "rear"))
        assert front + rear == pytest.approx(VEHICLE[f"mass_{trim}"] * GRAVITY, rel=1e-14)
        assert found[f"front_share_{trim}"] == pytest.approx(front / (front + rear), rel=1e-14)
        behind = -VEHICLE[f"cg_{trim}"][0]
        assert rear * 2950.0 == pytest.approx((front + rear) * behind, rel=1e-14)


def test_centre_over_an_axle_loads_that_axle_alone() -> None:
    assert run(cg_kerb=(0.0, 0.0, 500.0))["rear_axle_load_kerb"] == 0.0
    assert run(cg_kerb=(-2950.0, 0.0, 500.0))["front_axle_load_kerb"] == 0.0


def test_bump_is_a_multiple_of_the_static_load_and_the_trim_decides() -> None:
    for trim in ("kerb", "design", "laden"):
        found = run(trim=trim, bump_factor=3.0)
        assert found["fz_front_bump"] == 3.0 * found["fz_front_static"]
        half = found[f"front_axle_load_{trim}"] * (0.5 + VEHICLE[f"cg_{trim}"][1] / 1560.0)
        assert found["fz_front_static"] == pytest.approx(half, rel=1e-14)
    unasked = {key: value for key, value in VEHICLE.items() if key != "trim"}
    batch = Subject(check=CHECK, rows=[unasked]).batch([unasked])
    static = CHECK.compute(batch, {}).values["fz_front_static"][0]
    assert static == run(trim="laden")["fz_front_static"]


def test_ground_without_height_moves_no_load() -> None:
    flat = {f"cg_{trim}": (-1400.0, 0.0, 0.0) for trim in ("kerb", "design", "laden")}
    found = run(**flat)
    for case in ("braking", "cornering", "drive"):
        assert found[f"fz_front_{case}"] == found["fz_front_static"]


def test_step_force_points_from_the_edge_to_the_wheel_centre() -> None:
    """Balance of moments about the edge of the step, the wheel just leaving the ground."""
    found = run()
    rise, radius = 80.0, 345.0
    angle = math.asin((radius - rise) / radius)
    assert found["fx_front_step"] == pytest.approx(
        -found["fz_front_static"] / math.tan(angle), rel=1e-12
    )
    assert run(step_height=0.0)["fx_front_step"] == 0.0


def test_low_steps_keep_their_digits() -> None:
    """cot θ → √(2H/R): a difference of squares would lose half the digits."""
    slope = float(step_slope(np.array([1e-12]), np.array([1.0]))[0])
    assert slope == pytest.approx(math.sqrt(2e-12), rel=1e-4)


def test_kerb_takes_the_whole_axle() -> None:
    found = run()
    assert found["fz_rear_kerb"] == found["rear_axle_load_laden"]
    assert found["fy_rear_kerb"] == pytest.approx(-1.5 * found["rear_axle_load_laden"])


def test_cases_without_their_inputs_are_absent() -> None:
    batch = Subject(check=CHECK, rows=[VEHICLE]).batch([VEHICLE])
    outputs = CHECK.compute(batch, {})
    told = {absence.port: absence.reason for absence in outputs.absences}
    assert told["fx_front_step"] == "step_height is not given"
    assert told["fy_rear_kerb"] == "kerb_strike is not given"
    assert told["fz_rear_drive"] == "acceleration is not given"
    assert not outputs.problems


def test_lifting_axle_is_named() -> None:
    top = {"cg_laden": (-100.0, 0.0, 700.0)}
    assert reasons(**top)["fz_rear_braking"] == "braking: the rear axle lifts"
    tail = {"cg_laden": (-2900.0, 0.0, 700.0)}
    assert reasons(**tail)["fx_front_drive"] == "drive: the front axle lifts"
    assert "fz_front_static" not in reasons(**tail)


def drawn(**changes: object) -> dict[str, Figure]:
    row = {**VEHICLE, **changes}
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    return {figure.key: figure for figure in CHECK.figures(batch, {})}


def test_listing_has_the_columns_of_a_table_of_load_cases() -> None:
    columns = {series.title: series.labels for series in drawn()["front-cases"].series}
    assert list(columns) == ["case", "brake_reacted_by", "fx, N", "fy, N", "fz, N"]
    assert columns["case"][:3] == ("static", "braking", "cornering")
    assert columns["brake_reacted_by"][4] == "body"
    assert columns["fy, N"][1] == "0"
    assert float(columns["fx, N"][1]) == round(run()["fx_front_braking"])
    assert columns["fz, N"][-1] == "—"


def test_bars_show_both_axles_in_every_trim() -> None:
    front, rear = drawn()["axle-loads"].series
    assert front.labels == rear.labels == ("kerb", "design", "laden")
    assert front.y[2] == pytest.approx(run()["front_axle_load_laden"])
    broken, _ = drawn(mass_kerb=math.nan)["axle-loads"].series
    assert broken.labels == ()


def draw(generator: np.random.Generator) -> Row:
    mass = float(generator.uniform(1000.0, 3000.0))
    row: dict[str, Any] = {**VEHICLE, "trim": str(generator.choice(["kerb", "design", "laden"]))}
    for trim, factor in (("kerb", 0.8), ("design", 0.9), ("laden", 1.0)):
        x, y, z = generator.uniform((-1900.0, -30.0, 500.0), (-1100.0, 30.0, 750.0)).tolist()
        row.update({f"mass_{trim}": mass * factor, f"cg_{trim}": (x, y, z)})
    for key, low, high in (
        ("braking", 0.0, 1.0),
        ("brake_share_front", 0.0, 1.0),
        ("cornering", 0.0, 0.95),
        ("transfer_share_front", 0.0, 1.0),
    ):
        row[key] = float(generator.uniform(low, high))
    return row


def draw_full(generator: np.random.Generator) -> Row:
    row = {**draw(generator), **FURTHER, "step_height": float(generator.uniform(0.0, 300.0))}
    for key, high in (
        ("bump_factor", 4.0),
        ("kerb_strike", 2.0),
        ("acceleration", 0.8),
        ("drive_share_front", 1.0),
    ):
        row[key] = float(generator.uniform(0.0, high))
    return row


OUTSIDE = (-1400.0, 900.0, 700.0)
BAD: list[Row] = [
    {"mass_kerb": 0.0},
    {"mass_laden": -1.0},
    {"wheelbase": 0.0},
    {"track_front": 0.0},
    {"cg_design": (100.0, 0.0, 700.0)},
    {"cg_design": (-1400.0, 0.0, -1.0)},
    {f"cg_{trim}": OUTSIDE for trim in ("kerb", "design", "laden")},
    {"braking": -0.1},
    {"brake_share_front": 1.1},
    {"cornering": 3.0},
    {"transfer_share_front": -0.1},
    {"bump_factor": -1.0},
    {"mass_kerb": 1e308},
]
BAD_FURTHER: list[Row] = [
    {"step_height": 400.0},
    {"step_height": -1.0},
    {"loaded_radius": 0.0},
    {"kerb_strike": -1.0},
    {"acceleration": -1.0},
    {"acceleration": 5.0},
    {"drive_share_front": 2.0},
]


@pytest.mark.parametrize(("draw_row", "bad"), [(draw, BAD), (draw_full, BAD_FURTHER)])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: object, bad: list[Row]) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw_row,  # type: ignore[arg-type]  # one of the two functions above
        degenerate=bad,
        scalings=[
            {"kg": 2.0, "N": 2.0, "mm": 1.0, "g": 1.0},
            {"kg": 1.0, "N": 1.0, "mm": 0.7, "g": 1.0},
        ],
    )
    PROMISES[promise](subject)
