"""Toe over travel against a general solver, its limiting cases and facts of the trade."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_reference import Wheel
from tests.plugins.corner_rows import (
    DEGENERATE_CORNERS,
    FORE_ROW,
    ONE_PIECE_ROW,
    SPLIT_FORE_ROW,
    SPLIT_ROW,
    answer,
    draw_corner,
    parallel_row,
    values,
    without,
)
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.ratio_band import CHECK as RATIO_BAND
from whybone_chassis.roll_steer import CHECK

SWEEP: dict[str, Any] = {"wheel_track": 1560.0, "travel": 80.0}
ONE_PIECE, SPLIT = (without(row, "spring") | SWEEP for row in (ONE_PIECE_ROW, SPLIT_ROW))


def draw(generator: np.random.Generator) -> dict[str, Any]:
    return without(draw_corner(generator), "spring") | {
        "axle": str(generator.choice(["front", "rear"])),
        "wheel_track": generator.uniform(1400.0, 1700.0),
        "travel": generator.uniform(20.0, 70.0),
        "trim": generator.uniform(-20.0, 20.0),
    }


DEGENERATE: tuple[Row, ...] = (
    *DEGENERATE_CORNERS,
    {"travel": 0.0},
    {"travel": -80.0},
    {"travel": 700.0},
    {"travel": 1e300},
    {"trim": 1e300},
    {"trim": -800.0},
    {"wheel_track": 0.0},
)


@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw,
        degenerate=DEGENERATE,
        scalings=[{"mm": 2.0, "deg": 1.0}, {"mm": 0.7, "deg": 1.0}],
    )
    PROMISES[promise](subject)


def test_agrees_with_a_general_solver() -> None:
    generator = np.random.default_rng(5)
    rows = [draw(generator) for _ in range(16)]
    found = answer(CHECK, *rows)
    assert not found.problems
    worst: dict[str, float] = {}
    for number, row in enumerate(rows):
        for key, wanted in by_hand(row).items():
            off = abs(found.values[key][number] - wanted)
            worst[key] = max(worst.get(key, 0.0), off)
    print({key: f"{off:.1e}" for key, off in worst.items()})
    assert set(worst) == {port.key for port in CHECK.manifest({}).outputs}
    assert max(worst.values()) < 1e-9


def by_hand(row: Row) -> dict[str, float]:
    trim, travel = row["trim"], row["travel"]
    still = Wheel.at(row, trim)
    gradient = float(still.slope(lambda wheel: wheel.toe, still.per_travel()))
    heights = np.linspace(-travel, travel, 9)
    toes = [Wheel.at(row, trim + height).toe for height in heights]
    # The outer wheel rises by half the track times the roll angle: 1 deg is π/180.
    steer = gradient * (row["wheel_track"] / 2.0) * np.pi / 180.0
    return {
        "toe_gradient": gradient,
        "roll_steer": -steer if row["axle"] == "front" else steer,
        "toe_at_trim": still.toe,
        "toe_at_bump": toes[-1],
        "toe_at_droop": toes[0],
        "toe_nonlinearity": float(np.abs(toes - (still.toe + gradient * heights)).max()),
    }


def test_roll_steer_is_the_steer_of_a_rolled_axle() -> None:
    """Both wheels posed on a rolled body: the mean steer per roll, at a small roll."""
    roll = np.radians(0.02)
    lift = roll * 1560.0 / 2.0
    risen, fallen = Wheel.at(ONE_PIECE, lift), Wheel.at(ONE_PIECE, -lift)
    # Left turn: the right wheel is the outer one and rises; its steer is minus a left wheel's.
    steer = 0.5 * (fallen.steer - risen.steer)
    found = values(CHECK, ONE_PIECE)["roll_steer"]
    # Understeer opens the left turn: it steers right, negative.
    assert found == pytest.approx(-steer / np.degrees(roll), rel=1e-5)
    assert found > 0.0


@pytest.mark.parametrize(
    ("row", "toes", "gradient"),
    [(ONE_PIECE, (0.28, 0.10, -0.08), -2.5), (SPLIT, (0.42, 0.10, -0.23), -3.3)],
)
def test_figures_of_another_screening_solver(
    row: Row, toes: tuple[float, ...], gradient: float
) -> None:
    """Derived, not published: a second program's results for the points, as it rounded them."""
    found = values(CHECK, row)
    keys = ("toe_at_droop", "toe_at_trim", "toe_at_bump")
    assert [found[key] for key in keys] == pytest.approx(toes, abs=0.005)
    assert 1e3 * found["toe_gradient"] == pytest.approx(gradient, abs=0.05)


def lowered(row: Row, by: float) -> dict[str, Any]:
    x, y, z = row["tie_rod_outer"]
    return dict(row) | {"tie_rod_outer": (x, y, z - by)}


@pytest.mark.parametrize(
    ("row", "ahead"),
    [(FORE_ROW, True), (SPLIT_FORE_ROW, True), (ONE_PIECE_ROW, False), (SPLIT_ROW, False)],
)
def test_lowering_the_outer_tie_rod_joint(row: Row, ahead: bool) -> None:
    """Common practice, no source.

    Rack ahead of the axle: the wheel steers outward as it rises, more roll understeer; behind the
    axle the reverse.
    """
    rows = [lowered(without(row, "spring") | SWEEP, by) for by in (0.0, 2.0, 4.0, 8.0)]
    found = answer(CHECK, *rows)
    assert not found.problems
    steps = np.diff(found.values["roll_steer"])
    assert np.all(steps > 0.0) if ahead else np.all(steps < 0.0)
    out = -np.diff(found.values["toe_at_bump"])
    assert np.all(out > 0.0) if ahead else np.all(out < 0.0)


@pytest.mark.parametrize("row", [FORE_ROW, ONE_PIECE_ROW])
def test_more_roll_understeer_leaves_less_net_steer_for_the_same_input(row: Row) -> None:
    """Common practice, no source: steer of the rolled axle at one and the same rack travel."""
    ahead = row is FORE_ROW
    base = without(row, "spring") | SWEEP
    rack = 12.0 if ahead else -12.0  # a left turn
    net, understeer = [], []
    for by in (0.0, 4.0 if ahead else -4.0):
        changed = lowered(base, by)
        # Left turn: the left wheel is the inner one and falls, the right one rises.
        left, right = Wheel.at(changed, -25.0, rack), Wheel.at(changed, 25.0, -rack)
        net.append(0.5 * (left.steer - right.steer))
        understeer.append(values(CHECK, changed)["roll_steer"])
    assert understeer[1] > understeer[0]
    assert net[0] > net[1] > 0.0


def test_rear_axle_has_the_opposite_sign() -> None:
    front, rear = (values(CHECK, ONE_PIECE | {"axle": axle}) for axle in ("front", "rear"))
    assert rear["roll_steer"] == -front["roll_steer"]
    assert rear["toe_gradient"] == front["toe_gradient"]
    assert values(CHECK, ONE_PIECE) == front  # front when absent


def test_parallelogram_keeps_its_toe() -> None:
    """Arms and tie rod equal, parallel and level: the knuckle moves without turning."""
    found = values(CHECK, parallel_row() | SWEEP)
    assert abs(found["toe_gradient"]) < 1e-15
    assert abs(found["roll_steer"]) < 1e-14
    for key in ("toe_at_bump", "toe_at_droop", "toe_at_trim"):
        assert found[key] == pytest.approx(0.1, abs=1e-12)
    assert found["toe_nonlinearity"] < 1e-12


def test_trim_shifts_the_curve() -> None:
    raised = values(CHECK, ONE_PIECE | {"trim": 30.0, "travel": 50.0})
    assert raised["toe_at_bump"] == pytest.approx(
        values(CHECK, ONE_PIECE)["toe_at_bump"], abs=1e-12
    )
    assert raised["toe_gradient"] != values(CHECK, ONE_PIECE)["toe_gradient"]


def test_unreachable_bump_leaves_the_gradient() -> None:
    outputs = answer(CHECK, ONE_PIECE | {"travel": 330.0})
    told = {port for problem in outputs.problems for port in problem.ports}
    assert "toe_nonlinearity" in told
    assert "toe_gradient" not in told
    assert np.isfinite(outputs.values["toe_gradient"][0])


def test_curve_and_tangent_meet_at_trim() -> None:
    row = ONE_PIECE | {"trim": 10.0}
    (figure,) = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    toe, tangent = figure.series
    found = values(CHECK, row)
    assert toe.x[20] == pytest.approx(tangent.x[20], abs=1e-12)
    assert toe.y[20] == 10.0
    assert (toe.x[0], toe.x[-1]) == pytest.approx(
        (found["toe_at_droop"], found["toe_at_bump"]), abs=1e-12
    )


def test_steering_and_toe_checks_read_the_same_corner() -> None:
    """The toe a sweep of the rack starts from is the toe of this check."""
    row = ONE_PIECE_ROW | {"wheel_track": 1560.0, "trim": 15.0}
    rack = {"c_factor": 50.0, "rack_travel": 1e-3, "wheelbase": 2950.0}
    turned = answer(RATIO_BAND, row | rack).values
    still = values(CHECK, without(row, "spring") | {"travel": 80.0})["toe_at_trim"]
    middle = 0.5 * (turned["inner_angle"][0] - turned["outer_angle"][0])
    assert middle == pytest.approx(-still, abs=1e-6)
