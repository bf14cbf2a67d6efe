"""Joint angles against a general solver's poses and against a column turned as vectors."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.plugins.corner_reference import Vector, Wheel
from tests.plugins.corner_rows import (
    DEGENERATE_CORNERS,
    ONE_PIECE_ROW,
    SPLIT_ROW,
    answer,
    draw_corner,
    parallel_row,
    values,
    without,
)
from tests.plugins.mechanics.reference import seat_on_arm, seat_on_link
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.joint_angles import CHECK

SWEEP: dict[str, Any] = {"travel": 80.0, "rack_travel": 60.0, "trim": 0.0}
STUDS: dict[str, Any] = {
    "upper_stud": (0.1, -0.2, 1.0),
    "lower_stud": (-0.05, 0.3, 1.0),
    "tie_rod_stud": (0.0, 0.1, -1.0),
}
SHAFT: dict[str, Any] = {"driveshaft_inner": (15.0, 160.0, 330.0)}
COLUMN: dict[str, Any] = {
    "column_direction": (0.85, 0.0, -0.5),
    "column_joint": (-600.0, 370.0, 640.0),
    "pinion_joint": (-330.0, 330.0, 380.0),
    "pinion_direction": (0.6, -0.2, -0.75),
    "yoke_phase": 20.0,
}
ONE_PIECE, SPLIT = (without(row, "spring") | SWEEP for row in (ONE_PIECE_ROW, SPLIT_ROW))


def draw_plain(generator: np.random.Generator) -> dict[str, Any]:
    return without(draw_corner(generator), "spring") | {
        "travel": generator.uniform(20.0, 60.0),
        "rack_travel": generator.uniform(20.0, 50.0),
        "trim": generator.uniform(-20.0, 20.0),
    }


def draw(generator: np.random.Generator) -> dict[str, Any]:
    further = {
        key: tuple((np.array(each) + generator.uniform(-0.1, 0.1, 3)).tolist())
        for key, each in (STUDS | SHAFT | COLUMN).items()
        if isinstance(each, tuple)
    }
    phase = {"yoke_phase": generator.uniform(-90.0, 90.0)}
    return draw_plain(generator) | further | phase | {"driveshaft_outer": (2.0, 735.0, 344.0)}


DEGENERATE: tuple[Row, ...] = (
    *DEGENERATE_CORNERS,
    {"travel": -1.0},
    {"rack_travel": -1.0},
    {"travel": 700.0},
    {"rack_travel": 300.0},
    {"trim": 1e300},
)
NONE = (0.0, 0.0, 0.0)
DEGENERATE_MORE: tuple[Row, ...] = (
    {"upper_stud": NONE},
    {"lower_stud": NONE},
    {"tie_rod_stud": NONE},
    {"column_direction": NONE},
    {"pinion_direction": NONE},
    {"column_joint": (1.0, 2.0, 3.0), "pinion_joint": (1.0, 2.0, 3.0)},
    {"column_direction": (-1.0, 0.0, 0.5)},
    {"column_joint": (1e200, 0.0, 0.0)},
    {"driveshaft_inner": (1e200, 0.0, 0.0)},
)
SCALINGS = [{"mm": 2.0, "deg": 1.0, "%": 1.0}, {"mm": 0.7, "deg": 1.0, "%": 1.0}]


@pytest.mark.parametrize(
    ("draw_row", "degenerate"), [(draw_plain, DEGENERATE), (draw, DEGENERATE + DEGENERATE_MORE)]
)
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: Any, degenerate: tuple[Row, ...]) -> None:  # noqa: ANN401  one of the two functions above
    subject = Subject(check=CHECK, rows=draw_row, degenerate=degenerate, scalings=SCALINGS)
    PROMISES[promise](subject)


def angle(a: Any, b: Any) -> float:  # noqa: ANN401  vectors as tuples or arrays
    cosine = np.dot(a, b) / np.linalg.norm(a) / np.linalg.norm(b)
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def housings(row: Row, wheel: Wheel) -> dict[str, list[Vector]]:
    """Directions of the housings: studs carried along by arm, link or rod."""
    at = {key: np.array(each, dtype=float) for key, each in row.items() if isinstance(each, tuple)}

    def arm(which: str, joint: str, stud: str) -> Vector:
        pivot, other = at[f"{which}_front_inner"], at[f"{which}_rear_inner"]
        moved = wheel.point(joint)
        carried: Vector = seat_on_arm(pivot, other, at[joint], moved, pivot + at[stud]) - pivot
        return carried

    def link(end: str) -> Vector:
        pivot, joint = at[f"lower_{end}_inner"], at[f"lower_{end}_outer"]
        moved = wheel.point(f"lower_{end}_outer")
        carried: Vector = seat_on_link(pivot, joint, moved, pivot + at["lower_stud"]) - pivot
        return carried

    one_piece = row["lower_front_outer"] == row["lower_rear_outer"]
    shift = np.array([0.0, wheel.rack, 0.0])
    pivot = at["tie_rod_inner"]
    rod = seat_on_link(
        pivot, at["tie_rod_outer"], wheel.point("tie_rod_outer") - shift, pivot + at["tie_rod_stud"]
    )
    lower = [arm("lower", "lower_front_outer", "lower_stud")] if one_piece else []
    return {
        "upper": [arm("upper", "upper_outer", "upper_stud")],
        "lower": lower or [link("front"), link("rear")],
        "tie_rod": [rod - pivot],
    }


def by_hand(row: Row) -> dict[str, float]:
    wheels = [
        Wheel.at(row, row["trim"] + up * row["travel"], aside * row["rack_travel"])
        for up, aside in product((-1, 0, 1), repeat=2)
    ]
    found: dict[str, list[float]] = {}
    for wheel in wheels:
        carried = housings(row, wheel)
        tilts = {
            name: max(angle(wheel.turn.apply(row[f"{name}_stud"]), each) for each in turned)
            for name, turned in carried.items()
        }
        shaft = wheel.point("driveshaft_outer") - row["driveshaft_inner"]
        each = {
            "upper_joint_angle": tilts["upper"],
            "lower_joint_angle": tilts["lower"],
            "tie_rod_outer_angle": tilts["tie_rod"],
            "tie_rod_inner_angle": angle(wheel.point("tie_rod_outer") - wheel.inner, (0, 1, 0)),
            "driveshaft_inner_angle": angle(shaft, (0, 1, 0)),
            "driveshaft_outer_angle": angle(shaft, wheel.spin),
            "length": float(np.linalg.norm(shaft)),
        }
        for key, value in each.items():
            found.setdefault(key, []).append(value)
    lengths = found.pop("length")
    return {key: max(each) for key, each in found.items()} | {
        "driveshaft_plunge": max(lengths) - min(lengths)
    }


def test_agrees_with_a_general_solver() -> None:
    generator = np.random.default_rng(9)
    rows = [draw(generator) for _ in range(16)]
    found = answer(CHECK, *rows)
    assert not found.problems
    worst: dict[str, float] = {}
    for number, row in enumerate(rows):
        wanted = by_hand(row) | turned_column(row)
        for key, value in wanted.items():
            off = abs(found.values[key][number] - value)
            worst[key] = max(worst.get(key, 0.0), off)
    print({key: f"{off:.1e}" for key, off in worst.items()})
    assert set(worst) == {port.key for port in CHECK.manifest({}).outputs} - {"best_yoke_phase"}
    ripple = worst.pop("speed_ripple")
    assert ripple < 1e-3  # looked for on a grid of column angles
    assert max(worst.values()) < 1e-8


def output_angle(row: Row, turned: Any) -> Any:  # noqa: ANN401  a number or an array
    """Follow the arms of both crosses as the column turns by some angles in rad."""
    first, last = (
        np.array(row[key]) / np.linalg.norm(row[key])
        for key in ("column_direction", "pinion_direction")
    )
    shaft = np.array(row["pinion_joint"]) - np.array(row["column_joint"])
    shaft = shaft / np.linalg.norm(shaft)
    start = np.cross(first, shaft)
    yoke = Rotation.from_rotvec(np.outer(turned, first)).apply(start)
    upper = np.cross(yoke, shaft)  # the cross's other arm: square to the yoke and to the shaft
    lower = Rotation.from_rotvec(np.radians(row["yoke_phase"]) * shaft).apply(upper)
    arm = np.cross(lower, last)
    base = arm[0] / np.linalg.norm(arm[0])
    aside = np.cross(last, base)
    return np.unwrap(np.arctan2(arm @ aside, arm @ base))


def turned_column(row: Row) -> dict[str, float]:
    shaft = np.subtract(row["pinion_joint"], row["column_joint"])
    step = 1e-4
    angles = np.radians(np.arange(0.0, 360.0, 0.1))
    grid = np.concatenate([angles - step, angles + step])
    order = np.argsort(grid)
    out = np.empty_like(grid)
    out[order] = output_angle(row, grid[order])
    ratio = (out[len(angles) :] - out[: len(angles)]) / (2.0 * step)
    return {
        "column_joint_angle": angle(row["column_direction"], shaft),
        "pinion_joint_angle": angle(shaft, row["pinion_direction"]),
        "speed_ripple": 100.0 * float(ratio.max() - ratio.min()),
    }


def test_best_phase_has_the_least_ripple() -> None:
    row = ONE_PIECE | COLUMN
    best = values(CHECK, row)["best_yoke_phase"]
    phases = np.linspace(-90.0, 90.0, 721)
    ripples = answer(CHECK, *(row | {"yoke_phase": phase} for phase in phases)).values
    least = phases[np.argmin(ripples["speed_ripple"])]
    assert least == pytest.approx(best, abs=0.25)
    at_best = values(CHECK, row | {"yoke_phase": float(best)})["speed_ripple"]
    assert at_best <= ripples["speed_ripple"].min()


def straight_column(upper: float, lower: float) -> dict[str, Any]:
    """Shafts in one plane: the column falls by an angle more, the input shaft by another."""
    down = np.radians([30.0 - upper, 30.0, 30.0 - lower])
    first, shaft, last = (np.array([np.cos(a), 0.0, -np.sin(a)]) for a in down)
    joint = np.array([-600.0, 370.0, 640.0])
    return {
        "column_direction": tuple(first.tolist()),
        "column_joint": tuple(joint.tolist()),
        "pinion_joint": tuple((joint + 350.0 * shaft).tolist()),
        "pinion_direction": tuple(last.tolist()),
    }


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_equal_angles_in_one_plane_run_evenly(side: float) -> None:
    """Any text on mechanisms: two cross joints of equal angle, yokes in one plane, no ripple."""
    found = values(CHECK, ONE_PIECE | straight_column(25.0, side * 25.0))
    assert found["speed_ripple"] == pytest.approx(0.0, abs=1e-12)
    assert (found["column_joint_angle"], found["pinion_joint_angle"]) == pytest.approx((25.0, 25.0))
    assert found["best_yoke_phase"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("bent", [5.0, 20.0, 35.0])
def test_single_cross_joint(bent: float) -> None:
    """Any text on mechanisms: the speed ratio of one joint runs from cos β to 1/cos β."""
    outputs = answer(CHECK, ONE_PIECE | straight_column(bent, 0.0))
    assert not outputs.problems
    ripple = 100.0 * (1.0 / np.cos(np.radians(bent)) - np.cos(np.radians(bent)))
    assert outputs.values["speed_ripple"][0] == pytest.approx(ripple, rel=1e-12)
    absent = {each.port for each in outputs.absences}
    assert "best_yoke_phase" in absent


def test_yokes_a_quarter_turn_wrong_add_their_ripples() -> None:
    wrong = values(CHECK, ONE_PIECE | straight_column(25.0, 25.0) | {"yoke_phase": 90.0})
    squared = np.cos(np.radians(25.0)) ** 2
    assert wrong["speed_ripple"] == pytest.approx(100.0 * (1.0 / squared - squared), rel=1e-12)


def test_parallel_links_tilt_their_joints_by_the_links_own_angle() -> None:
    """A knuckle that does not turn: studs stay, arms swing by arcsin of rise over length."""
    row = parallel_row() | SWEEP | {"rack_travel": 0.0, "travel": 60.0}
    found = values(CHECK, row)
    swing = np.degrees(np.arcsin(60.0 / 300.0))
    upright = {"upper_stud": (0.0, 0.0, 1.0), "lower_stud": (0.0, 0.0, 1.0)}
    for key in ("upper_joint_angle", "lower_joint_angle", "tie_rod_outer_angle"):
        assert found[key] == pytest.approx(swing, abs=1e-9)
        assert values(CHECK, row | upright)[key] == pytest.approx(swing, abs=1e-9)
    assert found["tie_rod_inner_angle"] == pytest.approx(swing, abs=1e-9)


def test_stud_along_the_pivot_line_does_not_tilt_as_the_arm_swings() -> None:
    row = parallel_row() | SWEEP | {"rack_travel": 0.0, "travel": 60.0}
    along = values(CHECK, row | {"upper_stud": (1.0, 0.0, 0.0)})
    assert along["upper_joint_angle"] == pytest.approx(0.0, abs=1e-9)


def test_driveshaft_of_a_straight_rise_by_hand() -> None:
    row = parallel_row() | SWEEP | {"rack_travel": 0.0, "travel": 60.0, "static_toe": 0.0}
    row |= {"static_camber": 0.0, "driveshaft_inner": (0.0, 180.0, 345.0)}
    found = values(CHECK, row)
    inward = 300.0 - np.sqrt(300.0**2 - 60.0**2)  # how far the arms draw the wheel in
    lean = np.degrees(np.arctan(60.0 / (600.0 - inward)))
    assert found["driveshaft_inner_angle"] == pytest.approx(lean, abs=1e-9)
    assert found["driveshaft_outer_angle"] == pytest.approx(lean, abs=1e-9)
    plunge = 600.0 - np.hypot(600.0 - inward, 60.0)
    assert found["driveshaft_plunge"] == pytest.approx(plunge, abs=1e-9)


@pytest.mark.parametrize("row", [ONE_PIECE | SHAFT, SPLIT | SHAFT])
def test_nine_positions_miss_little(row: Row) -> None:
    """Smaller envelopes within the whole one hold hardly larger angles, nor more plunge."""
    whole = values(CHECK, row)
    shares = np.linspace(-0.75, 0.75, 7)
    inner = [
        dict(row) | {"trim": 80.0 * up, "travel": 20.0, "rack_travel": 60.0 * wide}
        for up in shares
        for wide in (0.25, 0.5, 0.75, 1.0)
    ]
    found = answer(CHECK, *inner).values
    for key, largest in whole.items():
        assert found[key].max() <= largest + 0.1


def test_what_is_not_given_is_left_out() -> None:
    outputs = answer(CHECK, ONE_PIECE)
    assert not outputs.problems
    reasons = {absence.port: absence.reason for absence in outputs.absences}
    assert reasons["driveshaft_plunge"] == "no driveshaft_inner is given"
    assert reasons["speed_ripple"].startswith("not given: column_direction")
    assert len(reasons) == 7


def test_place_out_of_reach_is_told() -> None:
    outputs = answer(CHECK, ONE_PIECE | {"rack_travel": 250.0})
    assert any("rack at its" in problem.reason for problem in outputs.problems)


def test_cross_joint_bent_square_is_refused() -> None:
    outputs = answer(CHECK, ONE_PIECE | COLUMN | {"column_direction": (-0.85, 0.0, 0.5)})
    (problem,) = outputs.problems
    assert set(problem.ports) == {"speed_ripple", "best_yoke_phase"}
    assert outputs.values["column_joint_angle"][0] > 90.0


def drawn(row: Row) -> dict[str, Figure]:
    figures = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    return {figure.key: figure for figure in figures}


def test_figures_follow_what_is_given() -> None:
    assert set(drawn(ONE_PIECE)) == {"angles-over-travel"}
    assert set(drawn(ONE_PIECE | SHAFT | COLUMN)) == {
        "angles-over-travel",
        "driveshaft-angles",
        "driveshaft-length",
        "speed-ratio",
    }


def test_speed_ratio_spans_the_ripple() -> None:
    row = ONE_PIECE | COLUMN
    given, best = drawn(row)["speed-ratio"].series
    found = values(CHECK, row)
    assert 100.0 * (max(given.y) - min(given.y)) == pytest.approx(found["speed_ripple"], rel=5e-3)
    assert max(best.y) - min(best.y) < max(given.y) - min(given.y)


def test_angles_are_nothing_at_design() -> None:
    upper, lower, outer, inner = drawn(SPLIT)["angles-over-travel"].series
    for series in (upper, lower, outer):
        assert series.x[20] == 0.0
        assert series.y[20] == pytest.approx(0.0, abs=1e-9)
    assert inner.y[20] > 1.0
