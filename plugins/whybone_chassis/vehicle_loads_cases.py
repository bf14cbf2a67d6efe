"""Axle loads and wheel load cases of a rigid vehicle on level ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Flags, Reals
from whybone_chassis.vehicle_loads_names import AXLES, CASES, TRIMS

__all__ = ["GRAVITY", "Axle", "loads", "step_slope"]

GRAVITY = 9.80665
"""m/s², ISO 80000-3."""
_SHARES = ("brake_share_front", "transfer_share_front", "drive_share_front")
_NEEDS = {
    "step": ("step_height", "loaded_radius"),
    "kerb": ("kerb_strike",),
    "drive": ("acceleration",),
}


@dataclass(frozen=True, slots=True)
class _Vehicle:
    """The vehicle in the trim of the load cases; lengths in mm, forces in N, shape (n,) each."""

    weight: Reals
    ahead: Reals
    aside: Reals
    height: Reals
    wheelbase: Reals
    tracks: dict[str, Reals]

    def axle_loads(self, forward: Reals) -> dict[str, Reals]:
        """Return both axle loads under a forward acceleration in g."""
        moved = self.ahead - self.height * forward
        front = self.weight * (1.0 + moved / self.wheelbase)
        return {"front": front, "rear": self.weight - front}


@dataclass(frozen=True, slots=True)
class Axle:
    """Load of an axle and of its wheels.

    Parameters
    ----------
    load, left : ndarray
        Both wheels, and the left one, N.
    """

    load: Reals
    left: Reals

    @property
    def right(self) -> Reals:
        """The right wheel, N."""
        return self.load - self.left


def step_slope(height: Reals, radius: Reals) -> Reals:
    """Return horizontal over vertical force of a wheel that rolls against a step.

    Parameters
    ----------
    height, radius : ndarray
        Step and loaded radius, same unit.

    Returns
    -------
    ndarray
        cot θ with sin θ = 1 − height/radius; NaN where the step reaches the wheel centre.

    Notes
    -----
    Brown, Robertson & Serpento, *Motor Vehicle Structures*, p. 22.
    """
    sine = 1.0 - height / radius
    climbable = (sine > 0.0) & (sine <= 1.0)
    # (1 − s)(1 + s) instead of 1 − s²: exact for low steps.
    slope: Reals = np.sqrt((1.0 - sine) * (1.0 + sine)) / sine
    return np.where(climbable, slope, np.nan)


def loads(inputs: Inputs) -> Outputs:
    """Work out axle loads and load cases of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `vehicle-loads`.

    Returns
    -------
    Outputs
        Forces in N; rows in which an axle lifts or the vehicle overturns have none of the case.
    """
    answers = Answers(inputs)
    answers.require_positive(inputs, ("wheelbase", "track_front", "track_rear"))
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        for trim in TRIMS:
            _axles(inputs, trim, answers)
        vehicle = _vehicle(inputs)
        static = _static(vehicle, answers)
        _vertical(inputs, static, answers)
        _braking(inputs, vehicle, answers)
        _cornering(inputs, vehicle, static, answers)
        _further(inputs, vehicle, static, answers)
    return answers.outputs()


def _ports(case: str) -> tuple[str, ...]:
    forces = CASES[case][1:]
    return tuple(f"{force}_{axle}_{case}" for axle in AXLES for force in forces)


def _examine(inputs: Inputs, answers: Answers) -> None:
    for port in _SHARES:
        share = inputs[port]
        answers.refuse(~((share >= 0.0) & (share <= 1.0)), f"{port} must lie between 0 and 1")
    for port, cases in (
        ("braking", "braking"),
        ("cornering", "cornering"),
        ("bump_factor", "bump"),
    ):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative", *_ports(cases))


def _axles(inputs: Inputs, trim: str, answers: Answers) -> None:
    mass, centre = inputs[f"mass_{trim}"], inputs[f"cg_{trim}"]
    share = 1.0 + centre[:, 0] / inputs["wheelbase"]
    weight = mass * GRAVITY
    answers.give(
        **{
            f"front_axle_load_{trim}": weight * share,
            f"rear_axle_load_{trim}": weight * (1.0 - share),
            f"front_share_{trim}": share,
        }
    )
    answers.refuse(~(mass > 0.0), f"mass_{trim} must be positive")
    answers.refuse(~((share >= 0.0) & (share <= 1.0)), f"cg_{trim} does not lie between the axles")
    answers.refuse(~(centre[:, 2] >= 0.0), f"cg_{trim} lies below the ground")


def _vehicle(inputs: Inputs) -> _Vehicle:
    """Take the vehicle in the trim each row asks for."""
    rows = np.arange(len(inputs["trim"]))
    masses = np.stack([inputs[f"mass_{trim}"] for trim in TRIMS])
    centres = np.stack([inputs[f"cg_{trim}"] for trim in TRIMS])[inputs["trim"], rows]
    return _Vehicle(
        weight=masses[inputs["trim"], rows] * GRAVITY,
        ahead=centres[:, 0],
        aside=centres[:, 1],
        height=centres[:, 2],
        wheelbase=inputs["wheelbase"],
        tracks={axle: inputs[f"track_{axle}"] for axle in AXLES},
    )


def _static(vehicle: _Vehicle, answers: Answers) -> dict[str, Axle]:
    """Share the standing axle loads between left and right."""
    axles = {}
    for axle, load in vehicle.axle_loads(np.zeros(answers.rows)).items():
        left = 0.5 + vehicle.aside / vehicle.tracks[axle]
        answers.refuse(
            ~((left >= 0.0) & (left <= 1.0)), f"the centre of gravity is outside the {axle} track"
        )
        axles[axle] = Axle(load, load * left)
    return axles


def _vertical(inputs: Inputs, static: dict[str, Axle], answers: Answers) -> None:
    for axle, each in static.items():
        bump = each.left * inputs["bump_factor"]
        answers.give(**{f"fz_{axle}_static": each.left, f"fz_{axle}_bump": bump})


def _braking(inputs: Inputs, vehicle: _Vehicle, answers: Answers) -> None:
    share = inputs["brake_share_front"]
    _along(vehicle, "braking", -inputs["braking"], share, answers)


def _along(vehicle: _Vehicle, case: str, forward: Reals, share: Reals, answers: Answers) -> None:
    """Give the loads of a forward acceleration in g, its force shared between the axles."""
    shares = {"front": share, "rear": 1.0 - share}
    for axle, load in vehicle.axle_loads(forward).items():
        answers.refuse(~(load >= 0.0), f"{case}: the {axle} axle lifts", *_ports(case))
        left = load * (0.5 + vehicle.aside / vehicle.tracks[axle])
        force = vehicle.weight * forward * shares[axle] / 2.0
        answers.give(**{f"fx_{axle}_{case}": force, f"fz_{axle}_{case}": left})


def _cornering(
    inputs: Inputs, vehicle: _Vehicle, static: dict[str, Axle], answers: Answers
) -> None:
    """Give the loads of the left wheels outside a turn; a lifted wheel's axle takes no more."""
    used = inputs["cornering"]
    moment = vehicle.weight * used * vehicle.height
    limits = {axle: static[axle].right * vehicle.tracks[axle] for axle in AXLES}
    front = np.minimum(moment * inputs["transfer_share_front"], limits["front"])
    rear = np.minimum(moment - front, limits["rear"])
    front = moment - rear  # more than at first only where the rear inner wheel has lifted
    over: Flags = ~(moment <= limits["front"] + limits["rear"])
    answers.refuse(over, "cornering: the vehicle overturns", *_ports("cornering"))
    for axle, taken in (("front", front), ("rear", rear)):
        outer = static[axle].left + taken / vehicle.tracks[axle]
        answers.give(**{f"fy_{axle}_cornering": -used * outer, f"fz_{axle}_cornering": outer})


def _further(inputs: Inputs, vehicle: _Vehicle, static: dict[str, Axle], answers: Answers) -> None:
    """Give the cases that are only asked for by their inputs."""
    zeros = np.zeros(answers.rows)
    for case, needed in _NEEDS.items():
        lacking = [port for port in needed if port not in inputs]
        for port in _ports(case):
            answers.give(**{port: zeros})
            if lacking:
                answers.leave_out(port, where=True, reason=f"{lacking[0]} is not given")
        if not lacking:
            _CASES[case](inputs, vehicle, static, answers)


def _step(inputs: Inputs, _: _Vehicle, static: dict[str, Axle], answers: Answers) -> None:
    height, radius = inputs["step_height"], inputs["loaded_radius"]
    slope = step_slope(height, radius)
    answers.refuse(~(radius > 0.0), "loaded_radius must be positive", *_ports("step"))
    answers.refuse(~(height >= 0.0), "step_height must not be negative", *_ports("step"))
    answers.refuse(
        np.isnan(slope),
        "step: it reaches the wheel centre, no wheel rolls over it",
        *_ports("step"),
    )
    for axle, each in static.items():
        answers.give(**{f"fx_{axle}_step": -each.left * slope, f"fz_{axle}_step": each.left})


def _kerb(inputs: Inputs, _: _Vehicle, static: dict[str, Axle], answers: Answers) -> None:
    strike = inputs["kerb_strike"]
    answers.refuse(~(strike >= 0.0), "kerb_strike must not be negative", *_ports("kerb"))
    for axle, each in static.items():
        answers.give(**{f"fy_{axle}_kerb": -each.load * strike, f"fz_{axle}_kerb": each.load})


def _drive(inputs: Inputs, vehicle: _Vehicle, _: dict[str, Axle], answers: Answers) -> None:
    forward = inputs["acceleration"]
    answers.refuse(~(forward >= 0.0), "acceleration must not be negative", *_ports("drive"))
    _along(vehicle, "drive", forward, inputs["drive_share_front"], answers)


_CASES = {"step": _step, "kerb": _kerb, "drive": _drive}
