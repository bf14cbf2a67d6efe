"""The ride against energies of real linkages, general solvers and motions followed in time."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import eigh
from scipy.optimize import brentq

from tests.plugins.corner_rows import answer, values
from tests.plugins.mechanics.rear_samples import rear
from tests.plugins.mechanics.samples import loads_of, one_piece
from tests.plugins.rear_rows import FULL, Vector
from tracker.contract.figure import Figure, FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.rear_linkage import pose_rear
from whybone_chassis.mechanics.statics import balance
from whybone_chassis.mechanics.velocity import motion_ratio
from whybone_chassis.rear_links import CHECK as REAR_LINKS
from whybone_chassis.ride import CHECK, TRIMS

GRAVITY = 9.80665
ATMOSPHERE = 0.101325  # N/mm²

# Invented rear corner of a light utility vehicle.
COIL: dict[str, Any] = {
    "sprung_mass_kerb": 330.0,
    "sprung_mass_design": 430.0,
    "sprung_mass_laden": 560.0,
    "unsprung_mass": 44.0,
    "motion_ratio": 0.62,
    "motion_ratio_rate": -0.35,
    "tyre_rate": 240.0,
    "spring_rate": 92.0,
    "damping_rate": 3600.0,
    "bump_travel": 85.0,
    "rebound_travel": 95.0,
    "bump_stop_gap": 45.0,
    "bump_stop_rate": 40.0,
    "rebound_stop_gap": 70.0,
    "rebound_stop_rate": 60.0,
}
AIR: dict[str, Any] = {key: each for key, each in COIL.items() if key != "spring_rate"} | {
    "spring": "air",
    "effective_area": 9500.0,
    "effective_area_rate": 18.0,
    "air_volume": 2.4,
    "polytropic_exponent": 1.3,
}
FIXED = AIR | {"levelling": False}


def scattered(row: Row, generator: np.random.Generator) -> dict[str, Any]:
    return {
        key: each * float(generator.uniform(0.9, 1.1)) if isinstance(each, float) else each
        for key, each in row.items()
    }


def draw(generator: np.random.Generator) -> dict[str, Any]:
    """Draw a corner that gives the ports of both kinds of spring."""
    row = (COIL | {"spring": "coil"}, AIR, FIXED)[generator.integers(3)]
    both = AIR | COIL | {"levelling": True} | row
    drawn = scattered(both, generator)
    return {**drawn, "damper_motion_ratio": float(generator.uniform(0.5, 1.0))}


def draw_bare(generator: np.random.Generator) -> dict[str, Any]:
    row = scattered(COIL | {"sprung_mass_laden": 480.0}, generator)
    stops = ("bump_stop_gap", "bump_stop_rate", "rebound_stop_gap", "rebound_stop_rate")
    return {key: each for key, each in row.items() if key not in (*stops, "damping_rate")}


DEGENERATE: list[Row] = [
    *({key: 0.0} for key in ("sprung_mass_laden", "unsprung_mass", "motion_ratio", "tyre_rate")),
    {"spring": "coil", "spring_rate": 0.0},
    {"spring": "air", "air_volume": -1.0},
    {"spring": "air", "levelling": True, "air_volume": 0.2},
    {"bump_travel": 0.0},
    {"bump_stop_rate": -1.0},
    {"damping_rate": -1.0},
    {"motion_ratio_rate": -20.0},
    {"spring": "coil", "sprung_mass_laden": 3000.0},
    {"spring": "coil", "sprung_mass_kerb": 1.0, "rebound_stop_rate": 0.0},
    {"spring": "air", "levelling": False, "sprung_mass_laden": 1e9},
    {"sprung_mass_design": 1e308},
]


@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str) -> None:
    # Sixteen times the force on sixteen times the area: the atmosphere stays; lengths fourfold in
    # twice the time: so does gravity.
    scaling = {"mm": 4.0, "m": 4.0, "l": 64.0, "s": 2.0, "Hz": 0.5}
    subject = Subject(
        check=CHECK,
        rows=draw,
        degenerate=DEGENERATE,
        scalings=[{**scaling, "N": 16.0, "kg": 16.0, "bar": 1.0}],
    )
    PROMISES[promise](subject)


@pytest.mark.parametrize("promise", PROMISES)
def test_contract_without_stops_and_damper(promise: str) -> None:
    scaling = {"mm": 4.0, "m": 4.0, "l": 64.0, "s": 2.0, "Hz": 0.5}
    subject = Subject(
        check=CHECK,
        rows=draw_bare,
        degenerate=[{"sprung_mass_laden": 3000.0}, {"spring": "air"}],
        scalings=[{**scaling, "N": 3.0, "kg": 3.0, "bar": 3.0 / 16.0}],
    )
    PROMISES[promise](subject)


def energy(row: Row, exponent: float, load: float) -> Callable[[float], float]:
    """Energy of spring and stops over wheel travel, from a spring that carries a load at design.

    An air spring's is the work of its gas, p₀V₀((V₀/V)^(n−1) − 1)/(n − 1), less the
    atmosphere's: force on the effective area is then pressure times swept volume per travel.
    """
    bump, rebound = (
        (row.get(f"{end}_stop_gap", math.inf), row.get(f"{end}_stop_rate", 0.0))
        for end in ("bump", "rebound")
    )
    start = load - bump[1] * max(-bump[0], 0.0) + rebound[1] * max(-rebound[0], 0.0)
    force = start / row["motion_ratio"]

    def compression(z: float) -> float:
        return float(row["motion_ratio"] * z + 0.5e-3 * row["motion_ratio_rate"] * z * z)

    def gas(s: float) -> float:
        whole = 1e6 * row["air_volume"]
        swept = row["effective_area"] * s + 0.5 * row["effective_area_rate"] * s * s
        pressure = force / row["effective_area"] + ATMOSPHERE
        if exponent == 1.0:
            work = -pressure * whole * math.log1p(-swept / whole)
        else:
            growth = math.expm1(-(exponent - 1.0) * math.log1p(-swept / whole))
            work = pressure * whole * growth / (exponent - 1.0)
        return float(work - ATMOSPHERE * swept)

    def whole(z: float) -> float:
        s = compression(z)
        air = row.get("spring") == "air"
        spring = gas(s) if air else force * s + 0.5 * row["spring_rate"] * s * s
        ends = bump[1] * max(z - bump[0], 0.0) ** 2 + rebound[1] * max(-z - rebound[0], 0.0) ** 2
        return float(spring + 0.5 * ends)

    return whole


def slope(function: Callable[[float], float], at: float, step: float = 0.05) -> float:
    """First derivative by differences of fourth order."""
    near, far = (function(at + h) - function(at - h) for h in (step, 2.0 * step))
    return (8.0 * near - far) / (12.0 * step)


def bend(function: Callable[[float], float], at: float, step: float = 0.4) -> float:
    """Second derivative by differences of fourth order."""
    near, far = (
        function(at + h) - 2.0 * function(at) + function(at - h) for h in (step, 2.0 * step)
    )
    return (16.0 * near - far) / (12.0 * step**2)


@pytest.mark.parametrize("row", [COIL, FIXED], ids=["coil", "air without levelling"])
def test_trims_are_where_the_energys_slope_is_the_load(row: Row) -> None:
    whole = energy(row, 1.0, row["sprung_mass_design"] * GRAVITY)
    found = values(CHECK, row)
    for trim in ("kerb", "laden"):
        load = row[f"sprung_mass_{trim}"] * GRAVITY
        ends = -row["rebound_travel"], row["bump_travel"]
        at = brentq(lambda z, load=load: slope(whole, z) - load, *ends, xtol=1e-12)
        assert found[f"trim_{trim}"] == pytest.approx(at, abs=1e-6)
        left = found[f"bump_left_{trim}"] + found[f"rebound_left_{trim}"]
        assert left == pytest.approx(sum(map(abs, ends)), rel=1e-14)


@pytest.mark.parametrize("row", [COIL, AIR, COIL | {"bump_stop_gap": 10.0}])
@pytest.mark.parametrize("trim", TRIMS)
def test_wheel_rate_is_the_energys_second_derivative(row: Row, trim: str) -> None:
    """Of an air spring about a trim at which it is levelled: gas work at its own exponent."""
    found = values(CHECK, row)
    load = row[f"sprung_mass_{'design' if row.get('spring') != 'air' else trim}"] * GRAVITY
    whole = energy(row, row.get("polytropic_exponent", 1.0), load)
    wanted = bend(whole, found.get(f"trim_{trim}", 0.0))
    assert found[f"wheel_rate_{trim}"] == pytest.approx(wanted, rel=1e-7)


def gas_force(start: tuple[float, float], area: float, rate: float, exponent: float) -> Any:  # noqa: ANN401  a function of the compression
    """Force over compression from a volume and pressure, dp/dV = −n·p/V integrated on."""

    def force(s: float) -> float:
        if s == 0.0:
            return (start[1] - ATMOSPHERE) * area
        end = solve_ivp(
            lambda x, y: [-(area + rate * x), exponent * y[1] * (area + rate * x) / y[0]],
            (0.0, s),
            start,
            rtol=1e-12,
            atol=1e-12,
        ).y[1, -1]
        return float((end - ATMOSPHERE) * (area + rate * s))

    return force


@pytest.mark.parametrize("trim", TRIMS)
def test_an_air_spring_is_stiff_as_its_gas_equation_followed_in_small_steps(trim: str) -> None:
    """Integrated by a general solver from the trim on, force on the area of the moment."""
    row = FIXED | {"motion_ratio": 1.0, "motion_ratio_rate": 0.0, "bump_stop_rate": 0.0}
    found = values(CHECK, row)
    at, area, rate = (
        float(each)
        for each in (
            found.get(f"trim_{trim}", 0.0),
            row["effective_area"],
            row["effective_area_rate"],
        )
    )
    volume = 1e6 * row["air_volume"] - area * at - 0.5 * rate * at * at
    pressure = float(found[f"gauge_pressure_{trim}"]) / 10.0 + ATMOSPHERE
    force = gas_force((volume, pressure), area + rate * at, rate, row["polytropic_exponent"])
    assert found[f"wheel_rate_{trim}"] == pytest.approx(slope(force, 0.0, 0.5), rel=1e-7)
    assert found[f"spring_force_{trim}"] == pytest.approx(force(0.0), rel=1e-12)


def test_levelled_air_springs_stand_at_design_and_grow_stiffer_with_load() -> None:
    found = values(CHECK, AIR | {"bump_stop_rate": 0.0})
    assert found["trim_kerb"] == found["trim_laden"] == 0.0
    for trim in TRIMS:
        carried = AIR[f"sprung_mass_{trim}"] * GRAVITY / AIR["motion_ratio"]
        gauge = carried / AIR["effective_area"]
        assert found[f"gauge_pressure_{trim}"] == pytest.approx(10.0 * gauge, rel=1e-12)
    kerb, laden = (found[f"frequency_{trim}"] for trim in ("kerb", "laden"))
    coil = values(CHECK, COIL | {"bump_stop_rate": 0.0})
    # Common practice, no source: load hardly changes an air spring's frequency, a coil's it does.
    assert abs(kerb / laden - 1.0) < 0.35 * abs(
        coil["frequency_kerb"] / coil["frequency_laden"] - 1
    )


def test_wheel_rate_of_a_real_rear_linkage_is_that_of_its_spring_length() -> None:
    """Energy of a coil between the seats of a posed linkage, twice differenced."""
    seats = values(REAR_LINKS, FULL["ahead"])
    given = {key: float(seats[key]) for key in ("motion_ratio", "motion_ratio_rate")}
    stopless = {"bump_stop_rate": 0.0, "rebound_stop_rate": 0.0}
    found = values(CHECK, COIL | given | stopless)
    linkage = rear()
    length = pose_rear(linkage, np.zeros(1)).spring_length[0]

    def stored(z: float) -> float:
        squeezed = length - pose_rear(linkage, np.array([z])).spring_length[0]
        force = found["spring_force_design"]
        return float(force * squeezed + 0.5 * COIL["spring_rate"] * squeezed**2)

    assert found["wheel_rate_design"] == pytest.approx(bend(stored, 0.0, 1.0), rel=1e-6)


def middle(y: Vector) -> float:
    """Slope in the middle of five values, one apart."""
    return float((8.0 * (y[3] - y[1]) - (y[4] - y[0])) / 12.0)


def test_wheel_rate_of_a_real_front_linkage_is_that_of_its_statics() -> None:
    """Load at the wheel centre for the spring's force at each travel, by all links' equilibrium."""
    linkage = one_piece()
    travel = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    pose = pose_at_travel(linkage, travel, np.zeros(5))
    ratio = motion_ratio(pose)
    # Spring force per wheel load, by statics: virtual work makes its inverse the motion ratio.
    lifting = loads_of(5, unsprung_mass=-1000.0 / GRAVITY)
    per_load = balance(pose, lifting).spring / 1000.0

    given = {"motion_ratio": float(ratio[2]), "motion_ratio_rate": 1e3 * middle(ratio)}
    found = values(CHECK, COIL | given | {"bump_stop_rate": 0.0, "rebound_stop_rate": 0.0})
    squeezed = pose.spring_length[2] - pose.spring_length
    load = (found["spring_force_design"] + COIL["spring_rate"] * squeezed) / per_load
    assert found["wheel_rate_design"] == pytest.approx(middle(load), rel=1e-6)


@pytest.mark.parametrize("trim", TRIMS)
def test_modes_are_the_eigenvalues_of_two_masses(trim: str) -> None:
    for row in (COIL, AIR, FIXED, COIL | {"unsprung_mass": 400.0, "tyre_rate": 5.0}):
        found = values(CHECK, row)
        wheel, tyre = 1e3 * found[f"wheel_rate_{trim}"], 1e3 * row["tyre_rate"]
        stiffness = np.array([[wheel, -wheel], [-wheel, wheel + tyre]])
        masses = np.diag([row[f"sprung_mass_{trim}"], row["unsprung_mass"]])
        wanted = np.sqrt(eigh(stiffness, masses, eigvals_only=True)) / (2 * np.pi)
        got = [found[f"{mode}_{trim}"] for mode in ("body_mode", "hop_mode")]
        assert got == pytest.approx(wanted.tolist(), rel=1e-11)


def test_limits_of_the_modes() -> None:
    light = values(CHECK, COIL | {"unsprung_mass": 1e-6})
    assert light["body_mode_design"] == pytest.approx(light["frequency_design"], rel=1e-8)
    rigid = values(CHECK, COIL | {"tyre_rate": 1e12})
    on_spring = math.sqrt(1e3 * rigid["wheel_rate_design"] / 430.0) / (2 * math.pi)
    assert rigid["frequency_design"] == pytest.approx(on_spring, rel=1e-9)
    assert rigid["body_mode_design"] == pytest.approx(on_spring, rel=1e-9)
    assert rigid["ride_rate_design"] == pytest.approx(rigid["wheel_rate_design"], rel=1e-9)


def test_damping_ratio_is_the_decay_of_the_body_on_its_spring() -> None:
    """Follow one mass in time; each peak is exp(−πζ/√(1 − ζ²)) of the one before."""
    found = values(CHECK, COIL)
    mass, rate = 430.0, 1e3 * found["wheel_rate_design"]
    damping = 3600.0 * 0.62**2
    wave = math.sqrt(rate / mass)
    run = solve_ivp(
        lambda _, y: [y[1], -(rate * y[0] + damping * y[1]) / mass],
        (0.0, 12.0 / wave),
        [1.0, 0.0],
        events=lambda _, y: y[1],
        rtol=1e-10,
        atol=1e-12,
    )
    peaks = [float(each[0]) for each in run.y_events[0] if abs(each[0]) > 1e-9]
    decay = -math.log(abs(peaks[-1] / peaks[-2])) / math.pi
    wanted = decay / math.sqrt(1.0 + decay**2)
    assert found["damping_ratio_design"] == pytest.approx(wanted, rel=1e-6)
    moved = values(CHECK, COIL | {"damper_motion_ratio": 0.31})
    assert moved["damping_ratio_design"] == pytest.approx(wanted / 4.0, rel=1e-6)


def test_a_linear_corner_by_hand() -> None:
    plain = {"motion_ratio": 0.5, "motion_ratio_rate": 0.0, "spring_rate": 80.0}
    stopless = {"bump_stop_rate": 0.0, "rebound_stop_rate": 0.0}
    found = values(CHECK, COIL | plain | stopless)
    for trim in TRIMS:
        assert found[f"wheel_rate_{trim}"] == pytest.approx(20.0, rel=1e-14)
        assert found[f"ride_rate_{trim}"] == pytest.approx(20.0 * 240.0 / 260.0, rel=1e-14)
        load = COIL[f"sprung_mass_{trim}"] * GRAVITY
        assert found[f"spring_force_{trim}"] == pytest.approx(load / 0.5, rel=1e-12)
    assert found["trim_laden"] == pytest.approx(130.0 * GRAVITY / 20.0, rel=1e-12)
    assert found["trim_kerb"] == pytest.approx(-100.0 * GRAVITY / 20.0, rel=1e-12)
    assert found["stop_gap_laden"] == pytest.approx(45.0 - found["trim_laden"], rel=1e-12)


def test_a_falling_motion_ratio_takes_from_the_wheel_rate() -> None:
    """F·dMR/dz: common practice forgets it; a rising ratio of 1/m adds spring force × 1e-3."""
    rising, level, falling = (
        values(CHECK, COIL | {"motion_ratio_rate": rate})["wheel_rate_design"]
        for rate in (1.0, 0.0, -1.0)
    )
    force = values(CHECK, COIL)["spring_force_design"]
    assert rising - level == pytest.approx(1e-3 * force, rel=1e-12)
    assert level - falling == pytest.approx(1e-3 * force, rel=1e-12)


def test_a_stop_that_touches_at_a_trim_carries_and_stiffens() -> None:
    free, touching = (values(CHECK, COIL | {"bump_stop_gap": gap}) for gap in (60.0, 10.0))
    assert touching["stop_gap_laden"] < 0.0 < free["stop_gap_laden"]
    assert touching["trim_laden"] < free["trim_laden"]
    assert touching["wheel_rate_laden"] > free["wheel_rate_laden"] + 30.0
    assert touching["wheel_rate_design"] == free["wheel_rate_design"]


@pytest.mark.parametrize(
    ("change", "trim", "reason"),
    [
        ({"sprung_mass_laden": 3000.0}, "laden", "laden: down on the solid bump stop"),
        (
            {"sprung_mass_kerb": 1.0, "rebound_stop_rate": 0.0},
            "kerb",
            "kerb: up on the solid rebound stop",
        ),
        ({"motion_ratio_rate": -8.0}, "design", "the motion ratio falls to zero"),
        (
            {"motion_ratio_rate": -4.0, "spring_rate": 30.0, "bump_stop_rate": 0.0},
            "design",
            "design: unstable",
        ),
    ],
)
def test_a_corner_that_cannot_stand_says_why(
    change: dict[str, Any], trim: str, reason: str
) -> None:
    outputs = answer(CHECK, COIL, COIL | change)
    told = [
        each.reason
        for each in outputs.problems
        if each.rows[1] and (not each.ports or f"wheel_rate_{trim}" in each.ports)
    ]
    assert told[0].startswith(reason)
    assert not any(each.rows[0] for each in outputs.problems)
    assert np.isnan(outputs.values[f"wheel_rate_{trim}"][1])


def test_one_overloaded_trim_leaves_the_others_their_values() -> None:
    outputs = answer(CHECK, COIL | {"sprung_mass_laden": 3000.0})
    assert np.isfinite(outputs.values["frequency_kerb"][0])
    assert np.isnan(outputs.values["frequency_laden"][0])


def test_used_up_air_and_missing_ports_are_told() -> None:
    (problem, *_) = answer(CHECK, FIXED | {"air_volume": 0.3}).problems
    assert problem.reason == "kerb: the air volume is used up within the bump travel"
    lacking = {key: each for key, each in AIR.items() if key != "polytropic_exponent"}
    reasons = {each.reason for each in answer(CHECK, lacking).problems}
    assert "polytropic_exponent is not given: the air spring needs it" in reasons


def test_what_is_not_given_is_left_out() -> None:
    row = {key: each for key, each in COIL.items() if key not in ("damping_rate", "bump_stop_gap")}
    told = {each.port: each.reason for each in answer(CHECK, row).absences}
    assert told["damping_ratio_design"] == "damping_rate is not given"
    assert told["stop_gap_laden"] == "bump_stop_gap is not given"
    assert told["gauge_pressure_kerb"] == "a coil spring has no pressure"


def drawn(row: Row) -> dict[str, Figure]:
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    return {figure.key: figure for figure in CHECK.figures(batch, {})}


@pytest.mark.parametrize("row", [COIL, AIR])
def test_curves_show_load_and_rate_and_where_the_corner_stands(row: Row) -> None:
    figures, found = drawn(row), values(CHECK, row)
    load, *stands = figures["load-over-travel"].series
    design = row["sprung_mass_design"] * GRAVITY
    assert np.interp(0.0, load.x, load.y) == pytest.approx(design, rel=1e-3)
    assert [series.x[0] for series in stands] == pytest.approx(
        [found["trim_kerb"], 0.0, found["trim_laden"]]
    )
    (rate,) = figures["rate-over-travel"].series
    assert np.interp(0.0, rate.x, rate.y) == pytest.approx(found["wheel_rate_design"], rel=2e-2)
    listing = figures["by-trim"]
    assert listing.kind is FigureKind.LISTING
    assert listing.series[0].labels == TRIMS
    cells = {cell for series in listing.series for cell in series.labels}
    assert f"{found['frequency_laden']:.4g}" in cells


def test_a_senseless_row_draws_no_curve() -> None:
    assert drawn(COIL | {"motion_ratio": math.nan})["load-over-travel"].series[0].x == ()
