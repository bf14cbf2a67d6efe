"""The rear corner against a general solver and virtual work, its limits by hand, and its signs."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_rows import answer, values
from tests.plugins.mechanics.rear_samples import AHEAD
from tests.plugins.mechanics.test_rear_statics import PLANAR
from tests.plugins.rear_rows import (
    BUSHES,
    DEGENERATE,
    FULL,
    PLAIN,
    ROWS,
    SPRING,
    VEHICLE,
    RearWheel,
    draw_rear,
)
from tracker.contract.faults import ConfigError
from tracker.contract.figure import Figure, FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.rear_links import CHECK, LAYOUTS, SENSES
from whybone_chassis.rear_links_forces import FORCES

Cell = str | float

# case, brake_reacted_by, fx, fy, fz, mz, travel
STATIC = ("static", "knuckle", 0.0, 0.0, 6130.0, 0.0, 0.0)
BRAKING = ("braking", "knuckle", -3900.0, 0.0, 4600.0, 0.0, -12.0)
MIXED: tuple[tuple[Cell, ...], ...] = (
    STATIC,
    BRAKING,
    ("turn", "knuckle", -900.0, -5900.0, 8700.0, -70.0, 31.0),
    ("hill", "body", 4400.0, 300.0, 7000.0, 12.0, 18.0),
    ("pothole", "body", -5200.0, 900.0, 14800.0, 0.0, 45.0),
)
NAMES = ("case", "by", "fx", "fy", "fz", "mz", "travel")
CARRIER: dict[str, tuple[float, float]] = {"turn": (400.0, 0.0), "pothole": (-200.0, 4200.0)}
"""Forces of bar and stop on the arm, by case."""
ON_ARM = tuple((case, *forces) for case, forces in CARRIER.items())
SCALINGS = [
    {"mm": 2.0, "m": 2.0, "deg": 1.0, "N": 3.0, "kN": 3.0, "kg": 3.0, "%": 1.0},
    {"mm": 0.5, "m": 0.5, "deg": 1.0, "N": 1.0, "kN": 1.0, "kg": 1.0, "%": 1.0},
]


def draw_fed(generator: np.random.Generator) -> dict[str, Any]:
    return draw_rear(generator) | {
        "fz_static": generator.uniform(4000.0, 6000.0),
        "fx_braking": generator.uniform(-7000.0, -3000.0),
        "fx_drive": generator.uniform(1000.0, 4000.0),
    }


def bare(row: Row) -> dict[str, Any]:
    """Drop all that may be left out."""
    optional = {*SPRING, *BUSHES, *VEHICLE, "trim"}
    return {key: each for key, each in row.items() if key not in optional}


def with_cell(place: int, cell: Cell) -> list[tuple[Cell, ...]]:
    row: list[Cell] = list(BRAKING)
    row[place] = cell
    return [STATIC, tuple(row)]


BAD_TABLES: tuple[Row, ...] = (
    {"load_cases": []},
    {"load_cases": with_cell(0, "static")},
    {"load_cases": with_cell(1, "wheel")},
    {"load_cases": with_cell(2, float("nan"))},
    {"load_cases": with_cell(4, 1e308)},
    {"load_cases": with_cell(6, 900.0)},
    {"carrier_forces": [("parking", 100.0, 0.0)]},
    {"carrier_forces": [("turn", 100.0, float("nan"))]},
)


@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw_rear,
        tables={"load_cases": MIXED, "carrier_forces": ON_ARM},
        degenerate=(*DEGENERATE, *BAD_TABLES),
        scalings=SCALINGS,
    )
    PROMISES[promise](subject)


@pytest.mark.parametrize("promise", PROMISES)
@pytest.mark.parametrize("kind", ["fed by ports", "with nothing optional"])
def test_contract_without_a_table(kind: str, promise: str) -> None:
    fed = kind == "fed by ports"
    subject = Subject(
        check=CHECK,
        rows=draw_fed if fed else (lambda generator: bare(draw_rear(generator))),
        degenerate=DEGENERATE if fed else DEGENERATE[:5],
        scalings=SCALINGS,
    )
    PROMISES[promise](subject)


def largest(numbers: list[float]) -> float:
    return max(numbers, key=abs)


def wanted(row: Row) -> dict[str, float]:
    trim, travel, half = row["trim"], row["travel"], 0.5 * row["wheel_track"]
    still, up, down = (RearWheel.at(row, trim + by) for by in (0.0, travel, -travel))
    swept = [RearWheel.at(row, trim + share * travel) for share in np.linspace(-1.0, 1.0, 9)]
    toe, camber = still.rate(still.toe)[0], still.rate(still.camber)[0]
    contact = still.rate(still.contact)
    braked = still.rate(lambda x: still.fixed(x, np.real(still.contact(still.x))))
    centre = still.rate(lambda x: x[:3])
    tangent = [
        abs(wheel.toe(wheel.x) - still.toe(still.x) - share * travel * toe)
        for wheel, share in zip(swept, np.linspace(-1.0, 1.0, 9), strict=True)
    ]
    cases: list[dict[str, Any]] = [dict(zip(NAMES, case, strict=True)) for case in MIXED]
    for case in cases:
        case["bar_force"], case["stop_force"] = CARRIER.get(case["case"], (0.0, 0.0))
    works = [RearWheel.at(row, case["travel"]).forces(case) for case in cases]
    lever = row["wheelbase"] / row["cg_height"]
    aside = [2.0 * (wheel.contact(wheel.x) - still.contact(still.x))[1] for wheel in (down, up)]
    return {
        "toe_gradient": toe,
        "roll_steer": np.radians(toe * half),
        "toe_at_trim": float(still.toe(still.x)),
        "toe_at_bump": float(up.toe(up.x)),
        "toe_at_droop": float(down.toe(down.x)),
        "toe_nonlinearity": float(max(tangent)),
        "camber_gradient": camber,
        "camber_at_trim": float(still.camber(still.x)),
        "camber_at_bump": float(up.camber(up.x)),
        "camber_at_droop": float(down.camber(down.x)),
        "swing_arm": -1.0 / np.radians(camber),
        "swing_arm_curvature": -1e3 * np.radians(camber),
        "roll_centre_height": half * contact[1],
        "track_change": largest([float(each) for each in aside]),
        "anti_lift_percent": -100.0 * row["brake_share_rear"] * lever * braked[0],
        "anti_squat_percent": -100.0 * row["drive_share_rear"] * lever * centre[0],
        "motion_ratio": -still.rate(still.spring_length)[0],
        **{key: largest([work[key] for work in works]) for key in FORCES},
    }


def test_agrees_with_a_general_solver_and_virtual_work() -> None:
    generator = np.random.default_rng(61)
    rows = [draw_rear(generator) for _ in range(24)]
    found = answer(CHECK, *rows, load_cases=MIXED, carrier_forces=ON_ARM)
    assert not found.problems
    worst: dict[str, float] = {}
    for number, row in enumerate(rows):
        for key, value in wanted(row).items():
            off = abs(found.values[key][number] - value) / max(1.0, abs(value))
            worst[key] = max(worst.get(key, 0.0), off)
    print({key: f"{off:.1e}" for key, off in worst.items()})
    assert max(worst.values()) < 1e-9


def test_rate_of_the_motion_ratio_is_the_spring_lengths_second_difference() -> None:
    for row in FULL.values():
        found = values(CHECK, row)["motion_ratio_rate"]
        lengths = {
            step: float(wheel.spring_length(wheel.x))
            for step in (-8.0, -4.0, 0.0, 4.0, 8.0)
            for wheel in [RearWheel.at(row, step)]
        }
        coarse, fine = (
            -1e3 * (lengths[h] - 2.0 * lengths[0.0] + lengths[-h]) / h**2 for h in (8.0, 4.0)
        )
        assert found == pytest.approx((4.0 * fine - coarse) / 3.0, abs=abs(coarse - fine) / 30.0)
        assert found == pytest.approx(fine, rel=1e-3)


def test_figures_of_another_screening_solver() -> None:
    """Derived, not published: a second program's roll centre for the invented points."""
    assert values(CHECK, ROWS["ahead"])["roll_centre_height"] == pytest.approx(74.0, abs=0.5)


@pytest.mark.parametrize(
    ("layout", "name", "senses"),
    [
        ("ahead", "ahead-below", ("compression", "tension", "compression")),
        ("raised", "ahead-above", ("compression", "tension", "tension")),
        ("behind", "behind-below", ("tension", "compression", "tension")),
    ],
)
def test_says_which_way_loads_go_through_the_integral_link(
    layout: str, name: str, senses: tuple[str, ...]
) -> None:
    """Common practice, no source: compressed in braking and pulled in acceleration, link ahead."""
    found = values(CHECK, ROWS[layout])
    assert LAYOUTS[found["integral_layout"]] == name
    told = tuple(SENSES[found[f"{key}_sense"]] for key in ("braking", "drive", "motor"))
    assert told == senses
    assert found["drive_increment"] == pytest.approx(-found["braking_increment"], rel=1e-12)


def turned_round(row: Row) -> dict[str, Any]:
    """Put the link on the other side of the lower joint."""
    x = row["lower_outer"][0]
    ends = ("integral_on_arm", "integral_on_knuckle")
    return dict(row) | {key: (2.0 * x - row[key][0], *row[key][1:]) for key in ends}


def test_link_behind_a_joint_above_reverses_all() -> None:
    found = values(CHECK, turned_round(ROWS["raised"]))
    assert LAYOUTS[found["integral_layout"]] == "behind-above"
    told = tuple(SENSES[found[f"{key}_sense"]] for key in ("braking", "drive", "motor"))
    assert told == ("tension", "compression", "compression")


def planar(**more: object) -> dict[str, Any]:
    """Level links across the vehicle, upright integral link 120 mm ahead of the joint."""
    upright = {"loaded_radius": 345.0, "static_camber": 0.0, "static_toe": 0.0}
    points = {key: tuple(map(float, point)) for key, point in PLANAR.items()}
    return points | upright | PLAIN | {"unsprung_mass": 0.0} | more


def test_increments_by_hand() -> None:
    """Moments about the lower joint in side view, z 210 mm, wheel centre 345 mm up."""
    found = values(CHECK, planar())
    assert found["integral_lever"] == pytest.approx(120.0, rel=1e-14)
    assert found["braking_increment"] == pytest.approx(-1e3 * 210.0 / 120.0, rel=1e-12)
    assert found["motor_increment"] == pytest.approx(-1e3 * (345.0 - 210.0) / 120.0, rel=1e-12)


def test_a_motor_at_the_joints_height_loads_the_link_with_nothing() -> None:
    found = values(CHECK, planar(wheel_centre=(0.0, 780.0, 210.0), loaded_radius=210.0))
    assert abs(found["motor_increment"]) < 1e-9
    assert SENSES[found["motor_sense"]] == "none"
    assert SENSES[found["braking_sense"]] == "compression"


def test_the_static_load_alone_pulls_a_link_ahead_of_a_joint_behind_the_wheel_centre() -> None:
    """Increments are not totals: fz acts 60 mm ahead of the joint, the link 130 mm."""
    light = ROWS["ahead"] | {"unsprung_mass": 0.0}
    assert values(CHECK, light, load_cases=[STATIC])["integral_link_force"] > 0.0


def test_parallel_upper_links_hold_camber_and_the_integral_link_the_rocking() -> None:
    """Common practice, no source."""
    row = planar(**BUSHES)
    corner = ("turn", "knuckle", 0.0, -3000.0, 0.0, 0.0, 0.0)
    turn = values(CHECK, row, load_cases=[corner])
    assert abs(turn["integral_link_force"]) < 1e-9
    assert turn["upper_front_force"] + turn["upper_rear_force"] > 2000.0
    stiff = values(CHECK, row)["wind_up_stiffness"]
    soft = {"upper_front_rate": 10.0, "upper_rear_rate": 10.0}
    assert values(CHECK, row | soft)["wind_up_stiffness"] == pytest.approx(stiff, rel=1e-10)
    loose = values(CHECK, row | {"integral_rate": 10.0})["wind_up_stiffness"]
    assert loose == pytest.approx(np.radians(10.0 * 120.0**2 * 1e-3), rel=1e-2)
    assert loose < stiff


def test_parallel_level_links_leave_no_swing_arm_and_a_roll_centre_on_the_ground() -> None:
    level = {
        "upper_front_inner": (90.0, 380.0, 480.0),
        "upper_rear_inner": (-60.0, 380.0, 480.0),
        "upper_front_outer": (90.0, 720.0, 480.0),
        "upper_rear_outer": (-60.0, 720.0, 480.0),
    }
    found = answer(CHECK, planar(**level))
    (absence,) = [each for each in found.absences if each.port == "swing_arm"]
    assert absence.reason == "camber does not change: the arms are parallel"
    assert abs(found.values["roll_centre_height"][0]) < 1e-9
    assert abs(found.values["toe_gradient"][0]) < 1e-12


def test_toe_in_in_jounce_is_roll_understeer_at_the_rear() -> None:
    """The outer wheel rises and toes in."""
    found = values(CHECK, ROWS["ahead"])
    assert found["toe_gradient"] > 0.0
    assert found["roll_steer"] > 0.0


@pytest.mark.parametrize("layout", FULL)
def test_anti_lift_and_anti_squat_are_what_the_spring_does_not_feel(layout: str) -> None:
    """The force along the vehicle alone, against the load transfer by hand of 2 kN in all."""
    row = FULL[layout] | {"unsprung_mass": 0.0}
    force, shift = 2000.0, 2000.0 * 700.0 / 2950.0 / 2.0
    found = values(CHECK, row)
    for port, share, by, sign in (
        ("anti_lift_percent", "brake_share_rear", "knuckle", -1.0),
        ("anti_squat_percent", "drive_share_rear", "body", 1.0),
    ):
        fx = sign * force * row[share] / 2.0
        case = ("pitch", by, fx, 0.0, 0.0, 0.0, 0.0)
        spring = values(CHECK, row, load_cases=[case])["spring_force"]
        taken_off = -spring * found["motion_ratio"] / (sign * shift)
        assert found[port] == pytest.approx(100.0 * taken_off, rel=1e-9)


def test_what_is_not_given_is_told_as_left_out() -> None:
    outputs = answer(CHECK, ROWS["ahead"])
    assert not outputs.problems
    told = {each.port: each.reason for each in outputs.absences}
    assert told["anti_squat_percent"] == "not given: wheelbase, cg_height, drive_share_rear"
    assert told["motion_ratio"] == "not given: spring_lower, spring_upper"
    assert told["wind_up_stiffness"].startswith("not given: upper_front_rate, ")
    assert told["integral_link_force"].startswith("no load case is given")
    part = answer(CHECK, ROWS["ahead"] | {"integral_rate": 2e4}, load_cases=[STATIC])
    told = {each.port: each.reason for each in part.absences}
    assert "integral_rate" not in told["wind_up_stiffness"]
    assert told["spring_force"] == "not given: spring_lower, spring_upper"
    assert "integral_link_force" not in told


def test_links_do_not_depend_on_the_spring() -> None:
    without, with_spring = (
        values(CHECK, row, load_cases=MIXED) for row in (ROWS["ahead"], FULL["ahead"])
    )
    for key in FORCES[:-1]:
        assert without[key] == with_spring[key]


def test_a_dead_spring_leaves_the_links_their_forces() -> None:
    dead = {
        "lower_front_inner": (-2780.0, 400.0, 235.0),
        "lower_rear_inner": (-3080.0, 400.0, 235.0),
        "spring_lower": (-2930.0, 560.0, 235.0),
        "spring_upper": (-2930.0, 300.0, 235.0),
    }
    outputs = answer(CHECK, FULL["ahead"] | dead, load_cases=[STATIC])
    (problem,) = outputs.problems
    assert problem.ports == ("spring_force",)
    assert np.isfinite(outputs.values["integral_link_force"][0])


def test_ports_feed_cases_and_a_drive_goes_through_the_wheel_centre() -> None:
    row = ROWS["ahead"]
    table = [("drive", "body", 2500.0, 0.0, 7000.0, 0.0, 0.0)]
    fed = values(CHECK, row | {"fx_drive": 2500.0, "fz_drive": 7000.0})
    assert fed == values(CHECK, row, load_cases=table)


def test_a_case_out_of_reach_is_named() -> None:
    far = ("droop", "knuckle", 0.0, 0.0, 500.0, 0.0, -900.0)
    outputs = answer(CHECK, ROWS["ahead"], load_cases=[STATIC, far])
    (problem,) = outputs.problems
    assert problem.reason.startswith("case droop: ")
    assert problem.ports == FORCES
    assert np.isfinite(outputs.values["roll_centre_height"][0])


@pytest.mark.parametrize("config", [{"cases": "a, a"}, {"loads": "static"}])
def test_wrong_configuration_is_refused(config: dict[str, str]) -> None:
    with pytest.raises(ConfigError):
        CHECK.manifest(config)


def test_load_cases_read_like_the_front_ones_without_a_rack() -> None:
    (table,) = (port for port in CHECK.manifest({}).inputs if port.key == "load_cases")
    names = [column.name for column in table.columns]
    assert "rack" not in names
    assert {"case", "brake_reacted_by", "fx", "fz", "travel"} <= set(names)


def drawn(row: Row, *cases: tuple[Cell, ...]) -> dict[str, Figure]:
    tables = {"load_cases": cases} if cases else {}
    subject = Subject(check=CHECK, rows=[row], tables=tables)
    return {figure.key: figure for figure in CHECK.figures(subject.batch([row]), {})}


def test_curves_pass_through_trim_with_their_tangents() -> None:
    row = FULL["ahead"] | {"trim": 8.0}
    found, figures = values(CHECK, row), drawn(row)
    for key in ("toe", "camber"):
        line, tangent = figures[f"{key}-over-travel"].series
        assert np.interp(8.0, line.y, line.x) == pytest.approx(found[f"{key}_at_trim"], rel=1e-12)
        slope = (tangent.x[-1] - tangent.x[0]) / (tangent.y[-1] - tangent.y[0])
        assert slope == pytest.approx(found[f"{key}_gradient"], rel=1e-9)
    (height,) = figures["roll-centre-over-travel"].series
    assert np.interp(8.0, height.y, height.x) == pytest.approx(found["roll_centre_height"])


def test_listing_says_how_the_link_is_loaded_and_where_it_stands() -> None:
    figure = drawn(ROWS["ahead"])["integral-link"]
    assert "130 mm ahead of the lower joint, which is 130 mm below" in figure.title
    assert figure.series[2].labels == ("compression", "tension", "compression")
    raised = drawn(ROWS["raised"])["integral-link"]
    assert "60 mm above the wheel centre" in raised.title
    assert "behind the lower joint" in drawn(ROWS["behind"])["integral-link"].title


def test_bars_and_listings_show_every_case_and_every_bush() -> None:
    figures = drawn(FULL["ahead"], *MIXED)
    bars = figures["forces-by-case"]
    assert bars.kind is FigureKind.BARS
    found = values(CHECK, FULL["ahead"], load_cases=MIXED)
    assert max(bars.series[0].y, key=abs) == found["integral_link_force"]
    cells = {cell for series in figures["links-by-case"].series for cell in series.labels}
    assert {"pothole", f"{found['integral_link_force']:+.0f}"} <= cells
    shares = [float(cell) for cell in figures["wind-up"].series[1].labels]
    assert sum(shares) == pytest.approx(100.0, abs=0.3)
    assert {"forces-by-case", "wind-up"} & drawn(ROWS["ahead"]).keys() == set()


def test_side_view_shows_the_link_upright_ahead_of_the_joint() -> None:
    figure = drawn(ROWS["ahead"])["side-view"]
    assert figure.kind is FigureKind.SKETCH
    link = next(series for series in figure.series if series.title == "Integral link")
    assert link.x == pytest.approx((AHEAD["integral_on_arm"][0],) * 2)
    assert link.y == pytest.approx((222.0, 335.0))


def test_no_pose_draws_nothing_and_says_so() -> None:
    figures = drawn(ROWS["ahead"] | {"trim": 900.0}, STATIC)
    assert figures["toe-over-travel"].series[0].x == ()
    assert figures["integral-link"].title.endswith("no pose at trim")
    assert figures["integral-link"].series[0].labels == ()
