"""The roll balance against a body on springs moved about in space, and its exact limits."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import root

from tests.plugins.corner_rows import answer, values
from tracker.contract.figure import Figure, FigureKind
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.roll_balance import CHECK, PARTS
from whybone_chassis.vehicle_loads import CHECK as VEHICLE_LOADS

GRAVITY = 9.80665
AXLES = ("front", "rear")
Vector = NDArray[Any]

# Invented light utility vehicle, laden for a steady turn.
VEHICLE: dict[str, Any] = {
    "sprung_mass": 1580.0,
    "sprung_share_front": 0.52,
    "sprung_cg_height": 745.0,
    "track_front": 1560.0,
    "track_rear": 1540.0,
    "roll_centre_front": 95.0,
    "roll_centre_rear": 120.0,
    "wheel_rate_front": 29.0,
    "wheel_rate_rear": 33.0,
    "bar_stiffness_front": 410.0,
    "bar_stiffness_rear": 120.0,
    "unsprung_mass_front": 108.0,
    "unsprung_mass_rear": 112.0,
    "loaded_radius": 345.0,
}


def draw(generator: np.random.Generator) -> dict[str, Any]:
    return {key: each * float(generator.uniform(0.85, 1.15)) for key, each in VEHICLE.items()}


def draw_bare(generator: np.random.Generator) -> dict[str, Any]:
    optional = ("bar_stiffness", "unsprung_mass", "loaded_radius")
    return {key: each for key, each in draw(generator).items() if not key.startswith(optional)}


@pytest.mark.parametrize("draw_row", [draw, draw_bare])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: Callable[[np.random.Generator], Row]) -> None:
    subject = Subject(
        check=CHECK,
        rows=draw_row,
        degenerate=[
            *({key: 0.0} for key in ("sprung_mass", "track_front", "track_rear")),
            {"sprung_share_front": 1.2},
            {"wheel_rate_front": -1.0},
            {"sprung_cg_height": -1.0},
            {"sprung_cg_height": 9000.0},
            {"sprung_mass": 1e308},
        ],
        scalings=[
            {"mm": 2.0, "m": 2.0, "N": 3.0, "kg": 3.0, "deg": 1.0, "g": 1.0},
            {"mm": 0.5, "m": 0.5, "N": 1.0, "kg": 1.0, "deg": 1.0, "g": 1.0},
        ],
    )
    PROMISES[promise](subject)


class Body:
    """A rigid body whose axles may only turn about their roll centres and rise, in metres.

    The centre of gravity is the origin. At each axle the body's point at the roll centre stays in
    its plane of symmetry; springs act up and down at half a track from it. Everything is finite:
    rotations, springs, the weight. The turn acts at the centre of gravity.
    """

    def __init__(self, row: Row) -> None:
        share, height, wheelbase = row["sprung_share_front"], row["sprung_cg_height"], 2.95
        self.mass = row["sprung_mass"]
        ahead = {"front": wheelbase * (1.0 - share), "rear": -wheelbase * share}
        self.centres = {
            axle: np.array([ahead[axle], 0.0, 1e-3 * (row[f"roll_centre_{axle}"] - height)])
            for axle in AXLES
        }
        self.tracks = {axle: 1e-3 * row[f"track_{axle}"] for axle in AXLES}
        self.rates = {axle: 1e3 * row[f"wheel_rate_{axle}"] for axle in AXLES}
        self.bars = {axle: math.degrees(row[f"bar_stiffness_{axle}"]) for axle in AXLES}
        self.carried = {"front": self.mass * share * GRAVITY / 2.0}
        self.carried["rear"] = self.mass * GRAVITY / 2.0 - self.carried["front"]

    @staticmethod
    def moved(q: Vector, point: Vector) -> Vector:
        """Turn by a Rodrigues vector, then move sideways and up."""
        first = np.cross(q[2:5], point)
        twice = 2.0 / (1.0 + q[2:5] @ q[2:5])
        turned = point + twice * (first + np.cross(q[2:5], first))
        return np.asarray(turned + np.array([0.0, q[0], q[1]]))

    def squeeze(self, q: Vector, axle: str, side: float) -> Any:  # noqa: ANN401  real or complex
        """How far a wheel's spring is compressed from standing: side 1 is the left wheel."""
        wheel = self.centres[axle] + np.array([0.0, side * self.tracks[axle] / 2.0, 0.0])
        return -(self.moved(q, wheel) - wheel)[2]

    def energy(self, q: Vector, lateral: float) -> Any:  # noqa: ANN401  real or complex
        """Energy of springs, bars, weight and of the turn's force to the right."""
        stored = self.mass * GRAVITY * self.moved(q, np.zeros(3))[2]
        stored += self.mass * lateral * self.moved(q, np.zeros(3))[1]
        for axle in AXLES:
            squeezed = [self.squeeze(q, axle, side) for side in (1.0, -1.0)]
            for each in squeezed:
                stored += self.carried[axle] * each + 0.5 * self.rates[axle] * each**2
            lean = (squeezed[0] - squeezed[1]) / self.tracks[axle]
            stored += 0.5 * self.bars[axle] * lean**2
        return stored

    def aside(self, q: Vector) -> Vector:
        return np.array([self.moved(q, self.centres[axle])[1] for axle in AXLES])

    def turned(self, lateral: float) -> tuple[Vector, Vector]:
        """Where the body comes to rest, and the axles' side forces on it."""

        def unbalanced(x: Vector) -> Vector:
            steps = 1e-30j * np.eye(5)
            slopes = [
                np.imag(self.energy(x[:5] + h, lateral) - x[5:] * 1e3 @ self.aside(x[:5] + h))
                / 1e-30
                for h in steps
            ]
            return np.array([*np.array(slopes) / 1e3, *1e3 * self.aside(x[:5])])

        found = root(unbalanced, np.zeros(7), method="hybr", tol=1e-14)
        assert np.abs(unbalanced(found.x)).max() < 1e-9
        return found.x[:5], 1e3 * found.x[5:]

    def per_g(self) -> dict[str, float]:
        """Roll and load transfer per g of a very gentle left turn; odd in it, so central."""
        lateral = 1e-3 * GRAVITY
        q, forces = self.turned(lateral)
        out: dict[str, float] = {}
        for number, axle in enumerate(AXLES):
            squeezed = [self.squeeze(q, axle, side) for side in (-1.0, 1.0)]
            lean = (squeezed[0] - squeezed[1]) / self.tracks[axle]
            out[f"roll_{axle}"] = math.degrees(lean) / 1e-3
            springs = self.rates[axle] * (squeezed[0] - squeezed[1]) / 2.0
            elastic = springs + self.bars[axle] * lean / self.tracks[axle]
            out[f"elastic_{axle}"] = elastic / 1e-3
            out[f"side_{axle}"] = forces[number] / 1e-3
        return out


def level(row: Row) -> dict[str, Any]:
    """Put both roll centres at one height: the roll axis is level."""
    return dict(row) | {"roll_centre_rear": row["roll_centre_front"]}


def test_agrees_with_a_body_on_springs_in_space() -> None:
    generator = np.random.default_rng(71)
    worst = 0.0
    for _ in range(12):
        row = level(draw(generator))
        found, body = values(CHECK, row), Body(row).per_g()
        for axle in AXLES:
            wanted = {
                "roll_gradient": body[f"roll_{axle}"],
                f"transfer_elastic_{axle}": body[f"elastic_{axle}"],
                f"transfer_geometric_{axle}": abs(body[f"side_{axle}"])
                * row[f"roll_centre_{axle}"]
                / row[f"track_{axle}"],
            }
            for key, value in wanted.items():
                worst = max(worst, abs(found[key] / value - 1.0))
    print(f"body on springs: {worst:.1e} relative")
    assert worst < 1e-6  # the turn is finite: second order of its milliradians


def test_a_sloping_roll_axis_changes_little() -> None:
    """Taking the roll axis as level errs by its slope squared: 1 degree here."""
    found, body = values(CHECK, VEHICLE), Body(VEHICLE).per_g()
    for axle in AXLES:
        assert found["roll_gradient"] == pytest.approx(body[f"roll_{axle}"], rel=2e-3)
        elastic = body[f"elastic_{axle}"]
        assert found[f"transfer_elastic_{axle}"] == pytest.approx(elastic, rel=2e-3)


def test_the_axles_take_the_whole_overturning_moment() -> None:
    """Of all masses at their heights, and of the weight that has moved outward with the roll."""
    generator = np.random.default_rng(72)
    for _ in range(20):
        row = draw(generator)
        found = values(CHECK, row)
        taken = sum(found[f"transfer_{axle}"] * row[f"track_{axle}"] for axle in AXLES)
        unsprung = row["unsprung_mass_front"] + row["unsprung_mass_rear"]
        shifted = found["roll_arm"] * math.radians(found["roll_gradient"])
        heights = row["sprung_mass"] * (row["sprung_cg_height"] + shifted)
        heights += unsprung * row["loaded_radius"]
        assert taken == pytest.approx(GRAVITY * heights, rel=1e-12)


def test_parts_add_up() -> None:
    found = values(CHECK, VEHICLE)
    for axle in AXLES:
        parts = [found[f"transfer_{part}_{axle}"] for part in PARTS]
        assert found[f"transfer_{axle}"] == pytest.approx(sum(parts), rel=1e-14)


def test_roll_centres_at_the_mass_leave_no_roll() -> None:
    high = {f"roll_centre_{axle}": 745.0 for axle in AXLES}
    found = values(CHECK, VEHICLE | high)
    assert found["roll_arm"] == pytest.approx(0.0, abs=1e-12)
    assert found["roll_gradient"] == pytest.approx(0.0, abs=1e-12)
    carried = VEHICLE["sprung_mass"] * 0.52 * GRAVITY * 745.0 / 1560.0
    assert found["transfer_elastic_front"] == pytest.approx(0.0, abs=1e-9)
    assert found["transfer_geometric_front"] == pytest.approx(carried, rel=1e-13)


def test_roll_centres_on_the_ground_leave_the_split_to_the_springs() -> None:
    low = {f"roll_centre_{axle}": 0.0 for axle in AXLES}
    light = {f"unsprung_mass_{axle}": 0.0 for axle in AXLES}
    found = values(CHECK, VEHICLE | low | light)
    share = found["roll_stiffness_share_front"]
    assert found["transfer_share_front"] == pytest.approx(share, rel=1e-13)


def test_very_stiff_springs_share_by_stiffness_without_roll() -> None:
    stiff = {f"bar_stiffness_{axle}": 1e12 for axle in AXLES}
    found = values(CHECK, VEHICLE | stiff)
    assert found["roll_gradient"] == pytest.approx(0.0, abs=1e-8)
    assert found["roll_stiffness_share_front"] == pytest.approx(0.5, rel=1e-6)
    arm, weight = found["roll_arm"], VEHICLE["sprung_mass"] * GRAVITY
    assert found["transfer_elastic_front"] == pytest.approx(0.5 * weight * arm / 1560.0, rel=1e-6)


def test_springs_make_half_their_rate_times_the_track_squared() -> None:
    found = values(CHECK, VEHICLE | {"bar_stiffness_front": 0.0})
    wanted = 0.5 * 29e3 * 1.56**2
    assert found["roll_stiffness_front"] == pytest.approx(math.radians(wanted), rel=1e-14)


def test_a_stiffer_front_bar_moves_load_transfer_to_the_front() -> None:
    """Common practice, no source: and with it understeer at the limit."""
    soft, stiff = (values(CHECK, VEHICLE | {"bar_stiffness_front": bar}) for bar in (0.0, 900.0))
    assert stiff["transfer_share_front"] > soft["transfer_share_front"] + 0.05
    assert stiff["roll_gradient"] < soft["roll_gradient"]


def test_a_higher_rear_roll_centre_rolls_less_and_loads_the_rear() -> None:
    low, high = (values(CHECK, VEHICLE | {"roll_centre_rear": rc}) for rc in (74.0, 140.0))
    assert high["roll_gradient"] < low["roll_gradient"]
    assert high["transfer_share_front"] < low["transfer_share_front"]


def test_share_goes_into_the_vehicle_loads_as_it_is() -> None:
    """Both split one moment: with hardly any roll the outer wheel loads agree."""
    stiff = {"bar_stiffness_front": 4e9, "bar_stiffness_rear": 2e9}
    found = values(CHECK, VEHICLE | stiff)
    unsprung = VEHICLE["unsprung_mass_front"] + VEHICLE["unsprung_mass_rear"]
    whole = VEHICLE["sprung_mass"] + unsprung
    height = (VEHICLE["sprung_mass"] * 745.0 + unsprung * 345.0) / whole
    front = VEHICLE["sprung_mass"] * 0.52 + VEHICLE["unsprung_mass_front"]
    centre = (-2950.0 * (1.0 - front / whole), 0.0, height)
    loads = values(
        VEHICLE_LOADS,
        {f"mass_{trim}": whole for trim in ("kerb", "design", "laden")}
        | {f"cg_{trim}": centre for trim in ("kerb", "design", "laden")}
        | {f"track_{axle}": VEHICLE[f"track_{axle}"] for axle in AXLES}
        | {"wheelbase": 2950.0, "braking": 0.5, "brake_share_front": 0.6, "cornering": 0.4}
        | {"bump_factor": 3.0, "transfer_share_front": float(found["transfer_share_front"])},
    )
    for axle in AXLES:
        moved = loads[f"fz_{axle}_cornering"] - loads[f"fz_{axle}_static"]
        assert moved == pytest.approx(0.4 * found[f"transfer_{axle}"], rel=1e-7)


def test_a_body_its_springs_do_not_hold_up_falls_over() -> None:
    weak = {"wheel_rate_front": 1.0, "wheel_rate_rear": 1.0}
    bars = {f"bar_stiffness_{axle}": 0.0 for axle in AXLES}
    outputs = answer(CHECK, VEHICLE, VEHICLE | weak | bars)
    (problem,) = outputs.problems
    assert problem.reason == "the springs do not hold the body up: it falls over in roll"
    assert problem.rows.tolist() == [False, True]
    assert np.isnan(outputs.values["roll_gradient"]).tolist() == [False, True]


def test_unsprung_masses_need_their_height() -> None:
    row = {key: each for key, each in VEHICLE.items() if key != "loaded_radius"}
    (problem,) = answer(CHECK, row).problems
    assert problem.reason == "loaded_radius is not given: unsprung masses need it"
    assert "roll_gradient" not in problem.ports
    light = {f"unsprung_mass_{axle}": 0.0 for axle in AXLES}
    assert not answer(CHECK, row | light).problems


def test_nothing_to_move_has_no_share() -> None:
    flat = {"sprung_cg_height": 0.0, "roll_centre_front": 0.0, "roll_centre_rear": 0.0}
    light = {f"unsprung_mass_{axle}": 0.0 for axle in AXLES}
    (problem,) = answer(CHECK, VEHICLE | flat | light).problems
    assert problem.ports == ("transfer_share_front",)
    assert drawn(VEHICLE | flat | light)["wheel-loads"].series[0].x[-1] == 1.0


def drawn(row: Row) -> dict[str, Figure]:
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    return {figure.key: figure for figure in CHECK.figures(batch, {})}


def test_wheel_loads_start_standing_and_end_where_a_wheel_lifts() -> None:
    figure = drawn(VEHICLE)["wheel-loads"]
    assert figure.kind is FigureKind.CURVE
    found = values(CHECK, VEHICLE)
    front = 0.5 * (VEHICLE["sprung_mass"] * 0.52 + VEHICLE["unsprung_mass_front"]) * GRAVITY
    outer, inner, *_ = figure.series
    assert outer.y[0] == inner.y[0] == pytest.approx(front, rel=1e-12)
    assert outer.y[-1] - outer.y[0] == pytest.approx(found["transfer_front"] * outer.x[-1])
    assert min(series.y[-1] for series in figure.series) >= -1e-9
    tall = drawn(VEHICLE | {"sprung_cg_height": 1400.0, "bar_stiffness_front": 2000.0})
    last = [series.y[-1] for series in tall["wheel-loads"].series]
    assert min(last) == pytest.approx(0.0, abs=1e-6)


def test_listing_shows_the_parts() -> None:
    listing = drawn(VEHICLE)["parts"]
    found = values(CHECK, VEHICLE)
    assert listing.series[0].labels == (*PARTS.values(), "whole")
    assert listing.series[1].labels[-1] == f"{found['transfer_front']:+.0f}"


def test_a_senseless_row_draws_nothing() -> None:
    assert drawn(VEHICLE | {"sprung_mass": math.nan})["wheel-loads"].series[0].x == ()
