"""The steering axis against a general solver's screw, by hand, and facts of the trade."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_reference import Vector, Wheel
from tests.plugins.corner_rows import (
    DEGENERATE_CORNERS,
    ONE_PIECE_ROW,
    SPLIT_FORE_ROW,
    SPLIT_ROW,
    answer,
    draw_corner,
    furthest_off,
    values,
    without,
)
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.steering_axis import CHECK

PARALLEL: dict[str, Any] = {
    "lower_front_inner": (20.0, 380.0, 222.0),
    "lower_front_outer": (20.0, 680.0, 207.0),
    "lower_rear_inner": (-120.0, 380.0, 222.0),
    "lower_rear_outer": (-120.0, 680.0, 207.0),
}


def draw(generator: np.random.Generator) -> dict[str, Any]:
    return draw_corner(generator) | {
        "trim": generator.uniform(-40.0, 40.0),
        "rack": generator.uniform(-40.0, 40.0),
    }


def draw_springless(generator: np.random.Generator) -> dict[str, Any]:
    return without(draw(generator) | ONE_PIECE_ROW, "spring")


DEGENERATE: tuple[Row, ...] = (
    *DEGENERATE_CORNERS,
    {"rack": -400.0},
    {"trim": 1e300},
    {"trim": -800.0},
)


@pytest.mark.parametrize("draw_row", [draw, draw_springless])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: Any) -> None:  # noqa: ANN401  one of the two functions above
    subject = Subject(
        check=CHECK,
        rows=draw_row,
        degenerate=DEGENERATE,
        scalings=[
            {"mm": 2.0, "deg": 1.0, "rad": 1.0},
            {"mm": 0.7, "deg": 1.0, "rad": 1.0},
        ],
    )
    PROMISES[promise](subject)


def flat(vector: Vector) -> Vector:
    part: Vector = vector[:2]
    return part


def by_hand(row: Row) -> dict[str, Any]:
    wheel = Wheel.at(row, row["trim"], row["rack"])
    _, direction, pitch = wheel.screw()
    front, rear = wheel.point("lower_front_outer"), wheel.point("lower_rear_outer")
    crossing = front
    if row["lower_front_outer"] != row["lower_rear_outer"]:
        ways = [front - row["lower_front_inner"], rear - row["lower_rear_inner"]]
        shares = np.linalg.solve(np.stack([flat(ways[0]), -flat(ways[1])], 1), flat(rear - front))
        crossing = 0.5 * (front + shares[0] * ways[0] + rear + shares[1] * ways[1])
    classic = wheel.point("upper_outer") - crossing
    at = wheel.axis_at(wheel.point("wheel_centre")[2])
    found = {
        "virtual_lower": wheel.axis_at(0.5 * (front + rear)[2]),
        "screw_pitch": pitch,
        "crossing": crossing,
        "axis_to_crossing": float(np.linalg.norm(np.cross(direction, crossing - at))),
        "offset_at_wheel_centre": ahead_and_aside(wheel, wheel.point("wheel_centre") - at)[1],
    }
    for prefix, way, through in (("", direction, at), ("classic_", classic, crossing)):
        ground = through + way * (wheel.contact[2] - through[2]) / way[2]
        trail, scrub = ahead_and_aside(wheel, wheel.contact - ground)
        found |= {
            f"{prefix}inclination": float(np.degrees(np.arctan(-way[1] / way[2]))),
            f"{prefix}caster": float(np.degrees(np.arctan(-way[0] / way[2]))),
            f"{prefix}scrub_radius": scrub,
            f"{prefix}trail": -trail,
        }
    return found


def ahead_and_aside(wheel: Wheel, way: Vector) -> tuple[float, float]:
    """Parts of a way along and across the wheel's heading on the ground."""
    steer = np.radians(wheel.steer)
    ahead, aside = (np.cos(steer), np.sin(steer)), (-np.sin(steer), np.cos(steer))
    return float(way[:2] @ ahead), float(way[:2] @ aside)


def test_agrees_with_a_general_solver() -> None:
    generator = np.random.default_rng(8)
    rows = [draw(generator) for _ in range(24)]
    found = answer(CHECK, *rows)
    assert not found.problems
    worst = furthest_off(found, [by_hand(row) for row in rows])
    assert set(worst) == {port.key for port in CHECK.manifest({}).outputs}
    assert max(worst.values()) < 1e-9


def test_figures_of_another_screening_solver() -> None:
    """Derived, not published: a second program's results for the points, as it rounded them."""
    found = values(CHECK, ONE_PIECE_ROW)
    assert found["inclination"] == pytest.approx(11.0, abs=0.5)
    assert found["caster"] == pytest.approx(4.3, abs=0.05)
    assert found["scrub_radius"] == pytest.approx(14.0, abs=0.5)
    assert found["trail"] == pytest.approx(24.0, abs=0.5)


def test_axis_of_a_one_piece_arm_is_its_joints_line_exactly() -> None:
    found = values(CHECK, ONE_PIECE_ROW)
    assert found["virtual_lower"].tolist() == list(ONE_PIECE_ROW["lower_front_outer"])
    assert found["screw_pitch"] == 0.0
    assert found["axis_to_crossing"] == 0.0
    for key in ("inclination", "caster", "scrub_radius", "trail"):
        assert found[key] == found[f"classic_{key}"]
    rise = np.subtract(ONE_PIECE_ROW["upper_outer"], ONE_PIECE_ROW["lower_front_outer"])
    assert found["caster"] == pytest.approx(np.degrees(np.arctan(-rise[0] / rise[2])), rel=1e-14)


@pytest.mark.parametrize("row", [SPLIT_ROW, SPLIT_FORE_ROW])
def test_virtual_joint_lies_outboard_of_both_real_joints(row: Row) -> None:
    """Common practice, no source: a split lower arm makes room for the brake that way.

    The links converge outward, so their lines cross beyond the joints, and there is the axis.
    """
    found = values(CHECK, row)
    outermost = max(row["lower_front_outer"][1], row["lower_rear_outer"][1])
    assert found["crossing"][1] > outermost + 20.0
    assert found["virtual_lower"][1] > outermost + 20.0


def test_links_drawn_through_move_the_axis_outward_as_they_converge() -> None:
    """Common practice, no source: the shallower the angle between the links, the farther out."""
    wide, narrow = (
        values(CHECK, SPLIT_ROW | {"lower_rear_inner": (-420.0, 440.0 + by, 222.0)})
        for by in (0.0, -70.0)
    )
    assert narrow["crossing"][1] != wide["crossing"][1]
    order = np.argsort([narrow["crossing"][1], wide["crossing"][1]])
    assert np.argsort([narrow["virtual_lower"][1], wide["virtual_lower"][1]]).tolist() == (
        order.tolist()
    )


def test_axis_of_a_split_arm_migrates_with_lock_and_a_real_one_does_not() -> None:
    split, one_piece = (
        [values(CHECK, row | {"rack": rack}) for rack in (-40.0, 40.0)]
        for row in (SPLIT_ROW, ONE_PIECE_ROW)
    )
    moved, held = (
        np.linalg.norm(flat(left["virtual_lower"] - right["virtual_lower"]))
        for right, left in (split, one_piece)
    )
    assert moved > 15.0
    assert held < 0.2  # the arm swings a little as the wheel centre's height is held


def test_where_the_spring_stands_moves_the_axis_of_a_split_arm_only() -> None:
    seat = {"spring_lower": (14.0, 500.0, 213.0)}
    assert values(CHECK, SPLIT_ROW | seat)["trail"] != values(CHECK, SPLIT_ROW)["trail"]
    for key, value in values(CHECK, ONE_PIECE_ROW | seat).items():
        assert np.array_equal(value, values(CHECK, ONE_PIECE_ROW)[key])


def test_parallel_links_have_an_axis_but_no_crossing() -> None:
    outputs = answer(CHECK, SPLIT_ROW | PARALLEL, SPLIT_ROW)
    assert not outputs.problems
    absent = {absence.port for absence in outputs.absences}
    assert absent == {
        "crossing",
        "axis_to_crossing",
        "classic_inclination",
        "classic_caster",
        "classic_scrub_radius",
        "classic_trail",
    }
    assert all(absence.rows.tolist() == [True, False] for absence in outputs.absences)
    assert np.isfinite(outputs.values["caster"]).all()


def test_split_arm_without_its_spring_still_has_the_classic_axis() -> None:
    outputs = answer(CHECK, without(SPLIT_ROW, "spring"))
    (problem,) = outputs.problems
    assert "spring_lower" in problem.reason
    classic = values(CHECK, SPLIT_ROW)["classic_caster"]
    assert outputs.values["classic_caster"][0] == classic
    assert "classic_caster" not in problem.ports


def test_steering_axis_that_lies_level_has_no_offsets_at_the_ground() -> None:
    level = {
        "upper_outer": (100.0, 700.0, 205.0),
        "lower_front_outer": (0.0, 700.0, 205.0),
        "lower_rear_outer": (0.0, 700.0, 205.0),
    }
    outputs = answer(CHECK, ONE_PIECE_ROW | level)
    assert outputs.problems
    assert np.isnan(outputs.values["scrub_radius"][0])


def drawn(row: Row) -> dict[str, Figure]:
    figures = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    return {figure.key: figure for figure in figures}


def test_plan_shows_the_links_drawn_through_to_their_crossing() -> None:
    figure, found = drawn(SPLIT_ROW)["plan"], values(CHECK, SPLIT_ROW)
    lines = {series.title: series for series in figure.series}
    crossing = (-found["crossing"][1], found["crossing"][0])
    for name in ("Lower front link", "Lower rear link"):
        series = lines[name]
        assert (series.x[-1], series.y[-1]) == pytest.approx(crossing, abs=1e-12)
        ends = np.stack([series.x, series.y], axis=1)
        along, rest = ends[1] - ends[0], ends[2] - ends[0]
        assert along[0] * rest[1] - along[1] * rest[0] == pytest.approx(0.0, abs=1e-6)
    trace = lines["Axis over lock"]
    assert len(trace.x) > 30


def test_plan_of_parallel_links_leaves_the_crossing_out() -> None:
    lines = {series.title: series for series in drawn(SPLIT_ROW | PARALLEL)["plan"].series}
    assert lines["Lower front link"].labels == ("inner", "outer")


def test_offsets_over_steer_pass_through_the_numbers() -> None:
    figure, found = drawn(ONE_PIECE_ROW)["axis-over-steer"], values(CHECK, ONE_PIECE_ROW)
    scrub, trail = figure.series
    assert scrub.y[20] == pytest.approx(found["scrub_radius"], abs=1e-12)
    assert trail.y[20] == pytest.approx(found["trail"], abs=1e-12)
    assert scrub.x[20] == pytest.approx(-0.1, abs=1e-12)  # toe-in of a left wheel: to the right
