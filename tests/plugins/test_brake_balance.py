"""The brake balance against root finding on an independent model, and its limiting cases."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from tracker.contract.check import Outputs
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.brake_balance import CHECK

GRAVITY = 9.80665
TRIMS = ("laden", "unladen")

# Invented light utility vehicle, rear drive.
VEHICLE: dict[str, Any] = {
    "mass_laden": 2300.0,
    "mass_unladen": 1650.0,
    "cg_laden": (-1603.0, 0.0, 700.0),
    "cg_unladen": (-1330.0, 0.0, 640.0),
    "wheelbase": 2950.0,
    "vehicle_class": "N1",
    "piston_area_front": 2850.0,
    "piston_area_rear": 1450.0,
    "effective_radius_front": 122.0,
    "effective_radius_rear": 120.0,
    "pad_friction_front": 0.38,
    "pad_friction_rear": 0.38,
    "tyre_radius": 345.0,
    "deceleration": 0.6,
    "road_friction": 0.7,
    "rolling_resistance": 0.015,
}
VALVE = {"distribution": "valve", "knee_pressure": 25.0, "pressure_slope": 0.3}
SPLITS: dict[str, dict[str, Any]] = {
    "fixed": {},
    "valve": VALVE,
    "limiter": {**VALVE, "pressure_slope": 0.0},
    "electronic": {"distribution": "follows-load"},
    "fixed, motors behind": {"regenerative_share": 0.3},
    "fixed, motors ahead": {"regenerative_share": 0.3, "regenerative_axle": "front"},
    "valve, motors behind": {**VALVE, "regenerative_share": 0.2},
    "electronic, motors behind": {"distribution": "follows-load", "regenerative_share": 0.5},
    "electronic, motors ahead": {
        "distribution": "follows-load",
        "regenerative_share": 0.6,
        "regenerative_axle": "front",
    },
    "motors only": {"regenerative_share": 1.0},
}


def answer(**changes: object) -> Outputs:
    row = {**VEHICLE, **changes}
    return CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})


def run(**changes: object) -> dict[str, float]:
    outputs = answer(**changes)
    assert not outputs.problems
    return {port: float(values[0]) for port, values in outputs.values.items()}


def reasons(**changes: object) -> dict[str, str]:
    found: dict[str, str] = {}
    for problem in answer(**changes).problems:
        for port in problem.ports or ("all",):
            found.setdefault(port, problem.reason)
    return found


class Stop:
    """The braked vehicle driven by its pedal, written apart from the check.

    Pressure, or pedal share, goes up until a wanted braking rate is reached; the motors add their
    share of the whole.
    """

    def __init__(self, row: Row, trim: str) -> None:
        self.row, self.weight = row, row[f"mass_{trim}"] * GRAVITY
        self.behind, _, self.height = row[f"cg_{trim}"]
        self.share = row.get("regenerative_share", 0.0)
        self.ahead = row.get("regenerative_axle", "rear") == "front"
        self.law = row.get("distribution", "fixed")

    def loads(self, rate: float) -> np.ndarray:
        """Moments about the rear contact: inertia at the centre of gravity."""
        length, slowed = self.row["wheelbase"], rate + self.row["rolling_resistance"]
        front = (length + self.behind + self.height * slowed) / length * self.weight
        return np.array([front, self.weight - front])

    def disc(self, axle: str, pressure: float) -> float:
        """Axle force of a pressure in Pa: two discs, two pads each."""
        row = self.row
        clamp = pressure * row[f"piston_area_{axle}"] * 1e-6
        torque = 2 * clamp * row[f"pad_friction_{axle}"] * row[f"effective_radius_{axle}"] * 1e-3
        return float(2 * torque / (row["tyre_radius"] * 1e-3))

    def discs(self, pressure: float) -> np.ndarray:
        rear = pressure
        if self.law == "valve":
            knee = self.row["knee_pressure"] * 1e5
            rear = min(pressure, knee + self.row["pressure_slope"] * (pressure - knee))
        return np.array([self.disc("front", pressure), self.disc("rear", rear)])

    def forces(self, rate: float) -> np.ndarray:
        whole = rate * self.weight
        motors = whole * self.share * np.array([self.ahead, not self.ahead])
        rest = whole * (1 - self.share)
        if self.law == "follows-load":
            wanted = rate * self.loads(rate) - motors
            if wanted.min() < 0.0:  # one axle has more than its due from the motors alone
                wanted = np.where(wanted < 0.0, 0.0, rest)
            return np.asarray(motors + wanted)
        pressure = float(
            brentq(lambda p: self.discs(p).sum() - rest, 0.0, 1e9, xtol=1e-6, rtol=1e-15)
        )
        return np.asarray(motors + self.discs(pressure))

    def adhesion(self, rate: float) -> np.ndarray:
        used: np.ndarray = self.forces(rate) / self.loads(rate)
        return used

    def lock(self, axle: int, friction: float) -> float:
        most = 0.999 * self.weight_off()
        return float(
            brentq(lambda rate: self.adhesion(rate)[axle] - friction, 1e-6, most, xtol=1e-14)
        )

    def weight_off(self) -> float:
        """Braking rate at which the rear axle lifts."""
        return float(-self.behind / self.height - self.row["rolling_resistance"])


@pytest.mark.parametrize("trim", TRIMS)
@pytest.mark.parametrize("split", SPLITS)
def test_working_point_is_that_of_the_independent_model(split: str, trim: str) -> None:
    row = {**VEHICLE, **SPLITS[split]}
    found, stop = run(**row), Stop(row, trim)
    rate = row["deceleration"] - row["rolling_resistance"]
    forces, loads = stop.forces(rate), stop.loads(rate)
    for place, axle in enumerate(("front", "rear")):
        assert found[f"load_{axle}_{trim}"] == pytest.approx(loads[place], rel=1e-12)
        used = found[f"adhesion_{axle}_{trim}"]
        assert used == pytest.approx(forces[place] / loads[place], rel=1e-10, abs=1e-12)
        motors = stop.share * rate * stop.weight if (axle == "front") is stop.ahead else 0.0
        friction = forces[place] - motors
        torque = friction * row["tyre_radius"] * 1e-3 / 2
        assert found[f"torque_{axle}_{trim}"] == pytest.approx(torque, rel=1e-9, abs=1e-6)
        pressure = found[f"pressure_{axle}_{trim}"] * 1e5
        assert stop.disc(axle, pressure) == pytest.approx(friction, rel=1e-9, abs=1e-6)
    assert found[f"brake_share_front_{trim}"] == pytest.approx(forces[0] / forces.sum(), rel=1e-10)


@pytest.mark.parametrize("trim", TRIMS)
@pytest.mark.parametrize("friction", [0.15, 0.45, 0.9])
@pytest.mark.parametrize("split", SPLITS)
def test_locking_is_where_the_independent_model_uses_the_friction_up(
    split: str, friction: float, trim: str
) -> None:
    row = {**VEHICLE, **SPLITS[split], "road_friction": friction}
    outputs, stop = answer(**row), Stop(row, trim)
    absent = {absence.port: absence.reason for absence in outputs.absences}
    for place, axle in enumerate(("front", "rear")):
        port = f"lock_{axle}_{trim}"
        if port in absent:
            assert absent[port] == "it never locks on this road"
            assert stop.adhesion(0.999 * stop.weight_off())[place] < friction
            continue
        found = outputs.values[port][0] - row["rolling_resistance"]
        if found < 0.999 * stop.weight_off():
            assert found == pytest.approx(stop.lock(place, friction), rel=1e-9)


@pytest.mark.parametrize("trim", TRIMS)
@pytest.mark.parametrize("split", ["fixed", "valve", "limiter", "fixed, motors behind"])
@pytest.mark.parametrize(("vehicle", "slope", "last"), [("M1", 0.7, 0.8), ("N1", 0.85, 0.5)])
def test_margins_are_the_least_of_a_fine_search(
    vehicle: str, slope: float, last: float, split: str, trim: str
) -> None:
    row = {**VEHICLE, **SPLITS[split], "vehicle_class": vehicle}
    found, stop = run(**row), Stop(row, trim)

    def over_rate(road: float) -> float:
        reached = min(stop.lock(axle, road) for axle in (0, 1))
        return reached - (0.1 + slope * (road - 0.2))

    def over_order(rate: float) -> float:
        front, rear = stop.adhesion(rate)
        return float(front - rear)

    assert found[f"rate_margin_{trim}"] == pytest.approx(least(over_rate, 0.2, 0.8), abs=1e-5)
    assert found[f"order_margin_{trim}"] == pytest.approx(least(over_order, 0.15, last), abs=1e-5)


def least(function: Callable[[float], float], low: float, high: float) -> float:
    """Return the least of a function with several valleys, from a coarse start."""
    points = np.linspace(low, high, 25)
    best = min(points, key=function)
    step = points[1] - points[0]
    fine = minimize_scalar(
        function, bounds=(max(low, best - step), min(high, best + step)), method="bounded"
    )
    return min(function(best), float(fine.fun))


def test_lock_order_is_told_and_turns_with_the_road() -> None:
    ports = {port.key: port for port in CHECK.manifest({}).outputs}
    choices = ports["first_to_lock_laden"].choices
    slippery = answer(road_friction=0.2).values["first_to_lock_unladen"][0]
    grippy = answer(road_friction=1.0).values["first_to_lock_unladen"][0]
    assert choices[slippery] == "front"
    assert choices[grippy] == "rear"
    even = answer(distribution="follows-load").values["first_to_lock_laden"][0]
    assert choices[even] == "together"


def test_forces_that_follow_the_load_reach_the_friction_of_the_road() -> None:
    found = run(distribution="follows-load", rolling_resistance=0.0)
    for trim in TRIMS:
        assert found[f"lock_front_{trim}"] == pytest.approx(0.7, rel=1e-14)
        assert found[f"lock_rear_{trim}"] == pytest.approx(0.7, rel=1e-14)
        assert found[f"adhesion_front_{trim}"] == pytest.approx(0.6, rel=1e-13)
        assert found[f"order_margin_{trim}"] == pytest.approx(0.0, abs=1e-13)
        # z = k: 0.1 + 0.85 (k − 0.2) is nearest at k = 0.8, 0.61.
        assert found[f"rate_margin_{trim}"] == pytest.approx(0.2 - 0.1, rel=1e-12)


def test_standing_loads_and_no_braking() -> None:
    found = run(deceleration=0.0, rolling_resistance=0.0)
    for trim in TRIMS:
        loads = [found[f"static_load_{axle}_{trim}"] for axle in ("front", "rear")]
        assert sum(loads) == pytest.approx(VEHICLE[f"mass_{trim}"] * GRAVITY, rel=1e-14)
        assert found[f"load_front_{trim}"] == loads[0]
        assert found[f"torque_front_{trim}"] == 0.0
        assert found[f"adhesion_rear_{trim}"] == 0.0
        assert 0.5 < found[f"brake_share_front_{trim}"] < 0.8


def test_knee_at_nothing_and_slope_one_are_no_valve() -> None:
    plain, open_valve = run(), run(**{**VALVE, "pressure_slope": 1.0})
    assert open_valve == pytest.approx(plain, rel=1e-12, nan_ok=True)
    shut = run(**{**VALVE, "knee_pressure": 0.0, "pressure_slope": 0.0})
    assert shut["brake_share_front_laden"] == 1.0
    assert shut["pressure_rear_laden"] == 0.0


def test_valve_lets_the_rear_lock_later() -> None:
    assert run(**VALVE)["lock_rear_unladen"] > run()["lock_rear_unladen"]
    assert run(**VALVE)["lock_front_unladen"] < run()["lock_front_unladen"]


def test_front_axle_without_brakes_to_speak_of_never_locks() -> None:
    outputs = answer(piston_area_front=1e-3, cg_laden=(-2900.0, 0.0, 700.0))
    assert "lock_front_laden" in {absence.port for absence in outputs.absences}


def test_stopping_distance_is_response_and_braking() -> None:
    found = run(initial_speed=80.0, response_time=0.2)
    for trim in TRIMS:
        rate = min(found[f"lock_{axle}_{trim}"] for axle in ("front", "rear"))
        speed = 80.0 / 3.6
        braking = speed**2 / 2 / (rate * GRAVITY)
        assert found[f"stopping_distance_{trim}"] == pytest.approx(speed * 0.2 + braking)
    later = run(initial_speed=80.0)["stopping_distance_laden"]
    assert later - found["stopping_distance_laden"] == pytest.approx(80.0 / 3.6 * (0.54 - 0.2))


def test_without_a_speed_there_are_no_distances() -> None:
    told = {absence.port: absence.reason for absence in answer().absences}
    assert told == dict.fromkeys(
        ("stopping_distance_laden", "stopping_distance_unladen", "stopping_limit"),
        "initial_speed is not given",
    )


@pytest.mark.parametrize("lacking", ["knee_pressure", "pressure_slope"])
def test_valve_without_its_numbers_is_told(lacking: str) -> None:
    valve = {key: value for key, value in VALVE.items() if key != lacking}
    assert lacking in reasons(**valve)["all"]


def test_lifting_rear_axle_is_told() -> None:
    tall = {"cg_unladen": (-300.0, 0.0, 900.0)}
    told = reasons(**tall)
    assert told["adhesion_rear_unladen"] == "unladen: the rear axle lifts at this deceleration"
    assert "lifts at a braking rate" in told["order_margin_unladen"]
    assert "adhesion_rear_laden" not in told


def drawn(**changes: object) -> dict[str, Figure]:
    row = {**VEHICLE, **changes}
    batch = Subject(check=CHECK, rows=[row]).batch([row])
    return {figure.key: figure for figure in CHECK.figures(batch, {})}


def test_curves_show_both_axles_and_the_line_asked_for() -> None:
    figures = drawn()
    assert set(figures) == {"adhesion-laden", "adhesion-unladen"}
    front, rear, even, allowed = figures["adhesion-laden"].series
    assert front.title == "front"
    assert rear.y[0] > 0.0
    assert even.x == even.y
    assert allowed.x == pytest.approx((0.1, 0.61))
    assert allowed.y == (0.2, 0.8)


def test_nothing_is_drawn_of_a_senseless_stop() -> None:
    assert drawn(initial_speed=50.0, wheelbase=0.0)["stop"].series[0].x == ()


def draw(generator: np.random.Generator) -> Row:
    """Draw a vehicle that keeps its rear axle down up to a braking rate of 0.8."""
    row = {
        key: value * float(generator.uniform(0.85, 1.15)) if isinstance(value, float) else value
        for key, value in VEHICLE.items()
    }
    for trim in TRIMS:
        x, z = generator.uniform((-1800.0, 500.0), (-1100.0, 700.0)).tolist()
        row[f"cg_{trim}"] = (x, 0.0, z)
    row["vehicle_class"] = str(generator.choice(["M1", "N1", "N2"]))
    row["distribution"] = str(generator.choice(["fixed", "valve", "follows-load"]))
    row["knee_pressure"] = float(generator.uniform(0.0, 60.0))
    row["pressure_slope"] = float(generator.uniform(0.0, 1.0))
    row["regenerative_share"] = float(generator.uniform(0.0, 0.4))
    row["regenerative_axle"] = str(generator.choice(["front", "rear"]))
    return row


def draw_stop(generator: np.random.Generator) -> Row:
    return {
        **draw(generator),
        "initial_speed": float(generator.uniform(0.0, 130.0)),
        "response_time": float(generator.uniform(0.0, 0.6)),
    }


BAD: list[Row] = [
    *(
        {key: 0.0}
        for key in ("mass_laden", "wheelbase", "piston_area_rear", "tyre_radius", "road_friction")
    ),
    {"pad_friction_front": -0.3},
    {"cg_laden": (100.0, 0.0, 700.0)},
    {"cg_unladen": (-1300.0, 0.0, -1.0)},
    {"deceleration": -0.1},
    {"deceleration": 5.0},
    {"rolling_resistance": -0.1},
    {"regenerative_share": 1.1},
    {"distribution": "valve", "knee_pressure": -1.0},
    {"distribution": "valve", "pressure_slope": 1.5},
    {"mass_unladen": 1e308},
]
BAD_STOP: list[Row] = [{"initial_speed": -1.0}, {"response_time": -1.0}]
KEPT = {"km": 1.0, "h": 1.0, "s": 1.0, "g": 1.0}


@pytest.mark.parametrize(
    ("draw_row", "bad", "length"), [(draw, BAD, 2.0), (draw_stop, BAD_STOP, 1.0)]
)
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, draw_row: object, bad: list[Row], length: float) -> None:
    # The regulation's distances hold in metres and km/h, so only without them may lengths change.
    pressure = 3.0 / length**2
    subject = Subject(
        check=CHECK,
        rows=draw_row,  # type: ignore[arg-type]  # one of the two functions above
        degenerate=bad,
        scalings=[
            {**KEPT, "kg": 3.0, "N": 3.0, "mm": length, "m": length, "bar": pressure},
        ],
    )
    PROMISES[promise](subject)
