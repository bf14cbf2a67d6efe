"""The shared part against an exhaustive search with scipy, and parts that are known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import permutations, product
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment
from scipy.spatial.transform import Rotation

from tracker.contract.check import Outputs
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.shared_part import CHECK
from whybone_chassis.shared_part_pairing import paired

Feature = tuple[Any, ...]
Vector = Sequence[float] | np.ndarray
NONE = (0.0, 0.0, 0.0)


def feature(
    name: str, kind: str, point: Vector, axis: Vector = NONE, *, directed: bool = False
) -> Feature:
    return (name, kind, *map(float, point), *map(float, axis), directed)


def answer(features: Sequence[Feature], tolerance: float = 0.1, **row: object) -> Outputs:
    filled = {"tolerance": tolerance, **row}
    subject = Subject(check=CHECK, rows=[filled], tables={"features": features})
    return CHECK.compute(subject.batch([filled]), {})


def run(features: Sequence[Feature], tolerance: float = 0.1, **row: object) -> dict[str, Any]:
    outputs = answer(features, tolerance, **row)
    assert not outputs.problems
    return {port: values[0] for port, values in outputs.values.items()}


def moved(features: Sequence[Feature], rotation: Rotation, shift: Vector) -> list[Feature]:
    return [
        (*each[:2], *(rotation.apply(each[2:5]) + shift), *rotation.apply(each[5:8]), each[8])
        for each in features
    ]


def reflected(features: Sequence[Feature], normal: np.ndarray) -> list[Feature]:
    """Mirror features in a plane through the origin."""
    across = normal / np.linalg.norm(normal)

    def flip(vector: Vector) -> np.ndarray:
        each = np.array(vector)
        return np.asarray(each - 2 * (each @ across) * across)

    return [(f"{e[0]}'", e[1], *flip(e[2:5]), *flip(e[5:8]), e[8]) for e in features]


def anywhere(generator: np.random.Generator, count: int) -> list[Feature]:
    return [
        feature(
            f"f{number}",
            str(generator.choice(["bush", "ball"])),
            generator.uniform(-200, 200, 3),
            generator.normal(size=3) if generator.random() < 0.8 else NONE,
            directed=bool(generator.random() < 0.3),
        )
        for number in range(count)
    ]


# --- known parts --------------------------------------------------------------------------------

LINK = [
    feature("inner bush", "bush", (20, 380, 222), (1, 0, 0)),
    feature("outer ball", "ball", (10, 679, 207), (0, 0, 1)),
]
# Wishbone symmetric about a plane across its pivot line.
ARM = [
    feature("front bush", "bush", (130, 430, 480), (1, 0, 0)),
    feature("rear bush", "bush", (-130, 430, 480), (1, 0, 0)),
    feature("ball", "ball", (0, 672, 495), (0, -0.2, 1), directed=True),
]
LOPSIDED = [ARM[0], ARM[1], feature("ball", "ball", (-40, 672, 495), (0, -0.2, 1), directed=True)]


def test_straight_link_serves_both_sides_and_is_flat() -> None:
    flat = [
        (*LINK[0][:2], 20, 380, 207, 1, 0, 0, False),
        (*LINK[1][:2], 20, 679, 207, 0, 0, 1, True),
    ]
    found = run(flat)
    assert found["is_shared"]
    assert found["is_flat"]
    assert found["residual"] == pytest.approx(0.0, abs=1e-9)


def test_symmetric_arm_turns_over_about_its_own_axis() -> None:
    found = run(ARM)
    assert found["is_shared"]
    assert not found["is_flat"]  # the taper of the ball tells up from down
    # Front and rear bush change places: a half turn about the upright axis in the vehicle's middle.
    assert found["angle"] == pytest.approx(180.0)
    assert found["axis"] == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)
    assert found["axis_point"] == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    assert found["slide"] == pytest.approx(0.0, abs=1e-9)


def test_lopsided_arm_with_a_taper_needs_two_tools() -> None:
    found = run(LOPSIDED)
    assert not found["is_shared"]
    assert found["largest_gap"] > 10.0 or found["largest_tilt"] > 5.0


def test_lopsided_flat_arm_without_a_taper_turns_over() -> None:
    level = [
        feature("front bush", "bush", (130, 430, 480), (1, 0, 0)),
        feature("rear bush", "bush", (-190, 430, 480), (1, 0, 0)),
        feature("ball", "ball", (-40, 672, 480), (0, 0, 1)),
    ]
    found = run(level)
    assert found["is_flat"]
    assert found["is_shared"]
    assert found["angle"] == pytest.approx(180.0)
    assert found["axis"] == pytest.approx((1.0, 0.0, 0.0), abs=1e-9)
    assert found["axis_point"] == pytest.approx((0.0, 0.0, 480.0), abs=1e-9)
    tapered = [*level[:2], (*level[2][:8], True)]
    assert not run(tapered)["is_flat"]
    assert not run(tapered)["is_shared"]


def test_unlike_bushes_do_not_exchange() -> None:
    unlike = [ARM[0], (ARM[1][0], "stiff bush", *ARM[1][2:]), ARM[2]]
    assert not run(unlike)["is_shared"]


def test_every_set_in_a_plane_is_flat_and_shared() -> None:
    """A plane reflects onto itself; undirected axes in it or upright on it do too."""
    generator = np.random.default_rng(2)
    for count in (3, 4, 5, 7):
        level = []
        for number in range(count):
            x, y, turn = generator.uniform(-200, 200, 3)
            upright = bool(generator.random() < 0.5)
            axis = (0, 0, 1) if upright else (math.cos(turn), math.sin(turn), 0)
            directed = not upright and number % 2 == 0
            level.append(feature(f"f{number}", "bore", (x, y, 0), axis, directed=directed))
        tilted = moved(level, Rotation.random(rng=generator), generator.uniform(-500, 500, 3))
        found = run(tilted)
        assert found["is_flat"]
        assert found["is_shared"]
        assert found["residual"] < 1e-6


def test_directed_axis_out_of_the_plane_is_not_flat() -> None:
    level = [feature(f"f{n}", "bore", point) for n, point in enumerate(np.eye(3) * 100)]
    assert run(level)["is_flat"]
    normal = (1, 1, 1)
    pin = feature("pin", "pin", (100 / 3,) * 3, normal, directed=True)
    assert not run([*level, pin])["is_flat"]
    assert run([*level, (*pin[:8], False)])["is_flat"]
    lean = feature("pin", "pin", (100 / 3,) * 3, (1, 0, 0))
    assert not run([*level, lean])["is_flat"]


# --- parts with a hidden symmetry ---------------------------------------------------------------


@pytest.mark.parametrize("half", [1, 2, 3, 4, 6])
@pytest.mark.parametrize("seed", range(4))
def test_mirror_symmetric_part_anywhere_is_shared(seed: int, half: int) -> None:
    """A part with a plane of symmetry equals its mirror image, wherever that plane lies."""
    generator = np.random.default_rng(100 * half + seed)
    one = anywhere(generator, half)
    part = [*one, *reflected(one, generator.normal(size=3))]
    part = moved(part, Rotation.random(rng=generator), generator.uniform(-500, 500, 3))
    order = generator.permutation(len(part))
    found = run([part[each] for each in order])
    assert found["is_shared"]
    assert found["largest_gap"] < 1e-6
    assert found["largest_tilt"] < 1e-5


def test_turn_lays_every_feature_onto_its_partner() -> None:
    generator = np.random.default_rng(11)
    one = anywhere(generator, 4)
    part = [*one, *reflected(one, generator.normal(size=3))]
    found = run(part)
    turn = Rotation.from_rotvec(found["axis"] * math.radians(found["angle"]))
    point, slide = found["axis_point"], found["slide"] * found["axis"]
    for each in part:
        place = turn.apply(np.array(each[2:5]) - point) + point + slide
        rights = [np.array(other[2:5]) * (1, -1, 1) for other in part if other[1] == each[1]]
        assert min(float(np.linalg.norm(place - right)) for right in rights) < 1e-6


# --- parts that are not shared ------------------------------------------------------------------


def best_fit(features: Sequence[Feature]) -> float:
    """Least misfit over every pairing and every way of the axes, by scipy's rotation fit."""
    points = np.array([each[2:5] for each in features])
    axes = np.array([each[5:8] for each in features])
    lengths = np.linalg.norm(axes, axis=1, keepdims=True)
    axes = np.divide(axes, lengths, out=np.zeros_like(axes), where=lengths > 0)
    away = points - points.mean(axis=0)
    size = math.sqrt((away**2).sum() / len(points))
    kinds = [
        (each[1], lengths[n, 0] > 0, each[8] and lengths[n, 0] > 0)
        for n, each in enumerate(features)
    ]
    flip = np.array([1.0, -1.0, 1.0])
    least = math.inf
    for order in permutations(range(len(features))):
        if any(kinds[a] != kinds[b] for a, b in enumerate(order)):
            continue
        goal = (points * flip)[list(order)]
        loose = [kind[1] and not kind[2] for kind in kinds]
        for signs in product(*((1, -1) if each else (1,) for each in loose)):
            ends = np.array(signs)[:, None] * (axes * flip)[list(order)]
            source = np.vstack([away, size * axes])
            target = np.vstack([goal - goal.mean(axis=0), size * ends])
            least = min(least, float(Rotation.align_vectors(target, source)[1]))
    return least


@pytest.mark.filterwarnings("ignore:Optimal rotation is not uniquely:UserWarning")
@pytest.mark.parametrize("seed", range(12))
def test_fit_of_a_part_that_is_not_shared_is_the_best_there_is(seed: int) -> None:
    generator = np.random.default_rng(seed)
    features = anywhere(generator, int(generator.integers(3, 6)))
    found = run(features)
    # Distances and axis angles together make up the misfit: chord of the tilt times the size.
    pairs = {series.title: series.labels for series in drawn(features)["pairs"].series}
    gaps = np.array([float(each) for each in pairs["distance, mm"]])
    tilts = np.radians([float(each) for each in pairs["axis angle, deg"]])
    points = np.array([each[2:5] for each in features])
    size = math.sqrt(((points - points.mean(axis=0)) ** 2).sum() / len(points))
    misfit = math.sqrt((gaps**2).sum() + size**2 * (4 * np.sin(tilts / 2) ** 2).sum())
    assert misfit == pytest.approx(best_fit(features), rel=1e-4, abs=0.01)
    assert found["residual"] == pytest.approx(math.sqrt((gaps**2).mean()), abs=1e-3)


def misfit_of(features: Sequence[Feature], motion: Rotation, order: np.ndarray) -> float:
    """Misfit of a rotation about the middles of features paired in an order."""
    points = np.array([each[2:5] for each in features])
    axes = np.array([each[5:8] for each in features])
    axes = axes / np.linalg.norm(axes, axis=1, keepdims=True)
    away = points - points.mean(axis=0)
    size = math.sqrt((away**2).sum() / len(points))
    flip = np.array([1.0, -1.0, 1.0])
    gaps = motion.apply(away) - (away * flip)[order]
    along = np.abs((motion.apply(axes) * (axes * flip)[order]).sum(axis=1))
    return math.sqrt((gaps**2).sum() + size**2 * (2 - 2 * along).sum())


def climbed(features: Sequence[Feature], motion: Rotation) -> float:
    """Pair and fit in turn with scipy from a start, until it gets no better."""
    points = np.array([each[2:5] for each in features])
    axes = np.array([each[5:8] for each in features])
    axes = axes / np.linalg.norm(axes, axis=1, keepdims=True)
    away = points - points.mean(axis=0)
    size = math.sqrt((away**2).sum() / len(points))
    goals, ends = away * (1, -1, 1), axes * (1, -1, 1)
    before = math.inf
    while True:
        turned, lines = motion.apply(away), motion.apply(axes)
        away_from = ((turned[:, None] - goals) ** 2).sum(axis=2)
        along = lines @ ends.T
        order = linear_sum_assignment(away_from + size**2 * (2 - 2 * np.abs(along)))[1]
        signs = np.sign(along[np.arange(len(order)), order])[:, None]
        found = misfit_of(features, motion, order)
        if found >= before * (1 - 1e-9):
            return before
        before = found
        target = np.vstack([goals[order], size * signs * ends[order]])
        motion = Rotation.align_vectors(target, np.vstack([away, size * axes]))[0]


@pytest.mark.parametrize("seed", range(4))
def test_many_features_fit_about_as_well_as_from_a_hundred_random_starts(seed: int) -> None:
    """No proof of the best there is, as the cautions say: a tenth is allowed."""
    generator = np.random.default_rng(seed)
    features = [
        feature(f"f{n}", "bore", generator.uniform(-100, 100, 3), generator.normal(size=3))
        for n in range(int(generator.integers(7, 13)))
    ]
    found = run(features)
    turn = Rotation.from_rotvec(found["axis"] * math.radians(found["angle"]))
    pairs = {series.title: series.labels for series in drawn(features)["pairs"].series}
    order = np.array([int(name[1:]) for name in pairs["goes onto right"]])
    starts = Rotation.random(100, rng=generator)
    best = min(climbed(features, start) for start in starts)
    assert misfit_of(features, turn, order) <= 1.1 * best


@pytest.mark.parametrize("seed", range(5))
def test_pairing_is_that_of_scipy(seed: int) -> None:
    generator = np.random.default_rng(seed)
    for _ in range(100):
        size = int(generator.integers(1, 11))
        costs = generator.uniform(0, 1, (size, size))
        if generator.random() < 0.4:  # ties
            costs = np.round(costs * 4)
        rows, columns = linear_sum_assignment(costs)
        found = paired(costs)
        assert sorted(found.tolist()) == list(range(size))
        assert costs[np.arange(size), found].sum() == pytest.approx(costs[rows, columns].sum())


# --- tolerances, degenerate parts ---------------------------------------------------------------


def test_tolerances_decide() -> None:
    off = [*ARM[:2], feature("ball", "ball", (0.6, 672, 495), (0, -0.2, 1), directed=True)]
    found = run(off, 10.0)
    gap = float(found["largest_gap"])
    assert 0.0 < gap < 1.2
    assert run(off, gap * 1.001)["is_shared"]
    assert not run(off, gap * 0.999)["is_shared"]
    lean = [*ARM[:2], feature("ball", "ball", (0, 672, 495), (0.02, -0.2, 1), directed=True)]
    tilt = float(run(lean)["largest_tilt"])
    assert run(lean, 10.0, axis_tolerance=tilt * 1.001)["is_shared"]
    assert not run(lean, 10.0, axis_tolerance=tilt * 0.999)["is_shared"]


def test_feature_with_an_axis_does_not_go_where_there_is_none() -> None:
    """A bush in line with nothing on the other side is no fit, however near it comes."""
    part = [
        feature("a", "bore", (100, 0, 0), (0, 0, 1)),
        feature("b", "bore", (-100, 0, 0)),
        feature("c", "pin", (0, 60, 0), (0, 0, 1), directed=True),
        feature("d", "stud", (0, 60, 40)),
    ]
    assert not run(part)["is_shared"]
    assert run([part[0], (*part[1][:5], 0.0, 0.0, 1.0, False), *part[2:]])["is_shared"]


def test_part_that_needs_no_turning_is_only_shifted() -> None:
    across = [
        feature("a", "bore", (0, 100, 0), (0, 1, 0)),
        feature("b", "bore", (50, 100, 0), (0, 1, 0)),
        feature("c", "stud", (20, 100, 60), (0, 1, 0)),
    ]
    outputs = answer(across)
    told = {absence.port: absence.reason for absence in outputs.absences}
    assert told == dict.fromkeys(("axis", "axis_point"), "the part is only shifted, nothing turns")
    assert outputs.values["angle"][0] == 0.0
    assert outputs.values["slide"][0] == pytest.approx(200.0)


def test_features_on_a_line_leave_the_turn_open() -> None:
    line = [feature(f"f{n}", "bore", (0, 100 * n, 0), (0, 1, 0)) for n in range(3)]
    outputs = answer(line)
    assert {absence.port for absence in outputs.absences} == {
        "angle",
        "axis",
        "axis_point",
        "slide",
    }
    assert outputs.values["is_shared"][0]


@pytest.mark.parametrize("axis", [NONE, (0, 0, 1), (1, 2, 3)])
def test_lone_feature_always_fits(axis: Vector) -> None:
    found = run([feature("ball", "ball", (10, 20, 30), axis)])
    assert found["is_shared"]
    assert found["residual"] == 0.0


def test_features_in_one_place_differ_by_their_axes() -> None:
    place = (100.0, 200.0, 300.0)
    axes = [(1, 0, 0), (0, 1, 0), (0, 0, 1)]
    cross = [feature(f"f{n}", f"k{n}", place, axis, directed=True) for n, axis in enumerate(axes)]
    assert not run(cross)["is_shared"]  # three directed axes have a hand
    assert run(cross[:2])["is_shared"]


@pytest.mark.parametrize(
    ("features", "words"),
    [
        ([], "features must hold 1 to 12 rows"),
        ([feature(f"f{n}", "bore", (n, 0, 0)) for n in range(13)], "features must hold 1 to 12"),
        ([feature("f", "bore", (math.nan, 0, 0))], "a cell is not a finite number"),
        ([feature("f", "bore", (1e200, 0, 0))], "beyond 1e+09"),
    ],
)
def test_wrong_table_is_named(features: list[Feature], words: str) -> None:
    assert any(words in problem.reason for problem in answer(features).problems)


def drawn(features: Sequence[Feature]) -> dict[str, Figure]:
    row = {"tolerance": 0.1}
    subject = Subject(check=CHECK, rows=[row], tables={"features": features})
    return {each.key: each for each in CHECK.figures(subject.batch([row]), {})}


def test_sketch_lays_the_turned_part_on_the_right_one() -> None:
    figures = drawn(ARM)
    right, turned = figures["from-above"].series
    assert right.x == (430.0, 430.0, 672.0)
    assert sorted(turned.x) == pytest.approx(sorted(right.x))
    pairs = {series.title: series.labels for series in figures["pairs"].series}
    assert pairs["goes onto right"] == ("rear bush", "front bush", "ball")


def test_nothing_is_drawn_of_a_table_that_cannot_be_read() -> None:
    assert drawn([]) == {}
    assert drawn([feature("f", "bore", (math.nan, 0, 0))]) == {}


def draw(generator: np.random.Generator) -> Row:
    return {
        "tolerance": float(generator.uniform(0.0, 2.0)),
        "axis_tolerance": float(generator.uniform(0.0, 2.0)),
    }


CASES = {
    "arm": ARM,
    "lopsided": LOPSIDED,
    "link": LINK,
    "ball": LINK[1:],
    "odd": anywhere(np.random.default_rng(4), 6),
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("promise", [each for each in PROMISES if each != "row-by-row"])
def test_contract(promise: str, case: str) -> None:
    PROMISES[promise](_subject(case))


def test_rows_do_not_depend_on_each_other() -> None:
    """Rows differ in their tolerances only; a small part keeps a thousand searches short."""
    PROMISES["row-by-row"](_subject("ball"))


def _subject(case: str) -> Subject:
    return Subject(
        check=CHECK,
        rows=draw,
        tables={"features": CASES[case]},
        degenerate=[{"tolerance": -1.0}, {"axis_tolerance": -1.0}, {"features": []}],
        scalings=[{"mm": 2.0, "deg": 1.0}],
    )
