"""Camber and centres against a general solver and against plane geometry."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_reference import Vector, Wheel
from tests.plugins.corner_rows import (
    DEGENERATE_CORNERS,
    ONE_PIECE_ROW,
    SPLIT_ROW,
    answer,
    draw_corner,
    furthest_off,
    parallel_row,
    values,
    without,
)
from tests.plugins.mechanics.samples import ONE_PIECE_SPRING
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.ball_joint_moment import CHECK as BALL_JOINT_MOMENT
from whybone_chassis.camber_travel import CHECK

SWEEP: dict[str, Any] = {"wheel_track": 1560.0, "travel": 80.0}
BRAKING: dict[str, Any] = {"wheelbase": 2950.0, "cg_height": 700.0, "brake_share_front": 0.7}
ONE_PIECE, SPLIT = (without(row, "spring") | SWEEP for row in (ONE_PIECE_ROW, SPLIT_ROW))


def draw_plain(generator: np.random.Generator) -> dict[str, Any]:
    return without(draw_corner(generator), "spring") | {
        "wheel_track": generator.uniform(1400.0, 1700.0),
        "travel": generator.uniform(20.0, 70.0),
        "trim": generator.uniform(-20.0, 20.0),
    }


def draw(generator: np.random.Generator) -> dict[str, Any]:
    return draw_plain(generator) | {
        "wheelbase": generator.uniform(2300.0, 3600.0),
        "cg_height": generator.uniform(400.0, 900.0),
        "brake_share_front": generator.uniform(0.5, 0.9),
        "brake_reacted_by": str(generator.choice(["knuckle", "body"])),
    }


DEGENERATE: tuple[Row, ...] = (
    *DEGENERATE_CORNERS,
    {"travel": 0.0},
    {"travel": -80.0},
    {"travel": 700.0},
    {"trim": 1e300},
    {"trim": -800.0},
    {"wheel_track": 0.0},
)
DEGENERATE_BRAKING: tuple[Row, ...] = (
    {"wheelbase": 0.0},
    {"cg_height": -1.0},
    {"cg_height": 5e-324},
    {"brake_share_front": 1.2},
)
SCALINGS = [
    {"mm": 2.0, "m": 2.0, "deg": 1.0, "%": 1.0},
    {"mm": 0.7, "m": 0.7, "deg": 1.0, "%": 1.0},
]


@pytest.mark.parametrize(
    ("draw_row", "degenerate"), [(draw_plain, DEGENERATE), (draw, DEGENERATE + DEGENERATE_BRAKING)]
)
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: Any, degenerate: tuple[Row, ...]) -> None:  # noqa: ANN401  one of the two functions above
    subject = Subject(check=CHECK, rows=draw_row, degenerate=degenerate, scalings=SCALINGS)
    PROMISES[promise](subject)


def by_hand(row: Row) -> dict[str, float]:
    trim, travel = row["trim"], row["travel"]
    still = Wheel.at(row, trim)
    rate = still.per_travel()
    droop, bump = (Wheel.at(row, trim + by) for by in (-travel, travel))
    gradient = float(still.slope(lambda wheel: wheel.camber, rate))
    sideways = float(still.slope(lambda wheel: wheel.contact, rate)[1])
    changes = [2.0 * (end.contact - still.contact)[1] for end in (droop, bump)]
    curvature = -1e3 * np.radians(gradient)
    forward = braked(still, rate) if row["brake_reacted_by"] == "knuckle" else hub(still, rate)
    lever = row["wheelbase"] / row["cg_height"]
    return {
        "camber_gradient": gradient,
        "camber_at_trim": still.camber,
        "camber_at_bump": bump.camber,
        "camber_at_droop": droop.camber,
        "swing_arm": 1e3 / curvature,
        "swing_arm_curvature": curvature,
        "roll_centre_height": row["wheel_track"] / 2.0 * sideways,
        "track_change": max(changes, key=abs),
        "anti_dive_percent": 100.0 * row["brake_share_front"] * lever * float(forward[0]),
    }


def hub(wheel: Wheel, rate: Vector) -> Vector:
    """Movement of the wheel centre per mm of rise."""
    moving: Vector = wheel.slope(lambda moved: moved.point("wheel_centre"), rate)
    return moving


def braked(wheel: Wheel, rate: Vector) -> Vector:
    """Movement of the knuckle's point at the contact per mm of rise."""
    arm, back = wheel.contact - wheel.point("wheel_centre"), wheel.turn.inv()
    spun = wheel.slope(lambda moved: (moved.turn * back).as_rotvec(), rate)
    return hub(wheel, rate) + np.cross(spun, arm)


def test_agrees_with_a_general_solver() -> None:
    generator = np.random.default_rng(6)
    rows = [draw(generator) for _ in range(24)]
    found = answer(CHECK, *rows)
    assert not found.problems
    worst = furthest_off(found, [by_hand(row) for row in rows])
    assert set(worst) == {port.key for port in CHECK.manifest({}).outputs}
    assert max(worst.values()) < 1e-9


def test_figures_of_another_screening_solver() -> None:
    """Derived, not published: a second program's results for the points, as it rounded them."""
    found = values(CHECK, ONE_PIECE)
    assert 1e3 * found["camber_gradient"] == pytest.approx(-21.0, abs=0.5)
    assert 1e3 * values(CHECK, SPLIT)["camber_gradient"] == pytest.approx(-21.0, abs=0.5)
    assert found["roll_centre_height"] == pytest.approx(95.0, abs=0.5)


def test_equal_parallel_level_arms() -> None:
    """No camber change, roll centre at the ground, no swing arm."""
    row = parallel_row() | SWEEP
    outputs = answer(CHECK, row)
    assert not outputs.problems
    assert {absence.port for absence in outputs.absences} == {"swing_arm", "anti_dive_percent"}
    found = values(CHECK, row)
    assert abs(found["camber_gradient"]) < 1e-15
    assert abs(found["swing_arm_curvature"]) < 1e-14
    assert abs(found["roll_centre_height"]) < 1e-11
    for key in ("camber_at_trim", "camber_at_bump", "camber_at_droop"):
        assert found[key] == pytest.approx(-0.3, abs=1e-12)


def plane(upper_inner: float, lower_inner: float) -> dict[str, Any]:
    """Arms in the front view only: pivot lines along X at given heights, joints at x = 0."""
    return parallel_row() | {
        "upper_front_inner": (150.0, 430.0, upper_inner),
        "upper_rear_inner": (-150.0, 430.0, upper_inner),
        "upper_outer": (0.0, 690.0, 500.0),
        "lower_front_inner": (150.0, 380.0, lower_inner),
        "lower_rear_inner": (-150.0, 380.0, lower_inner),
        "lower_front_outer": (0.0, 720.0, 205.0),
        "lower_rear_outer": (0.0, 720.0, 205.0),
        "static_camber": 0.0,
        "static_toe": 0.0,
        **SWEEP,
    }


def meeting(start: Vector, end: Vector, other: Vector, last: Vector) -> Vector:
    """Where two lines of a plane meet."""
    along, across = end - start, last - other
    share = np.linalg.solve(np.stack([along, -across], axis=1), other - start)[0]
    point: Vector = start + share * along
    return point


@pytest.mark.parametrize(("upper", "lower"), [(470.0, 215.0), (485.0, 190.0), (540.0, 215.0)])
def test_instant_centre_of_plane_arms_is_where_they_meet(upper: float, lower: float) -> None:
    """Arms drawn through, contact joined to their meeting point, roll centre on the centreline."""
    row = plane(upper, lower)
    # The tie rod points at the same instant centre, so that the wheel does not steer.
    centre = meeting(
        np.array([430.0, upper]),
        np.array([690.0, 500.0]),
        np.array([380.0, lower]),
        np.array([720.0, 205.0]),
    )
    rod = np.array([690.0, 260.0])
    inner = rod + 300.0 * (centre - rod) / (centre[0] - rod[0]) * -1.0
    row |= {
        "tie_rod_outer": (-140.0, *rod.tolist()),
        "tie_rod_inner": (-140.0, *inner.tolist()),
    }
    found = values(CHECK, row)
    assert found["swing_arm"] == pytest.approx(780.0 - centre[0], rel=1e-9)
    slope = centre[1] / (780.0 - centre[0])
    # The height of the contact's own normal at the centreline.
    assert found["roll_centre_height"] == pytest.approx(780.0 * slope, rel=1e-9)
    assert found["camber_gradient"] == pytest.approx(-np.degrees(1 / (780.0 - centre[0])), rel=1e-9)


@pytest.mark.parametrize(("upper", "lower"), [(3.0, -2.0), (8.0, 0.0), (-4.0, 5.0)])
def test_anti_dive_of_tilted_pivot_lines_by_hand(upper: float, lower: float) -> None:
    """Level parallel arms whose pivot lines fall to the front: joints move square to them.

    A pivot line that falls to the front by an angle a moves its joint forward by tan a per rise;
    between and beyond the joints the knuckle moves in proportion to height.
    """
    row = parallel_row() | {"static_camber": 0.0, "static_toe": 0.0} | SWEEP | BRAKING
    slopes = {}
    for at, angle, height in (("upper", upper, 480.0), ("lower", lower, 200.0)):
        slopes[at] = np.tan(np.radians(angle))
        for end, x in (("front", 150.0), ("rear", -150.0)):
            row[f"{at}_{end}_inner"] = (x, 400.0, height - x * slopes[at])
    per_height = (slopes["upper"] - slopes["lower"]) / 280.0
    at_ground = slopes["lower"] + per_height * (0.0 - 200.0)
    at_centre = slopes["lower"] + per_height * (345.0 - 200.0)
    lever = 100.0 * 0.7 * 2950.0 / 700.0
    outboard, inboard = (
        values(CHECK, row | {"brake_reacted_by": by})["anti_dive_percent"]
        for by in ("knuckle", "body")
    )
    assert outboard == pytest.approx(lever * at_ground, abs=1e-9)
    assert inboard == pytest.approx(lever * at_centre, abs=1e-9)


@pytest.mark.parametrize("by", ["knuckle", "body"])
@pytest.mark.parametrize("row", [ONE_PIECE_ROW, SPLIT_ROW])
def test_anti_dive_is_what_the_spring_does_not_feel(row: Row, by: str) -> None:
    """The spring force from the equilibrium of the corner, with and without braking.

    The ground's force works on the rise of the contact, travel is that of the wheel centre: with
    camber the two differ by less than a thousandth.
    """
    share = values(CHECK, without(row, "spring") | SWEEP | BRAKING | {"brake_reacted_by": by})
    transfer = 800.0  # N on the wheel; with it comes the braking force of the whole front axle
    brake = -transfer * BRAKING["brake_share_front"] * BRAKING["wheelbase"] / BRAKING["cg_height"]

    def spring(fx: float, fz: float) -> float:
        case = ("", by, fx, 0.0, fz, 0.0, 0.0, 0.0)
        loads = dict(row) | {"unsprung_mass": 0.0}
        return float(values(BALL_JOINT_MOMENT, loads, load_cases=[case])["spring_force"])

    felt = spring(brake, 5000.0 + transfer) - spring(0.0, 5000.0)
    alone = spring(0.0, 5000.0 + transfer) - spring(0.0, 5000.0)
    still = Wheel.at(row)
    rise = braked(still, still.per_travel())[2]
    assert rise == pytest.approx(1.0, abs=1e-3)
    carried = 100.0 * (1.0 - felt / alone) * rise
    assert carried == pytest.approx(share["anti_dive_percent"], abs=1e-8)


def test_swing_arm_and_its_curvature_are_reciprocal() -> None:
    found = values(CHECK, ONE_PIECE)
    assert found["swing_arm"] * found["swing_arm_curvature"] == pytest.approx(1e3, rel=1e-14)
    assert found["swing_arm"] > 0.0  # camber falls in jounce: the instant centre lies inboard


def test_anti_dive_is_left_out_with_what_it_lacks() -> None:
    outputs = answer(CHECK, ONE_PIECE | {"wheelbase": 2950.0, "cg_height": 700.0})
    (absence,) = outputs.absences
    assert absence.port == "anti_dive_percent"
    assert absence.reason == "not given: brake_share_front"
    without_any = answer(CHECK, ONE_PIECE)
    assert "wheelbase, cg_height, brake_share_front" in without_any.absences[0].reason


def test_unreachable_bump_leaves_the_rates() -> None:
    outputs = answer(CHECK, ONE_PIECE | {"travel": 330.0})
    told = {port for problem in outputs.problems for port in problem.ports}
    assert {"track_change"} < told <= {"track_change", "camber_at_bump", "camber_at_droop"}
    assert np.isfinite(outputs.values["roll_centre_height"][0])


def drawn(row: Row) -> dict[str, Figure]:
    figures = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    return {figure.key: figure for figure in figures}


def test_curves_meet_the_numbers() -> None:
    figures, found = drawn(ONE_PIECE), values(CHECK, ONE_PIECE)
    camber, tangent = figures["camber-over-travel"].series
    assert (camber.x[0], camber.x[20], camber.x[-1]) == pytest.approx(
        tuple(found[f"camber_at_{at}"] for at in ("droop", "trim", "bump")), abs=1e-12
    )
    assert tangent.x[20] == pytest.approx(camber.x[20], abs=1e-12)
    (track,) = figures["track-over-travel"].series
    assert max(track.x[0], track.x[-1], key=abs) == pytest.approx(found["track_change"], abs=1e-12)


def test_front_view_puts_the_instant_centre_on_both_arms() -> None:
    figure = drawn(plane(470.0, 215.0))["front-view"]
    lines = {series.title: series for series in figure.series}
    arm = lines["Swing arm"]
    centre = np.array([arm.x[1], arm.y[1]])
    for name in ("Upper arm", "Lower arm"):
        start, end = np.stack([lines[name].x, lines[name].y], axis=1)
        along = (end - start) / np.linalg.norm(end - start)
        off = (centre - start) - along * (along @ (centre - start))
        assert np.linalg.norm(off) < 1.0  # the wheel steers a little: the centre is the camber's
    assert lines["To the roll centre"].x[-1] == 0.0


def test_front_view_of_parallel_arms_has_no_swing_arm() -> None:
    titles = {series.title for series in drawn(parallel_row() | SWEEP)["front-view"].series}
    assert "Swing arm" not in titles
    assert "To the roll centre" in titles


def test_anti_dive_needs_no_spring() -> None:
    seated = ONE_PIECE_ROW | SWEEP | BRAKING
    assert seated["spring_lower"] == ONE_PIECE_SPRING[0]
    assert "spring_lower" not in {port.key for port in CHECK.manifest({}).inputs}
