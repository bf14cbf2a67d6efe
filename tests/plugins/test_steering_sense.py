"""The steering sense against a gear and a linkage turned numerically, as rigid bodies."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from tracker.contract.figure import FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.steering_sense import CHECK

Vector = tuple[float, float, float]

AFT = {"tie_rod_inner": (-165.0, 387.0, 258.0), "tie_rod_outer": (-140.0, 692.0, 250.0)}
FORE = {"tie_rod_inner": (165.0, 387.0, 258.0), "tie_rod_outer": (140.0, 715.0, 250.0)}
AXIS = {"axis_lower": (8.0, 728.0, 205.0), "axis_upper": (-14.0, 672.0, 495.0)}
PLACES = {"fore": FORE, "aft": AFT}

# Gears of a left-hand-drive vehicle, in its axes: the shaft runs forward, outboard and down. The
# ahead gear has its rack above the pinion, the aft gear below. Invented.
SHAFT = (0.9, 0.15, -0.33)
RACK = {"fore": (0.1, 0.0, 1.0), "aft": (0.1, 0.0, -1.0)}
TURNS = {
    "as-built": (0.0, 0.0, 0.0),
    "turned-over": (180.0, 0.0, 0.0),
    "tipped-over": (0.0, 180.0, 0.0),
    "end-for-end": (0.0, 0.0, 180.0),
}


def mirrored(vector: Vector) -> Vector:
    return (vector[0], -vector[1], vector[2])


def gear(made_for: str, side: str) -> Row:
    shaft, rack = SHAFT, RACK[made_for]
    if side == "right":
        shaft, rack = mirrored(shaft), mirrored(rack)
    return {"input_shaft_direction": shaft, "rack_from_pinion": rack, "gear_pinion_side": side}


def case(made_for: str, side: str, place: str, mounting: str = "as-built", **more: object) -> Row:
    return {
        **gear(made_for, side),
        **PLACES[place],
        **AXIS,
        "mounting": mounting,
        "driver_side": "left",
        **more,
    }


def run(*rows: Row) -> dict[str, np.ndarray]:
    subject = Subject(check=CHECK, rows=rows)
    outputs = CHECK.compute(subject.batch(rows), {})
    assert not outputs.problems
    return dict(outputs.values)


def rack_step(row: Row, turn: Rotation) -> float:
    """Lateral movement of the rack when the column end is turned left by a small angle."""
    shaft = turn.apply(np.array(row["input_shaft_direction"]))
    shaft /= np.linalg.norm(shaft)
    teeth = 8.0 * turn.apply(np.array(row["rack_from_pinion"]))
    # The driver looks along the shaft; counter-clockwise for him is a rotation about the axis that
    # points back at him.
    pinion = Rotation.from_rotvec(-shaft * 1e-4)
    return float((pinion.apply(teeth) - teeth)[1])


def wheel_step(row: Row, rack: float) -> float:
    """Yaw of the wheel for a rack movement, by closing the tie rod's length."""
    lower, upper = np.array(row["axis_lower"]), np.array(row["axis_upper"])
    inner, outer = np.array(row["tie_rod_inner"]), np.array(row["tie_rod_outer"])
    axis = (upper - lower) / np.linalg.norm(upper - lower)
    length = np.linalg.norm(outer - inner)
    moved = inner + np.array([0.0, rack, 0.0])

    def gap(angle: float) -> float:
        turned = lower + Rotation.from_rotvec(axis * angle).apply(outer - lower)
        return float(np.linalg.norm(turned - moved) - length)

    angle = float(brentq(gap, -0.1, 0.1, xtol=1e-14))
    heading = Rotation.from_rotvec(axis * angle).apply([1.0, 0.0, 0.0])
    return math.degrees(math.atan2(heading[1], heading[0]))


@pytest.mark.parametrize(
    ("made_for", "side", "place", "mounting"),
    list(product(("fore", "aft"), ("left", "right"), ("fore", "aft"), TURNS)),
)
def test_sense_is_that_of_the_bodies_turned_numerically(
    made_for: str, side: str, place: str, mounting: str
) -> None:
    row = case(made_for, side, place, mounting)
    turn = Rotation.from_rotvec(TURNS[mounting], degrees=True)
    rack = rack_step(row, turn)
    steer = wheel_step(row, math.copysign(1.0, rack))
    found = run(row)
    assert found["rack_direction"][0] == math.copysign(1, rack)
    assert found["sense"][0] == math.copysign(1, steer)
    shaft = turn.apply(row["input_shaft_direction"])
    assert found["shaft_faces_rear"][0] == (shaft[0] > 0)
    rise = -shaft[2] / np.linalg.norm(shaft)
    assert found["shaft_elevation"][0] == pytest.approx(math.degrees(math.asin(rise)), abs=1e-9)
    pinion = turn.apply([0.0, 1.0 if side == "left" else -1.0, 0.0])
    assert found["pinion_side"][0] == (0 if pinion[1] > 0 else 1)
    assert found["pinion_on_driver_side"][0] == (pinion[1] > 0)


@pytest.mark.parametrize("place", ["fore", "aft"])
def test_gain_is_the_derivative_of_the_closed_tie_rod(place: str) -> None:
    row = case("fore", "left", place)
    step = 1e-3
    derivative = (wheel_step(row, step) - wheel_step(row, -step)) / (2 * step)
    # The formula takes the wheel's yaw as the axis' rotation times k_z: exact for small angles.
    assert run(row)["wheel_gain"][0] == pytest.approx(derivative, rel=1e-6)


def test_upright_axis_and_square_rod_give_the_reciprocal_arm() -> None:
    row = case(
        "fore",
        "left",
        "fore",
        tie_rod_inner=(150.0, 300.0, 250.0),
        tie_rod_outer=(150.0, 700.0, 250.0),
        axis_lower=(0.0, 720.0, 200.0),
        axis_upper=(0.0, 720.0, 500.0),
    )
    # One radian per 150 mm; a rack ahead of the axis that moves left turns the wheel left.
    assert run(row)["wheel_gain"][0] == pytest.approx(math.degrees(1 / 150.0), rel=1e-14)


def test_gear_from_behind_put_ahead_unchanged_steers_the_wrong_way() -> None:
    """Common practice, no source."""
    assert run(case("aft", "left", "aft"))["sense"][0] == 1
    assert run(case("aft", "left", "fore"))["sense"][0] == -1


def test_opposite_hand_gear_turned_over_put_ahead_steers_the_right_way() -> None:
    """Common practice, no source."""
    found = run(case("aft", "right", "fore", "turned-over"))
    assert found["sense"][0] == 1
    assert found["pinion_on_driver_side"][0]
    assert found["shaft_faces_rear"][0]
    assert found["shaft_elevation"][0] < 0  # the column end now lies below the pinion


def test_swinging_a_gear_end_for_end_turns_its_shaft_away_from_the_driver() -> None:
    found = run(case("fore", "left", "aft", "end-for-end"))
    assert found["sense"][0] == -run(case("fore", "left", "aft"))["sense"][0]
    assert not found["shaft_faces_rear"][0]


@pytest.mark.parametrize("mounting", TURNS)
def test_mounting_rotation_replaces_the_named_mounting(mounting: str) -> None:
    named = run(case("aft", "right", "fore", mounting))
    turned = run(case("aft", "right", "fore", "as-built", mounting_rotation=TURNS[mounting]))
    for port, values in named.items():
        assert turned[port] == pytest.approx(values, abs=1e-9)


def test_any_mounting_rotation_turns_like_a_rotation_vector() -> None:
    generator = np.random.default_rng(7)
    for rotation in generator.uniform(-200.0, 200.0, (50, 3)):
        row = case("fore", "left", "fore", mounting_rotation=tuple(rotation))
        values = CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {}).values
        shaft = Rotation.from_rotvec(rotation, degrees=True).apply(SHAFT)
        elevation = math.degrees(math.asin(-shaft[2] / np.linalg.norm(shaft)))
        assert values["shaft_elevation"][0] == pytest.approx(elevation, abs=1e-9)


def test_no_rotation_turns_a_gear_into_its_mirror_image() -> None:
    """The hand of shaft, rack and pinion offset is a determinant; rotations keep its sign."""
    left, right = gear("fore", "left"), gear("fore", "right")
    hands = [
        np.linalg.det([each["input_shaft_direction"], each["rack_from_pinion"], (0.0, side, 0.0)])
        for each, side in ((left, 1.0), (right, -1.0))
    ]
    assert hands[0] * hands[1] < 0
    assert any("mirror image" in caution for caution in CHECK.manifest({}).cautions)


def test_rack_across_the_vehicle_is_needed_for_a_sense() -> None:
    row = case("fore", "left", "fore", mounting_rotation=(0.0, 0.0, 90.0))
    outputs = CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})
    assert outputs.values["sense"][0] == 0
    assert outputs.values["rack_direction"][0] == 0
    (problem,) = outputs.problems
    assert set(problem.ports) == {"pinion_side", "pinion_on_driver_side"}


def test_tie_rod_pointing_at_the_axis_gives_no_sense() -> None:
    row = case(
        "fore",
        "left",
        "fore",
        tie_rod_inner=(0.0, 300.0, 250.0),
        tie_rod_outer=(0.0, 600.0, 250.0),
        axis_lower=(0.0, 720.0, 200.0),
        axis_upper=(0.0, 720.0, 500.0),
    )
    outputs = CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})
    assert outputs.values["sense"][0] == 0
    assert [problem.ports for problem in outputs.problems] == [("wheel_gain",)]


def test_axis_points_may_come_in_either_order() -> None:
    swapped = {"axis_lower": AXIS["axis_upper"], "axis_upper": AXIS["axis_lower"]}
    found, wanted = (
        run(case("fore", "left", "fore", **more)) for more in (swapped, {"mounting": "as-built"})
    )
    assert found["wheel_gain"] == pytest.approx(wanted["wheel_gain"], rel=1e-12)


def test_plan_view_shows_rod_arm_and_rack_movement() -> None:
    row = case("fore", "left", "fore")
    (figure,) = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    rod, arm, rack = figure.series
    assert figure.kind is FigureKind.SKETCH
    assert (rod.x, rod.y) == ((-387.0, -715.0), (165.0, 140.0))
    assert arm.x[1] == -715.0
    assert rack.x[1] < rack.x[0]  # a left turn moves this rack left, which is left on the page


def test_plan_view_survives_a_level_axis() -> None:
    row = case("fore", "left", "fore", axis_upper=(-14.0, 672.0, 205.0))
    (figure,) = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    assert figure.series[1].y[0] == AXIS["axis_lower"][0]


def draw(generator: np.random.Generator) -> Row:
    def near(point: Vector, by: float) -> Vector:
        x, y, z = (point + generator.uniform(-by, by, 3)).tolist()
        return (x, y, z)

    made_for, place = generator.choice(["fore", "aft"], 2).tolist()
    row = case(
        made_for,
        str(generator.choice(["left", "right"])),
        place,
        str(generator.choice(list(TURNS))),
        driver_side=str(generator.choice(["left", "right"])),
    )
    directions = ("input_shaft_direction", "rack_from_pinion")
    points = (*PLACES[place], *AXIS)
    return {
        **row,
        **{key: near(row[key], 0.1) for key in directions},
        **{key: near(row[key], 10.0) for key in points},
    }


def draw_turned(generator: np.random.Generator) -> Row:
    x, y, z = generator.uniform(-20.0, 20.0, 3).tolist()
    return {**draw(generator), "mounting_rotation": (x, y, z)}


NONE = (0.0, 0.0, 0.0)
DEGENERATE: list[Row] = [
    {"input_shaft_direction": NONE},
    {"rack_from_pinion": NONE},
    {"rack_from_pinion": SHAFT, "input_shaft_direction": SHAFT},
    {"tie_rod_inner": (1.0, 2.0, 3.0), "tie_rod_outer": (1.0, 2.0, 3.0)},
    {"axis_lower": (1.0, 2.0, 3.0), "axis_upper": (1.0, 2.0, 3.0)},
    {"tie_rod_outer": (1e308, 1.0, 1.0), "tie_rod_inner": (-1e308, 1.0, 1.0)},
]


@pytest.mark.parametrize("draw_row", [draw, draw_turned])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: object) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw_row,  # type: ignore[arg-type]  # one of the two functions above
        degenerate=DEGENERATE,
        scalings=[{"mm": 2.0, "deg": 1.0}, {"mm": 0.7, "deg": 1.0}],
    )
    PROMISES[promise](subject)
