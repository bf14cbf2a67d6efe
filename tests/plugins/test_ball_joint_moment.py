"""Joint forces against virtual work on a general solver's poses, and their planar limit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_rows import (
    DEGENERATE_CORNERS,
    ONE_PIECE_ROW,
    SPLIT_ROW,
    answer,
    draw_corner,
    furthest_off,
    values,
)
from tests.plugins.joint_force_reference import (
    ALL,
    BRAKING,
    BUMP,
    CORNERING,
    FORCES,
    MIXED,
    ON_CARRIER,
    STATIC,
    UPPER,
    Cell,
    toward,
    wanted,
)
from tracker.contract.faults import ConfigError
from tracker.contract.figure import Figure, FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.ball_joint_moment import CHECK, STANDARD_CASES
from whybone_chassis.vehicle_loads import CHECK as VEHICLE_LOADS


def draw(generator: np.random.Generator) -> dict[str, Any]:
    return draw_corner(generator) | {
        "unsprung_mass": generator.uniform(20.0, 60.0),
        "bar_force": generator.uniform(-1500.0, 1500.0),
        "stop_force": generator.uniform(0.0, 2000.0),
    }


def draw_fed(generator: np.random.Generator) -> dict[str, Any]:
    return draw(generator) | {
        "fz_static": generator.uniform(4000.0, 6000.0),
        "fx_braking": generator.uniform(-7000.0, -3000.0),
        "fz_bump": generator.uniform(9000.0, 16000.0),
    }


def with_cell(place: int, cell: Cell) -> list[tuple[Cell, ...]]:
    row: list[Cell] = list(BRAKING)
    row[place] = cell
    return [STATIC, tuple(row)]


DEGENERATE: tuple[Row, ...] = (
    *DEGENERATE_CORNERS,
    {"unsprung_mass": -1.0},
    {"unsprung_mass": 1e308},
    {"spring_lower": (1.0, 2.0, 3.0), "spring_upper": (1.0, 2.0, 3.0)},
    {"load_cases": []},
    {"carrier_forces": [("hill", 10.0, 0.0)]},
    {"carrier_forces": [("droop", float("inf"), 0.0)]},
    {"load_cases": with_cell(0, "static")},
    {"load_cases": with_cell(1, "wheel")},
    {"load_cases": with_cell(2, float("nan"))},
    {"load_cases": with_cell(4, 1e308)},
    {"load_cases": with_cell(6, 900.0)},
    {"load_cases": with_cell(7, -400.0)},
)
SCALINGS = [
    {"mm": 2.0, "m": 2.0, "deg": 1.0, "N": 3.0, "kN": 3.0, "kg": 3.0},
    {"mm": 0.5, "m": 0.5, "deg": 1.0, "N": 1.0, "kN": 1.0, "kg": 1.0},
]


@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw,
        tables={"load_cases": MIXED, "carrier_forces": ON_CARRIER},
        degenerate=DEGENERATE,
        scalings=SCALINGS,
    )
    PROMISES[promise](subject)


@pytest.mark.parametrize("promise", PROMISES)
def test_contract_of_cases_fed_by_ports(promise: str) -> None:
    subject = Subject(check=CHECK, rows=draw_fed, degenerate=DEGENERATE_CORNERS, scalings=SCALINGS)
    PROMISES[promise](subject)


def test_agrees_with_virtual_work() -> None:
    generator = np.random.default_rng(11)
    rows = [draw(generator) for _ in range(16)]
    found = answer(CHECK, *rows, load_cases=MIXED, carrier_forces=ON_CARRIER)
    assert not found.problems
    worst = furthest_off(found, [wanted(row, MIXED) for row in rows])
    assert set(worst) == {port.key for port in CHECK.manifest({}).outputs} - {"bush_moment"}
    assert max(worst.values()) < 1e-8


@pytest.mark.parametrize(
    ("case", "upper", "lower", "tie_rod", "spring"),
    [
        (STATIC, 989, 5267, 205, 8290),
        (BRAKING, 4777, 12877, -353, 10831),
        (CORNERING, 3519, 12549, -840, 11887),
        (BUMP, 2967, 15800, 616, 24871),
    ],
)
def test_figures_of_another_screening_solver(
    case: tuple[Cell, ...], upper: float, lower: float, tie_rod: float, spring: float
) -> None:
    """Derived, not published: a second program's results for the points, unsprung mass left out."""
    found = values(CHECK, ONE_PIECE_ROW | {"unsprung_mass": 0.0}, load_cases=[case])
    keys = ("upper_joint_force", "lower_joint_force", "tie_rod_force", "spring_force")
    assert [found[key] for key in keys] == pytest.approx([upper, lower, tie_rod, spring], abs=2.0)


@pytest.mark.parametrize(("lift", "spacing", "force"), [(0.0, 296.0, 725.0), (65.0, 360.0, 591.0)])
def test_spacing_against_force_of_another_screening_solver(
    lift: float, spacing: float, force: float
) -> None:
    """Likewise, the upper arm lifted straight up."""
    lifted = {key: tuple(np.add(ONE_PIECE_ROW[key], (0.0, 0.0, lift)).tolist()) for key in UPPER}
    found = values(CHECK, ONE_PIECE_ROW | lifted | FORCES, load_cases=ALL)
    assert found["joint_spacing"] == pytest.approx(spacing, abs=0.5)
    assert found["upper_force_per_kn_lateral"] == pytest.approx(force, abs=0.5)


def apart(row: Row, by: float) -> dict[str, Any]:
    """Move the whole upper arm up the steering axis."""
    lower = np.add(row["lower_front_outer"], row["lower_rear_outer"]) / 2.0
    along = by * toward(lower, row["upper_outer"])
    return dict(row) | {key: tuple((np.array(row[key]) + along).tolist()) for key in UPPER}


def test_joints_farther_apart_carry_less() -> None:
    """Common practice, no source."""
    generator = np.random.default_rng(12)
    rows = [draw(generator) for _ in range(40)]
    steps = (0.0, 40.0, 90.0, 160.0)
    found = [answer(CHECK, *(apart(row, by) for row in rows), load_cases=ALL) for by in steps]
    for key in ("upper_force_per_kn_lateral", "upper_joint_force"):
        forces = np.stack([each.values[key] for each in found])
        if key == "upper_force_per_kn_lateral":
            assert np.all(np.diff(forces, axis=0) < 0.0)
        else:
            assert np.all(forces[-1] < forces[0])
    assert np.all(np.diff([each.values["joint_spacing"] for each in found], axis=0) > 0.0)


def planar(lower: float, upper: float) -> dict[str, Any]:
    """Level links across the vehicle at two heights, everything above the axle, no tie-rod load."""
    return {
        "upper_front_inner": (150.0, 400.0, upper),
        "upper_rear_inner": (-150.0, 400.0, upper),
        "upper_outer": (0.0, 700.0, upper),
        "lower_front_inner": (150.0, 350.0, lower),
        "lower_front_outer": (0.0, 700.0, lower),
        "lower_rear_inner": (-150.0, 350.0, lower),
        "lower_rear_outer": (0.0, 700.0, lower),
        "tie_rod_inner": (-140.0, 360.0, 250.0),
        "tie_rod_outer": (-140.0, 690.0, 250.0),
        "wheel_centre": (0.0, 780.0, 345.0),
        "loaded_radius": 345.0,
        "static_camber": 0.0,
        "static_toe": 0.0,
        "spring_lower": (0.0, 600.0, lower),
        "spring_upper": (0.0, 600.0, 650.0),
        "unsprung_mass": 0.0,
    }


@pytest.mark.parametrize(("lower", "upper"), [(205.0, 495.0), (180.0, 560.0), (240.0, 800.0)])
def test_planar_limit_by_hand(lower: float, upper: float) -> None:
    """Level links: upper = F·z_lower ÷ spacing, lower = F·z_upper ÷ spacing, opposite in sign."""
    force, spacing = 7000.0, upper - lower
    case = ("outer", "knuckle", 0.0, -force, 0.0, 0.0, 0.0, 0.0)
    row = planar(lower, upper)
    found = values(CHECK, row, load_cases=[case])
    assert found["joint_spacing"] == pytest.approx(spacing, rel=1e-14)
    assert found["upper_joint_force"] == pytest.approx(force * lower / spacing, rel=1e-12)
    assert found["lower_joint_force"] == pytest.approx(force * upper / spacing, rel=1e-12)
    assert found["upper_force_per_kn_lateral"] == pytest.approx(1e3 * lower / spacing, rel=1e-12)
    assert abs(found["tie_rod_force"]) < 1e-9
    assert abs(found["spring_force"]) < 1e-9
    # Outer wheel: the upper links pull, tension positive; spacing reacts F · z_lower about X.
    assert found["worst_link_force"] > 0.0
    assert found["moment_at_lower_joint"] == pytest.approx(-1e-3 * force * lower, rel=1e-12)


def test_brake_torque_reacted_by_the_body_takes_load_off_the_upper_joint() -> None:
    outboard, inboard = (
        values(
            CHECK,
            ONE_PIECE_ROW | {"unsprung_mass": 0.0},
            load_cases=[("braking", by, *BRAKING[2:])],
        )
        for by in ("knuckle", "body")
    )
    assert inboard["upper_joint_force"] < 0.7 * outboard["upper_joint_force"]


def test_forces_double_as_the_loads_double() -> None:
    row = SPLIT_ROW | {"unsprung_mass": 0.0}
    twice = [
        tuple(
            2.0 * cell if 2 <= at <= 5 and isinstance(cell, float) else cell
            for at, cell in enumerate(case)
        )
        for case in MIXED
    ]
    single, double = (values(CHECK, row, load_cases=cases) for cases in (MIXED, twice))
    for key in ("upper_joint_force", "spring_force", "worst_link_force", "bush_moment"):
        assert double[key] == pytest.approx(2.0 * single[key], rel=1e-12)
    assert double["joint_spacing"] == single["joint_spacing"]


def test_bush_moment_belongs_to_split_arms() -> None:
    outputs = answer(CHECK, ONE_PIECE_ROW | FORCES, SPLIT_ROW | FORCES, load_cases=MIXED)
    assert not outputs.problems
    (absence,) = outputs.absences
    assert absence.port == "bush_moment"
    assert absence.rows.tolist() == [True, False]
    assert outputs.values["bush_moment"][1] != 0.0


def test_bar_and_stop_may_act_in_one_case_only() -> None:
    row = ONE_PIECE_ROW | {"unsprung_mass": 40.0}
    alike = values(CHECK, row | {"stop_force": 4000.0}, load_cases=[BUMP])
    added = values(CHECK, row, load_cases=[BUMP], carrier_forces=[("bump", 0.0, 4000.0)])
    assert added == alike
    # A push of the stop on the spring's line takes just as much off the spring.
    alone = values(CHECK, row, load_cases=[BUMP])
    assert alone["spring_force"] - added["spring_force"] == pytest.approx(4000.0, rel=1e-12)
    assert added["upper_joint_force"] == pytest.approx(alone["upper_joint_force"], rel=1e-12)


def test_ports_feed_the_cases_of_the_table() -> None:
    fed = {"fx_braking": -6257.0, "fz_braking": 6953.0, "fz_static": 5150.0}
    blank = [
        ("static", "knuckle", *[0.0] * 6),
        ("braking", "body", 0.0, 0.0, 0.0, 30.0, 20.0, 5.0),
    ]
    full = [STATIC, ("braking", "body", -6257.0, 0.0, 6953.0, 30.0, 20.0, 5.0)]
    row = ONE_PIECE_ROW | FORCES
    assert values(CHECK, row | fed, load_cases=blank) == values(CHECK, row, load_cases=full)


def test_ports_alone_make_cases_at_design() -> None:
    fed = {"fx_braking": -6257.0, "fz_braking": 6953.0, "fz_static": 5150.0}
    row = ONE_PIECE_ROW | FORCES
    assert values(CHECK, row | fed) == values(CHECK, row, load_cases=[STATIC, BRAKING])


def test_forces_of_a_step_and_of_driving_pass_through_the_wheel_centre() -> None:
    row = ONE_PIECE_ROW | FORCES
    for case in ("step", "drive"):
        fed = values(CHECK, row | {f"fx_{case}": 2100.0, f"fz_{case}": 5150.0})
        stated = (case, "body", 2100.0, 0.0, 5150.0, *[0.0] * 3)
        assert fed == values(CHECK, row, load_cases=[stated])


def test_ports_take_what_the_vehicle_loads_give() -> None:
    """Case by case and force by force, so that neither is stale when mass moves."""
    offered = {
        port.key.replace("_front", "")
        for port in VEHICLE_LOADS.manifest({}).outputs
        if port.key.startswith(("fx_front", "fy_front", "fz_front"))
    }
    assert offered == {
        port.key for port in CHECK.manifest({}).inputs if port.key[:3] in ("fx_", "fy_", "fz_")
    }


def test_ports_join_the_cases_of_a_table_that_does_not_name_them() -> None:
    row = ONE_PIECE_ROW | FORCES
    joined = values(CHECK, row | {"fz_bump": 15450.0}, load_cases=[STATIC])
    assert joined == values(CHECK, row, load_cases=[STATIC, BUMP])


def test_configuration_names_the_cases_with_ports() -> None:
    config = {"cases": "kerb_strike, hill"}
    keys = {port.key for port in CHECK.manifest(config).inputs}
    assert {"fx_kerb_strike", "fz_hill"} <= keys
    assert not {f"fz_{case}" for case in STANDARD_CASES} & keys
    rows = [ONE_PIECE_ROW | FORCES | {"fz_hill": 6000.0}]
    subject = Subject(check=CHECK, rows=rows, config=config)
    outputs = CHECK.compute(subject.batch(rows), config)
    assert not outputs.problems


@pytest.mark.parametrize(
    ("config", "field"),
    [
        ({"cases": "static, static"}, "cases"),
        ({"cases": "static, "}, "cases"),
        ({"cases": "a.b"}, "cases"),
        ({"loads": "static"}, "loads"),
    ],
)
def test_wrong_configuration_is_refused(config: dict[str, str], field: str) -> None:
    with pytest.raises(ConfigError) as caught:
        CHECK.manifest(config)
    assert set(caught.value.fields) == {field}


def test_a_case_out_of_reach_is_named() -> None:
    far = ("droop", "knuckle", 0.0, 0.0, 500.0, 0.0, -600.0, 0.0)
    outputs = answer(CHECK, ONE_PIECE_ROW | FORCES, load_cases=[STATIC, far])
    (problem,) = outputs.problems
    assert problem.reason.startswith("case droop: ")
    assert "joint_spacing" not in problem.ports
    assert outputs.values["joint_spacing"][0] == pytest.approx(296.2, abs=0.1)


def drawn(row: Row, *cases: tuple[Cell, ...]) -> dict[str, Figure]:
    subject = Subject(check=CHECK, rows=[row], tables={"load_cases": cases})
    return {figure.key: figure for figure in CHECK.figures(subject.batch([row]), {})}


def test_bars_and_listing_show_every_case() -> None:
    row = SPLIT_ROW | FORCES
    figures = drawn(row, *ALL)
    bars = figures["forces-by-case"]
    assert bars.kind is FigureKind.BARS
    names = ("static", "braking", "cornering", "bump")
    assert all(series.labels == names for series in bars.series)
    found = values(CHECK, row, load_cases=ALL)
    highest = {series.title: max(series.y, key=abs) for series in bars.series}
    assert highest["Upper joint"] == found["upper_joint_force"]
    assert highest["Tie rod, tension positive"] == found["tie_rod_force"]
    listing = figures["links-by-case"]
    assert listing.series[0].labels == names
    assert f"{found['worst_link_force']:+.0f}" in {
        cell for series in listing.series for cell in series.labels
    }


def test_curves_pass_through_the_design() -> None:
    row = ONE_PIECE_ROW | FORCES
    figures = drawn(row, *ALL)
    found = values(CHECK, row, load_cases=ALL)
    (share,) = figures["lateral-share-against-spacing"].series
    at = np.interp(found["joint_spacing"], share.x, share.y)
    assert at == pytest.approx(found["upper_force_per_kn_lateral"], rel=1e-3)
    assert list(share.x) == sorted(share.x)
    assert list(share.y) == sorted(share.y, reverse=True)
    upper, _ = figures["force-against-spacing"].series
    assert np.interp(found["joint_spacing"], upper.x, upper.y) == pytest.approx(
        found["upper_joint_force"], rel=5e-3
    )


def test_a_case_out_of_reach_is_left_out_of_the_bars() -> None:
    far = ("droop", "knuckle", 0.0, 0.0, 500.0, 0.0, -600.0, 0.0)
    figures = drawn(ONE_PIECE_ROW | FORCES, STATIC, far)
    assert all(series.labels == ("static",) for series in figures["forces-by-case"].series)


def test_no_figures_without_cases() -> None:
    assert drawn(ONE_PIECE_ROW | FORCES) == {}
