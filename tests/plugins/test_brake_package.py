"""The brake's room in the wheel by hand, by search, and as the trade knows it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from tests.plugins.corner_rows import ONE_PIECE_ROW, SPLIT_ROW, answer, values
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.brake_package import CHECK
from whybone_chassis.steering_axis import CHECK as STEERING_AXIS

Profile = list[tuple[float, float]]

BARREL: Profile = [(-150.0, 195.0), (-95.0, 193.0), (-60.0, 186.0), (-20.0, 183.8), (15.0, 180.0)]
CALIPER: Profile = [(-85.0, 150.0), (-70.0, 174.0), (-25.0, 177.0), (-8.0, 160.0)]
CYLINDER: Profile = [(0.0, 183.8)]

DIMENSIONS: dict[str, Any] = {
    "wheel_offset": 42.0,
    "spoke_face": 6.0,
    "disc_diameter": 302.0,
    "disc_offset": -45.0,
    "disc_thickness": 26.0,
    "clearance": 3.0,
    "joint_envelope": 24.0,
    "caliper_disc": 302.0,
}
SHARED = ("wheel_centre", "static_camber", "static_toe", "lower_front_outer", "lower_rear_outer")
SPLIT = {key: SPLIT_ROW[key] for key in SHARED} | DIMENSIONS
ONE_PIECE = {key: ONE_PIECE_ROW[key] for key in SHARED} | DIMENSIONS
ON_AXIS = {"virtual_lower": (8.7, 728.0, 207.0)}


def draw(generator: np.random.Generator) -> dict[str, Any]:
    points = {
        key: tuple((np.array(SPLIT[key]) + generator.uniform(-12.0, 12.0, 3)).tolist())
        for key in ("lower_front_outer", "lower_rear_outer")
    }
    return (
        SPLIT
        | points
        | {
            "static_camber": generator.uniform(-2.0, 1.0),
            "static_toe": generator.uniform(-0.3, 0.3),
            "disc_diameter": generator.uniform(280.0, 310.0),
            "disc_offset": generator.uniform(-55.0, -35.0),
            "wheel_offset": generator.uniform(30.0, 50.0),
            "spoke_face": generator.uniform(0.0, 12.0),
            "clearance": generator.uniform(2.0, 5.0),
            "joint_envelope": generator.uniform(18.0, 28.0),
            "virtual_lower": (8.0, generator.uniform(690.0, 735.0), 207.0),
        }
    )


def draw_one_piece(generator: np.random.Generator) -> dict[str, Any]:
    row = draw(generator)
    alone = {key: each for key, each in row.items() if key not in {"virtual_lower", "caliper_disc"}}
    return alone | {"lower_rear_outer": row["lower_front_outer"]}


DEGENERATE: tuple[Row, ...] = (
    {"disc_diameter": 0.0},
    {"disc_diameter": -302.0},
    {"clearance": -1.0},
    {"clearance": 1e3},
    {"joint_envelope": -1.0},
    {"disc_thickness": -1.0},
    {"wheel_centre": (1e300, 1e300, 1e300)},
    {"barrel": []},
    {"caliper": []},
    {"barrel": [(0.0, float("nan"))]},
    {"barrel": [(0.0, -180.0)]},
    {"caliper": [(float("inf"), 170.0)]},
    {"caliper": [(-400.0, 170.0), (0.0, 170.0)]},
)


@pytest.mark.parametrize("draw_row", [draw, draw_one_piece])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: Any) -> None:  # noqa: ANN401  one of the two functions above
    subject = Subject(
        check=CHECK,
        rows=draw_row,
        tables={"barrel": BARREL, "caliper": CALIPER},
        degenerate=DEGENERATE,
        scalings=[{"mm": 2.0, "deg": 1.0}, {"mm": 0.7, "deg": 1.0}],
    )
    PROMISES[promise](subject)


def measured(
    row: Row, barrel: Profile | None = None, caliper: Profile | None = None
) -> dict[str, Any]:
    return values(CHECK, row, barrel=barrel or BARREL, caliper=caliper or CALIPER)


def test_figures_of_another_screening_solver() -> None:
    """Derived, not published: a second program's results, as it rounded them."""
    caliper = [(-80.0, 151.0 + 26.0), (-10.0, 151.0 + 26.0)]
    found = measured(SPLIT, CYLINDER, caliper)
    assert found["rim_clearance"] == pytest.approx(6.8, abs=1e-12)
    assert found["largest_disc"] == pytest.approx(309.6, abs=1e-12)


def dense(profile: Profile, offset: Any) -> Any:  # noqa: ANN401  a number or an array
    places, radii = zip(*sorted(profile), strict=True)
    return np.interp(offset, places, radii)


def test_clearances_by_search() -> None:
    """Every tenth of a micrometre along the caliper, and every point of the disc."""
    generator = np.random.default_rng(4)
    for row in [draw(generator) for _ in range(6)]:
        found = measured(row)
        span = np.linspace(-85.0, -8.0, 770_001)
        grown = 0.5 * (row["disc_diameter"] - 302.0)
        gap = np.min(dense(BARREL, span) - dense(CALIPER, span)) - grown
        assert found["rim_clearance"] == pytest.approx(gap, abs=1e-4)
        least = np.min(dense(BARREL, span))
        largest = 2.0 * (least - (177.0 - 151.0) - row["clearance"])
        assert found["largest_disc"] == pytest.approx(largest, abs=1e-4)
        assert found["spoke_clearance"] == pytest.approx(row["spoke_face"] + 8.0, abs=1e-12)
        ends = [row["lower_front_outer"], row["lower_rear_outer"]]
        nearest = min(from_disc(row, np.array(end)) for end in ends)
        assert found["joint_clearance"] == pytest.approx(nearest - row["joint_envelope"], abs=1e-2)


def from_disc(row: Row, point: Any) -> float:  # noqa: ANN401  a point
    """Distance from the nearest of many points on the disc's surface."""
    toe, camber = np.radians([row["static_toe"], row["static_camber"]])
    # Toe-in turns a left wheel's front to the right, clockwise from above; then camber.
    turn = Rotation.from_euler("ZX", [-toe, -camber])
    spin = turn.apply([0.0, 1.0, 0.0])
    face = np.array(row["wheel_centre"]) + row["wheel_offset"] * spin
    middle = face + row["disc_offset"] * spin
    arm = point - middle
    across = arm - (arm @ spin) * spin
    way = across / np.linalg.norm(across)
    half, edge = 0.5 * row["disc_thickness"], 0.5 * row["disc_diameter"]
    reach, depth = np.linspace(0.0, edge, 3001), np.linspace(-half, half, 301)
    faces = [middle + side * half * spin + np.outer(reach, way) for side in (-1.0, 1.0)]
    rim = middle + edge * way + np.outer(depth, spin)
    surface = np.concatenate([*faces, rim])
    return float(np.linalg.norm(surface - point, axis=1).min())


def test_largest_disc_is_the_one_that_leaves_the_clearance() -> None:
    """In a cylinder: found by trying diameters until the caliper keeps just the clearance."""

    def left(diameter: float) -> float:
        found = measured(SPLIT | {"disc_diameter": diameter}, CYLINDER)
        return float(found["rim_clearance"]) - 3.0

    tried = brentq(left, 200.0, 400.0, xtol=1e-9)
    assert measured(SPLIT, CYLINDER)["largest_disc"] == pytest.approx(tried, abs=1e-8)


def test_a_larger_disc_takes_its_caliper_out_with_it() -> None:
    small, large = (measured(SPLIT | {"disc_diameter": d}) for d in (302.0, 306.0))
    assert large["rim_clearance"] == pytest.approx(small["rim_clearance"] - 2.0, abs=1e-12)
    assert large["largest_disc"] == pytest.approx(small["largest_disc"], abs=1e-12)
    # The joints stand 138 mm from the wheel's axis: a disc that ends short of them leaves more.
    assert large["joint_clearance"] == small["joint_clearance"]
    assert measured(SPLIT | {"disc_diameter": 240.0})["joint_clearance"] > small["joint_clearance"]


def test_caliper_without_its_own_disc_is_drawn_on_the_disc_given() -> None:
    row = {key: each for key, each in SPLIT.items() if key != "caliper_disc"}
    assert measured(row) == measured(SPLIT)


def test_disc_gains_diameter_only_through_the_barrels_profile() -> None:
    """Common practice, no source: room beside the joint is not room under the rim."""
    row = SPLIT | ON_AXIS
    straight, stepped = measured(row, CYLINDER), measured(row)
    assert straight["disc_room_gained"] == stepped["disc_room_gained"] > 30.0
    assert "disc_diameter_gained" not in straight  # the caliper would meet the spokes
    far = row | {"spoke_face": 60.0}
    assert measured(far, CYLINDER)["disc_diameter_gained"] == 0.0
    longer = [*BARREL, (60.0, 172.0)]
    gained = measured(far, longer)["disc_diameter_gained"]
    # This barrel narrows all the way out: its least radius over a span is at the outer end.
    ends = [float(dense(longer, -8.0 + by)) for by in (0.0, stepped["disc_room_gained"])]
    assert gained == pytest.approx(2.0 * (ends[0] - ends[1]), abs=1e-9)
    assert gained > 5.0


def test_joint_farther_inboard_lets_the_disc_move_there() -> None:
    """Common practice, no source: what a split lower arm is for."""
    found = measured(SPLIT | ON_AXIS)
    single = SPLIT | dict.fromkeys(SHARED[3:], ON_AXIS["virtual_lower"])
    shifted = single | {"disc_offset": SPLIT["disc_offset"] + found["disc_room_gained"]}
    # Both joints of the split arm and the one on the axis stand within the disc's edge.
    assert measured(shifted)["joint_clearance"] == pytest.approx(found["joint_clearance"], abs=1e-9)
    assert measured(single)["joint_clearance"] < found["joint_clearance"]


def test_joint_on_the_axis_gains_nothing() -> None:
    row = ONE_PIECE | {"virtual_lower": ONE_PIECE["lower_front_outer"]}
    outputs = answer(CHECK, row, barrel=BARREL, caliper=CALIPER)
    assert outputs.values["disc_room_gained"][0] == 0.0
    assert outputs.values["disc_diameter_gained"][0] == 0.0
    assert [each.port for each in outputs.absences] == ["joint_gap"]


def test_chain_from_the_steering_axis() -> None:
    """Its virtual lower joint is what the split arm's joints are held against."""
    found = values(STEERING_AXIS, SPLIT_ROW)["virtual_lower"]
    row = SPLIT | {"virtual_lower": tuple(found.tolist())}
    assert measured(row)["disc_room_gained"] > 35.0


def test_joint_gap_is_between_the_envelopes() -> None:
    apart = np.linalg.norm(np.subtract(SPLIT["lower_front_outer"], SPLIT["lower_rear_outer"]))
    assert measured(SPLIT)["joint_gap"] == pytest.approx(apart - 48.0, rel=1e-12)


def test_rules_miss_when_parts_touch() -> None:
    bounds = {rule.output: rule.lower for rule in CHECK.manifest({}).rules}
    assert bounds == {"rim_clearance": 0.0, "spoke_clearance": 0.0, "joint_clearance": 0.0}
    assert measured(SPLIT | {"disc_diameter": 330.0})["rim_clearance"] < 0.0
    assert measured(SPLIT | {"disc_offset": -120.0})["joint_clearance"] < 0.0
    assert measured(SPLIT | {"spoke_face": -10.0})["spoke_clearance"] < 0.0


def test_rows_of_a_table_may_come_in_any_order() -> None:
    assert measured(SPLIT, BARREL[::-1], [CALIPER[at] for at in (2, 0, 3, 1)]) == measured(SPLIT)


@pytest.mark.parametrize(
    ("barrel", "reason"),
    [
        ([], "barrel: it has no rows"),
        ([(0.0, 0.0)], "barrel: a radius is not positive"),
        ([(-50.0, 190.0), (0.0, 185.0)], "the caliper reaches beyond the rows of barrel"),
    ],
)
def test_barrel_that_cannot_be_used_leaves_the_joints(barrel: Profile, reason: str) -> None:
    outputs = answer(CHECK, SPLIT, barrel=barrel, caliper=CALIPER)
    (problem,) = outputs.problems
    assert problem.reason == reason
    assert "joint_clearance" not in problem.ports
    assert np.isfinite(outputs.values["joint_clearance"][0])


def drawn(row: Row, barrel: Profile) -> dict[str, Figure]:
    subject = Subject(check=CHECK, rows=[row], tables={"barrel": barrel, "caliper": CALIPER})
    return {figure.key: figure for figure in CHECK.figures(subject.batch([row]), {})}


def test_section_shows_caliper_disc_and_joints() -> None:
    figures = drawn(SPLIT | ON_AXIS | {"disc_diameter": 306.0}, BARREL)
    lines = {series.title: series for series in figures["section"].series}
    assert max(lines["Caliper"].y) == pytest.approx(179.0)
    assert lines["Disc"].y == (0.0, 153.0)
    assert {"Lower joint, front", "Lower joint, rear", "Lower joint, on the steering axis"} <= set(
        lines
    )


def test_curve_follows_the_barrel() -> None:
    (curve,) = drawn(SPLIT, BARREL)["largest-disc"].series
    found = measured(SPLIT)["largest_disc"]
    assert np.interp(-45.0, curve.x, curve.y) == pytest.approx(found, abs=1e-9)
    assert min(curve.x) >= -45.0 - 40.0
    (flat,) = drawn(SPLIT, CYLINDER)["largest-disc"].series
    assert set(flat.y) == {flat.y[0]}


def test_no_figures_of_an_empty_barrel() -> None:
    assert drawn(SPLIT, []) == {}
