"""The steering ratio against a general solver, its limiting cases and facts of the trade."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_reference import Wheel
from tests.plugins.corner_rows import (
    DEGENERATE_CORNERS,
    FORE_ROW,
    ONE_PIECE_ROW,
    ROWS,
    SPLIT_ROW,
    answer,
    draw_corner,
    furthest_off,
    values,
)
from tests.plugins.mechanics.samples import Point
from tracker.contract.figure import FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.ratio_band import CHECK

Draw = Callable[[np.random.Generator], Row]

STEERING: dict[str, Any] = {
    "c_factor": 50.0,
    "rack_travel": 72.0,
    "wheelbase": 2950.0,
    "wheel_track": 1560.0,
    "front_corner": (800.0, 850.0, 500.0),
    "trim": 0.0,
}
ONE_PIECE, SPLIT = ONE_PIECE_ROW | STEERING, SPLIT_ROW | STEERING


def draw(generator: np.random.Generator) -> dict[str, Any]:
    return draw_corner(generator) | {
        "c_factor": generator.uniform(40.0, 70.0),
        "rack_travel": generator.uniform(20.0, 60.0),
        "wheelbase": generator.uniform(2300.0, 3600.0),
        "wheel_track": generator.uniform(1400.0, 1700.0),
        "front_corner": (generator.uniform(600.0, 900.0), -830.0, 400.0),
        "trim": generator.uniform(-30.0, 30.0),
    }


def draw_springless(generator: np.random.Generator) -> Row:
    row = draw(generator) | ONE_PIECE_ROW
    return {key: each for key, each in row.items() if key not in {"spring_lower", "spring_upper"}}


DEGENERATE: tuple[Row, ...] = (
    *DEGENERATE_CORNERS,
    {"rack_travel": 400.0},
    {"rack_travel": 0.0},
    {"rack_travel": 1e300},
    {"c_factor": 0.0},
    {"c_factor": -50.0},
    {"wheelbase": 0.0},
    {"wheel_track": -1.0},
    {"trim": 900.0},
    {"c_factor": 5e-324},
)


@pytest.mark.parametrize("draw_row", [draw, draw_springless])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: Draw) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw_row,
        degenerate=DEGENERATE,
        scalings=[
            {"mm": 2.0, "m": 2.0, "deg": 1.0, "rev": 1.0, "%": 1.0},
            {"mm": 0.7, "m": 0.7, "deg": 1.0, "rev": 1.0, "%": 1.0},
        ],
    )
    PROMISES[promise](subject)


def by_hand(row: Row) -> dict[str, float]:
    """Everything from scipy's poses and school trigonometry."""
    travel, trim = row["rack_travel"], row["trim"]
    ends = [Wheel.at(row, trim, rack) for rack in (-travel, 0.0, travel)]
    rates = [end.slope(lambda wheel: wheel.steer, end.per_rack(spring_held=False)) for end in ends]
    inner = max(ends[0].steer, ends[2].steer)
    outer = -min(ends[0].steer, ends[2].steer)
    per_mm = 360.0 / row["c_factor"]
    distance = 2.0 * ends[1].axis_at(ends[1].contact[2])[1]
    cot = [1.0 / np.tan(np.radians(angle)) for angle in (inner, outer)]
    ideal = np.degrees(np.arctan(1.0 / (cot[0] + distance / row["wheelbase"])))
    radius = row["wheelbase"] * (cot[0] + cot[1]) / 2.0
    corner = row["front_corner"]
    rear = row["wheel_centre"][0] - row["wheelbase"]
    return {
        "ratio_on_centre": per_mm / abs(rates[1]),
        "ratio_at_lock": per_mm / abs((rates[0] + rates[2]) / 2.0),
        "ratio_mean": per_mm * travel / ((inner + outer) / 2.0),
        "turns_lock_to_lock": 2.0 * travel / row["c_factor"],
        "inner_angle": inner,
        "outer_angle": outer,
        "axis_distance": distance,
        "ackermann_percent": 100.0 * (inner - outer) / (inner - ideal),
        "turning_circle": 2e-3 * np.hypot(row["wheelbase"], radius + row["wheel_track"] / 2.0),
        "turning_circle_walls": 2e-3 * np.hypot(corner[0] - rear, radius + abs(corner[1])),
        "toggle_margin": min(toggle(ends[0]), toggle(ends[2])),
    }


def toggle(wheel: Wheel) -> float:
    """Angle of arm and rod after turning the axis upright."""
    point, axis, _ = wheel.screw()
    outer = wheel.point("tie_rod_outer")
    flat = np.eye(3) - np.outer(axis, axis)
    arm, rod = flat @ (outer - point), flat @ (outer - wheel.inner)
    cosine = arm @ rod / np.linalg.norm(arm) / np.linalg.norm(rod)
    angle = float(np.degrees(np.arccos(cosine)))
    return min(angle, 180.0 - angle)


def test_agrees_with_a_general_solver() -> None:
    generator = np.random.default_rng(3)
    rows = [draw(generator) for _ in range(24)]
    found = answer(CHECK, *rows)
    assert not found.problems
    worst = furthest_off(found, [by_hand(row) for row in rows])
    assert set(worst) == {port.key for port in CHECK.manifest({}).outputs}
    assert max(worst.values()) < 1e-9


def test_figures_of_another_screening_solver() -> None:
    """Derived, not published: a second program's results for the points, as it rounded them."""
    found = values(CHECK, ONE_PIECE)
    assert found["ratio_on_centre"] == pytest.approx(17.8, abs=0.05)
    assert found["ratio_mean"] == pytest.approx(16.2, abs=0.05)
    assert found["turns_lock_to_lock"] == pytest.approx(2.88, abs=0.005)
    assert found["inner_angle"] == pytest.approx(35.3, abs=0.06)
    assert found["outer_angle"] == pytest.approx(28.6, abs=0.06)
    assert found["ackermann_percent"] == pytest.approx(85.0, abs=0.5)


def test_split_arm_changes_the_locks_at_unchanged_tie_rod_points() -> None:
    """The axis of a split arm migrates with lock; figures as in the test above."""
    rod = {key: ONE_PIECE_ROW[key] for key in ("tie_rod_inner", "tie_rod_outer")}
    own, same_rod = values(CHECK, SPLIT), values(CHECK, SPLIT | rod)
    assert own["inner_angle"] == pytest.approx(34.4, abs=0.06)
    assert own["outer_angle"] == pytest.approx(30.3, abs=0.06)
    assert own["ackermann_percent"] == pytest.approx(55.0, abs=0.5)
    assert abs(same_rod["ackermann_percent"] - values(CHECK, ONE_PIECE)["ackermann_percent"]) > 10.0


def test_ratio_halves_as_the_rack_doubles_its_travel_per_turn() -> None:
    slow, quick = values(CHECK, ONE_PIECE), values(CHECK, ONE_PIECE | {"c_factor": 100.0})
    for key in ("ratio_on_centre", "ratio_at_lock", "ratio_mean", "turns_lock_to_lock"):
        assert quick[key] == pytest.approx(slow[key] / 2.0, rel=1e-14)
    assert quick["inner_angle"] == slow["inner_angle"]


def test_a_rack_of_65_mm_a_turn_is_a_fifth_quicker_than_the_band_wanted() -> None:
    """Too quick and tiring at motorway speed where 50 to 55 was wanted: common practice, no source.

    What the check says about it: ratio on centre, in proportion to one over the C-factor.
    """
    quick, upper, lower = (
        values(CHECK, ONE_PIECE | {"c_factor": c})["ratio_on_centre"] for c in (65.0, 55.0, 50.0)
    )
    assert (quick, upper, lower) == pytest.approx((13.68, 16.16, 17.78), abs=0.01)
    assert quick < upper < lower
    assert quick / upper == pytest.approx(55.0 / 65.0, rel=1e-12)


def upright(tie_rod: dict[str, Point]) -> dict[str, Any]:
    """Corner with an upright axis and level arms, so that it steers in a plane at no lift."""
    return {
        "upper_front_inner": (130.0, 430.0, 500.0),
        "upper_rear_inner": (-130.0, 430.0, 500.0),
        "upper_outer": (0.0, 720.0, 500.0),
        "lower_front_inner": (150.0, 380.0, 200.0),
        "lower_front_outer": (0.0, 720.0, 200.0),
        "lower_rear_inner": (-150.0, 380.0, 200.0),
        "lower_rear_outer": (0.0, 720.0, 200.0),
        "wheel_centre": (0.0, 780.0, 345.0),
        "loaded_radius": 345.0,
        "static_camber": 0.0,
        "static_toe": 0.0,
        **tie_rod,
        **STEERING,
    }


def square(reach: float) -> dict[str, Any]:
    """Steering arm along X, tie rod along Y: by hand without a linkage."""
    return upright({"tie_rod_inner": (reach, 320.0, 250.0), "tie_rod_outer": (reach, 720.0, 250.0)})


@pytest.mark.parametrize("reach", [-140.0, 150.0])
def test_square_layout_by_hand(reach: float) -> None:
    row = {key: each for key, each in square(reach).items() if key != "front_corner"}
    found = values(CHECK, row | {"rack_travel": 60.0})
    assert found["ratio_on_centre"] == pytest.approx(2 * np.pi * abs(reach) / 50.0, rel=1e-13)
    assert found["axis_distance"] == pytest.approx(1440.0, rel=1e-15)
    # Arm at angle a from X, rod end 60 mm on: (reach cos a, 720 − reach sin a) at 400 from inner.
    for angle in (found["inner_angle"], found["outer_angle"]):
        a = np.radians(angle)
        gaps = [
            np.hypot(reach * np.cos(a) - reach, 400.0 + side * abs(reach) * np.sin(a) - rack)
            for side in (-1.0, 1.0)
            for rack in (-60.0, 60.0)
        ]
        assert min(abs(gap - 400.0) for gap in gaps) < 1e-9


def test_toggle_margin_is_the_triangles_angle() -> None:
    """Arm 140 mm, rod 400 mm and the way from axis to rack end: law of cosines."""
    margins = []
    for travel in (20.0, 60.0, 90.0, 115.0):
        margins.append(values(CHECK, square(-140.0) | {"rack_travel": travel})["toggle_margin"])
        angles = [
            np.degrees(np.arccos((140**2 + 400**2 - 140**2 - (400 - rack) ** 2) / (2 * 140 * 400)))
            for rack in (-travel, travel)
        ]
        assert margins[-1] == pytest.approx(min(min(a, 180 - a) for a in angles), abs=1e-11)
    assert margins == sorted(margins, reverse=True)
    assert margins[0] > 70.0
    assert margins[-1] < 25.0


def test_rack_ahead_of_or_behind_the_axle_gives_angles_of_the_same_sign() -> None:
    for row in (ONE_PIECE, FORE_ROW | STEERING):
        found = values(CHECK, row)
        assert 20.0 < found["outer_angle"] < 45.0
        assert 20.0 < found["inner_angle"] < 45.0


def test_mirror_image_turned_end_for_end_has_the_same_ratio() -> None:
    """Turning the whole corner about the upright through the wheel centre keeps every angle.

    The rack must then run the other way, which a sweep to both ends does.
    """
    row = upright(
        {"tie_rod_inner": (-165.0, 330.0, 250.0), "tie_rod_outer": (-140.0, 690.0, 250.0)}
    )
    flipped = {
        key: (-each[0], each[1], each[2]) if isinstance(each, tuple) else each
        for key, each in row.items()
    } | {"front_corner": row["front_corner"]}
    straight, other = values(CHECK, row), values(CHECK, flipped)
    # Fore and aft swapped, inner and outer wheel change places: mean values stay.
    for key in ("ratio_on_centre", "ratio_mean", "ratio_at_lock", "toggle_margin"):
        assert other[key] == pytest.approx(straight[key], rel=1e-12)
    assert other["inner_angle"] == pytest.approx(straight["outer_angle"], rel=1e-12)


def test_trim_moves_the_answer_continuously_and_zero_is_design() -> None:
    still = {key: each for key, each in ONE_PIECE.items() if key != "trim"}
    assert values(CHECK, still) == values(CHECK, ONE_PIECE)
    raised = values(CHECK, ONE_PIECE | {"trim": 40.0})
    assert raised["inner_angle"] != values(CHECK, ONE_PIECE)["inner_angle"]
    hardly = values(CHECK, ONE_PIECE | {"trim": 1e-6})
    assert hardly["inner_angle"] == pytest.approx(values(CHECK, ONE_PIECE)["inner_angle"], abs=1e-6)


def test_split_arm_without_its_spring_lacks_only_what_needs_the_axis() -> None:
    row = {key: each for key, each in SPLIT.items() if not key.startswith("spring")}
    outputs = answer(CHECK, row)
    (problem,) = outputs.problems
    assert set(problem.ports) == {"axis_distance", "ackermann_percent", "toggle_margin"}
    assert "spring_lower" in problem.reason
    assert outputs.values["ratio_on_centre"][0] == values(CHECK, SPLIT)["ratio_on_centre"]


def test_one_piece_arm_needs_no_spring() -> None:
    row = {key: each for key, each in ONE_PIECE.items() if not key.startswith("spring")}
    assert values(CHECK, row) == values(CHECK, ONE_PIECE)


def test_no_front_corner_leaves_the_circle_between_walls_out() -> None:
    row = {key: each for key, each in ONE_PIECE.items() if key != "front_corner"}
    outputs = answer(CHECK, row)
    assert not outputs.problems
    assert [absence.port for absence in outputs.absences] == ["turning_circle_walls"]


def test_a_rack_too_long_for_the_linkage_is_told_with_its_end() -> None:
    outputs = answer(CHECK, ONE_PIECE | {"rack_travel": 250.0})
    reasons = [problem.reason for problem in outputs.problems]
    assert any(reason.startswith("rack at its") for reason in reasons)
    assert np.isfinite(outputs.values["ratio_on_centre"][0])  # the centre is as it was
    assert outputs.values["turns_lock_to_lock"][0] == 10.0


def test_tie_rod_that_cannot_turn_the_wheel_gives_no_ratio() -> None:
    row = square(-140.0) | {
        "tie_rod_outer": (0.0, 660.0, 250.0),
        "tie_rod_inner": (0.0, 320.0, 250.0),
    }
    outputs = answer(CHECK, row)
    assert outputs.problems
    assert np.isnan(outputs.values["ratio_on_centre"][0])


@pytest.mark.parametrize("row", [ONE_PIECE, FORE_ROW | STEERING])
def test_curves_meet_the_numbers(row: Row) -> None:
    found = values(CHECK, row)
    ratio, angles, ackermann = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    assert {figure.kind for figure in (ratio, angles, ackermann)} == {FigureKind.CURVE}
    (curve,) = ratio.series
    middle = len(curve.y) // 2
    assert curve.y[middle] == pytest.approx(found["ratio_on_centre"], rel=1e-12)
    assert curve.y[0] == pytest.approx(found["ratio_at_lock"], rel=1e-12)
    assert curve.y[-1] == pytest.approx(found["ratio_at_lock"], rel=1e-12)
    assert curve.x[-1] == pytest.approx(360.0 * 72.0 / 50.0, rel=1e-14)
    left, right = angles.series
    assert left.y[-1] == pytest.approx(found["inner_angle"], rel=1e-12)
    assert right.y[-1] == pytest.approx(found["outer_angle"], rel=1e-12)
    assert left.y[0] == pytest.approx(-found["outer_angle"], rel=1e-12)
    designed, rolling, parallel = (series.y[-1] for series in ackermann.series)
    share = 100.0 * (parallel - designed) / (parallel - rolling)
    assert share == pytest.approx(found["ackermann_percent"], rel=1e-9)


def test_curves_leave_out_what_does_not_close() -> None:
    row = ONE_PIECE | {"rack_travel": 250.0}
    figures = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    points = [len(series.x) for figure in figures for series in figure.series]
    assert 0 < points[0] < 41


def test_rows_are_all_kinds_of_corner() -> None:
    outputs = answer(CHECK, *(row | STEERING for row in ROWS))
    assert not outputs.problems
    assert np.all(outputs.values["toggle_margin"] > 20.0)
