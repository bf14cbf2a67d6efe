"""Outputs of the brake balance, from the model of the braked vehicle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.brake_balance_classes import CLASSES, LEAST_RATE, LOWEST_ADHESION
from whybone_chassis.brake_balance_model import Brakes, Trim
from whybone_chassis.brake_balance_names import AXLES, LAWS, ORDERS, TRIMS

__all__ = [
    "GRAVITY",
    "balance",
    "brakes_of",
    "least_rate",
    "of_class",
    "response_of",
    "trim_of",
]

GRAVITY = 9.80665
"""m/s², ISO 80000-3."""

_MM, _BAR, _KMH = 1000.0, 1e5, 3.6
_ROADS = np.linspace(LOWEST_ADHESION, 0.8, 61)[None, :]
_FIRST_RATE = 0.15
_RATES = np.linspace(_FIRST_RATE, 0.8, 66)[None, :]
_ALIKE = 1e-9  # relative: locking rates this close differ by rounding only
_DISTANCES = (*(f"stopping_distance_{trim}" for trim in TRIMS), "stopping_limit")
_SIZES = {
    "mass": TRIMS,
    "piston_area": AXLES,
    "effective_radius": AXLES,
    "pad_friction": AXLES,
}
_POSITIVE = (
    "wheelbase",
    "tyre_radius",
    "road_friction",
    *(f"{key}_{end}" for key, ends in _SIZES.items() for end in ends),
)


def of_class(inputs: Inputs, field: str) -> Reals:
    """Return a requirement of each row's vehicle class, shape (n,)."""
    values = np.array([getattr(each, field) for each in CLASSES.values()])
    picked: Reals = values[inputs["vehicle_class"]]
    return picked


def least_rate(slope: Reals, adhesion: Reals) -> Reals:
    """Return the least braking rate asked for at an adhesion: 0.1 + slope·(k − 0.2)."""
    rate: Reals = LEAST_RATE + slope * (adhesion - LOWEST_ADHESION)
    return rate


def trim_of(inputs: Inputs, trim: str) -> Trim:
    """Return the vehicle in a trim, arrays (n, 1)."""
    weight, centre = inputs[f"mass_{trim}"] * GRAVITY, inputs[f"cg_{trim}"]
    return Trim(
        weight=weight[:, None],
        front=(weight * (1.0 + centre[:, 0] / inputs["wheelbase"]))[:, None],
        lift=(centre[:, 2] / inputs["wheelbase"])[:, None],
        rolling=inputs["rolling_resistance"][:, None],
    )


def brakes_of(inputs: Inputs) -> Brakes:
    """Return the brakes, arrays (n, 1)."""
    # Two wheels an axle, two pads a disc: 4 · μ · A · r / R.
    forces = {
        axle: 4.0
        * inputs[f"pad_friction_{axle}"]
        * inputs[f"piston_area_{axle}"]
        / _MM**2
        * inputs[f"effective_radius_{axle}"]
        / inputs["tyre_radius"]
        for axle in AXLES
    }
    has_valve = inputs["distribution"] == LAWS.index("valve")
    rows = np.ones(len(has_valve))
    return Brakes(
        front=forces["front"][:, None],
        rear=forces["rear"][:, None],
        knee=np.where(has_valve, inputs.get("knee_pressure", rows) * _BAR, np.inf)[:, None],
        slope=np.where(has_valve, inputs.get("pressure_slope", rows), 1.0)[:, None],
        follows_load=(inputs["distribution"] == LAWS.index("follows-load"))[:, None],
        motors=inputs["regenerative_share"][:, None],
        motors_front=(inputs["regenerative_axle"] == AXLES.index("front"))[:, None],
    )


def response_of(inputs: Inputs) -> Reals:
    """Return the response time, s, shape (n,)."""
    given: Reals = inputs.get("response_time", of_class(inputs, "response"))
    return given


def balance(inputs: Inputs) -> Outputs:
    """Work out the balance of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `brake-balance`.

    Returns
    -------
    Outputs
        One value per row and port; rows whose rear axle lifts at the working point have none of
        its values.
    """
    answers = Answers(inputs)
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        brakes = brakes_of(inputs)
        for name in TRIMS:
            trim = trim_of(inputs, name)
            case = _Case(name, brakes, trim, answers)
            case.working_point(inputs)
            case.locking(inputs["road_friction"][:, None])
            case.margins(of_class(inputs, "slope")[:, None], of_class(inputs, "order_up_to"))
            case.stop(inputs)
        _limit(inputs, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    answers.require_positive(inputs, _POSITIVE)
    for port in ("deceleration", "rolling_resistance"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative")
    share = inputs["regenerative_share"]
    answers.refuse(
        ~((share >= 0.0) & (share <= 1.0)), "regenerative_share must lie between 0 and 1"
    )
    for name in TRIMS:
        ahead, height = inputs[f"cg_{name}"][:, 0], inputs[f"cg_{name}"][:, 2]
        between = (ahead <= 0.0) & (ahead >= -inputs["wheelbase"])
        answers.refuse(~between, f"cg_{name} does not lie between the axles")
        answers.refuse(~(height >= 0.0), f"cg_{name} lies below the ground")
    _examine_valve(inputs, answers)
    for port in ("initial_speed", "response_time"):
        if port in inputs:
            answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative", *_DISTANCES)


def _examine_valve(inputs: Inputs, answers: Answers) -> None:
    has_valve = inputs["distribution"] == LAWS.index("valve")
    nothing = np.full(answers.rows, np.nan)
    knee = inputs.get("knee_pressure", nothing)
    slope = inputs.get("pressure_slope", nothing)
    answers.refuse(has_valve & ~(knee >= 0.0), "the valve needs a knee_pressure, 0 or more")
    answers.refuse(
        has_valve & ~((slope >= 0.0) & (slope <= 1.0)), "the valve needs a pressure_slope, 0 to 1"
    )


@dataclass(frozen=True, slots=True)
class _Case:
    """One trim of the vehicle, and where its outputs go."""

    name: str
    brakes: Brakes
    trim: Trim
    answers: Answers

    def give(self, key: str, *values: Reals | NDArray[np.int64]) -> None:
        """Give an output of the trim: one value, or one for each axle."""
        keys = [key] if len(values) == 1 else [f"{key}_{axle}" for axle in AXLES]
        for each, value in zip(keys, values, strict=True):
            self.answers.give(**{f"{each}_{self.name}": value.reshape(-1)})

    def working_point(self, inputs: Inputs) -> None:
        """Give loads, pressures, torques and adhesion at the deceleration asked for."""
        rate = np.maximum(inputs["deceleration"][:, None] - self.trim.rolling, 0.0)
        loads = self.trim.loads(rate)
        forces = self.brakes.forces(self.trim, rate)
        friction = (forces.front_friction, forces.rear_friction)
        self.give("static_load", self.trim.front, self.trim.weight - self.trim.front)
        self.give("load", *loads)
        gains = (self.brakes.front, self.brakes.rear)
        self.give("pressure", *(f / gain / _BAR for f, gain in zip(friction, gains, strict=True)))
        radius = inputs["tyre_radius"][:, None] / _MM
        self.give("torque", *(force * radius / 2.0 for force in friction))
        self.give("adhesion", forces.front / loads[0], forces.rear / loads[1])
        share = self.brakes.forces(self.trim, np.maximum(rate, np.finfo(float).tiny))
        self.give("brake_share_front", share.front / (share.front + share.rear))
        lifted = ~(loads[1][:, 0] > 0.0)
        ports = [f"{key}_{axle}_{self.name}" for key in ("load", "adhesion") for axle in AXLES]
        self.answers.refuse(
            lifted, f"{self.name}: the rear axle lifts at this deceleration", *ports
        )

    def locking(self, friction: Reals) -> None:
        """Give the decelerations at which the axles lock on a road."""
        front, rear = self.brakes.locking(self.trim, friction)
        self.give("lock", front + self.trim.rolling, rear + self.trim.rolling)
        for axle, rate in zip(AXLES, (front, rear), strict=True):
            self.answers.leave_out(
                f"lock_{axle}_{self.name}", np.isinf(rate[:, 0]), "it never locks on this road"
            )
        alike = np.abs(front - rear) <= _ALIKE * np.abs(rear)
        order = np.where(front < rear, ORDERS.index("front"), ORDERS.index("rear"))
        self.give("first_to_lock", np.where(alike, ORDERS.index("together"), order))

    def margins(self, slope: Reals, order_up_to: Reals) -> None:
        """Give the margins against the regulation, the valve's knee among the points looked at."""
        knee = self.brakes.knee_rate(self.trim)
        at_knee = self._adhesion(np.where(np.isfinite(knee), knee, _FIRST_RATE))
        roads = [np.clip(each, _ROADS[0, 0], _ROADS[0, -1]) for each in at_knee]
        points = np.concatenate([np.broadcast_to(_ROADS, (len(knee), _ROADS.size)), *roads], axis=1)
        reached = np.minimum(*self.brakes.locking(self.trim, points))
        self.give("rate_margin", (reached - least_rate(slope, points)).min(axis=-1))
        last = order_up_to[:, None]
        rates = np.minimum(_RATES, last)
        rates = np.concatenate([rates, np.clip(knee, _FIRST_RATE, last)], axis=1)
        front, rear = self._adhesion(rates)
        self.give("order_margin", (front - rear).min(axis=-1))
        self.answers.refuse(
            np.isinf(rear.max(axis=-1)),
            f"{self.name}: the rear axle lifts at a braking rate the lock order is judged at",
            f"order_margin_{self.name}",
        )

    def _adhesion(self, rate: Reals) -> tuple[Reals, Reals]:
        loads = self.trim.loads(rate)
        forces = self.brakes.forces(self.trim, rate)
        # A lifted rear axle that is still braked uses more adhesion than any road has.
        rear = np.where(loads[1] > 0.0, forces.rear / loads[1], np.inf)
        return forces.front / loads[0], rear

    def stop(self, inputs: Inputs) -> None:
        """Give the distance of a stop on the road, just not locking."""
        port = f"stopping_distance_{self.name}"
        if "initial_speed" not in inputs:
            self.answers.give(**{port: np.zeros(self.answers.rows)})
            self.answers.leave_out(port, where=True, reason="initial_speed is not given")
            return
        speed = inputs["initial_speed"] / _KMH
        friction = inputs["road_friction"][:, None]
        rate = np.minimum(*self.brakes.locking(self.trim, friction)) + self.trim.rolling
        braking = speed * speed / (2.0 * rate[:, 0] * GRAVITY)
        self.answers.give(**{port: speed * response_of(inputs) + braking})


def _limit(inputs: Inputs, answers: Answers) -> None:
    if "initial_speed" not in inputs:
        answers.give(stopping_limit=np.zeros(answers.rows))
        answers.leave_out("stopping_limit", where=True, reason="initial_speed is not given")
        return
    speed = inputs["initial_speed"] / _KMH
    braking = speed * speed / (2.0 * of_class(inputs, "deceleration"))
    answers.give(stopping_limit=speed * of_class(inputs, "response") + braking)
