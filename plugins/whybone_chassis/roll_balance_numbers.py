"""Roll and load transfer of a rigid body on two axles, batched."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.corner_ports import AXLES
from whybone_chassis.roll_balance import PARTS

__all__ = ["Vehicle", "solve", "static_loads", "vehicle"]

_GRAVITY = 9.80665  # m/s², ISO 80000-3
_MM = 1e3  # mm in one m
_POSITIVE = ("sprung_mass", *(f"track_{axle}" for axle in AXLES))
_FROM_ZERO = (
    "sprung_cg_height",
    *(
        f"{key}_{axle}"
        for key in ("wheel_rate", "bar_stiffness", "unsprung_mass")
        for axle in AXLES
    ),
)
_UNSPRUNG = tuple(f"transfer_{part}{axle}" for axle in AXLES for part in ("", "unsprung_"))


@dataclass(frozen=True, slots=True)
class Vehicle:
    """How a vehicle takes one g of lateral acceleration, shape (n,) each.

    Parameters
    ----------
    arm : ndarray
        Height of the sprung mass above the roll axis, mm.
    stiffness : mapping of str to ndarray
        Roll stiffness by axle, N·m/rad.
    spare : ndarray
        Roll stiffness of both axles less what the weight takes as the body leans, N·m/rad.
    roll : ndarray
        Suspension roll, rad.
    transfer : mapping of (str, str) to ndarray
        Load from the inner to the outer wheel by axle and part, N.
    """

    arm: Reals
    stiffness: dict[str, Reals]
    spare: Reals
    roll: Reals
    transfer: dict[tuple[str, str], Reals]

    def whole(self, axle: str) -> Reals:
        """Load transfer of an axle, N."""
        elastic, geometric, unsprung = (self.transfer[axle, part] for part in PARTS)
        return elastic + geometric + unsprung


def _shares(inputs: Inputs) -> dict[str, Reals]:
    front = inputs["sprung_share_front"]
    return {"front": front, "rear": 1.0 - front}


def static_loads(inputs: Inputs) -> dict[str, Reals]:
    """Load of each standing axle, N."""
    return {
        axle: (inputs["sprung_mass"] * share + inputs[f"unsprung_mass_{axle}"]) * _GRAVITY
        for axle, share in _shares(inputs).items()
    }


def vehicle(inputs: Inputs) -> Vehicle:
    """Work out how vehicles take one g of lateral acceleration.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `roll-balance`.
    """
    shares = _shares(inputs)
    centres = {axle: inputs[f"roll_centre_{axle}"] for axle in AXLES}
    axis = centres["front"] * shares["front"] + centres["rear"] * shares["rear"]
    arm = inputs["sprung_cg_height"] - axis
    weight = inputs["sprung_mass"] * _GRAVITY
    stiffness = {axle: _stiffness(inputs, axle) for axle in AXLES}
    spare = stiffness["front"] + stiffness["rear"] - weight * arm / _MM
    roll = weight * arm / _MM / spare
    wheel_height = inputs.get("loaded_radius", np.zeros_like(arm))
    transfer = {}
    for axle in AXLES:
        track = inputs[f"track_{axle}"]
        own = inputs[f"unsprung_mass_{axle}"] * _GRAVITY
        transfer[axle, "elastic"] = stiffness[axle] * roll * _MM / track
        transfer[axle, "geometric"] = weight * shares[axle] * centres[axle] / track
        transfer[axle, "unsprung"] = own * wheel_height / track
    return Vehicle(arm, stiffness, spare, roll, transfer)


def _stiffness(inputs: Inputs, axle: str) -> Reals:
    """Roll stiffness of an axle's springs and bar, N·m/rad."""
    half = 0.5 * inputs[f"track_{axle}"]
    springs = 2.0 * inputs[f"wheel_rate_{axle}"] * half * half / _MM
    stiffness: Reals = springs + np.degrees(inputs[f"bar_stiffness_{axle}"])
    return stiffness


def solve(inputs: Inputs) -> Outputs:
    """Work out roll gradient and load transfer of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `roll-balance`, shape (n,) each.

    Returns
    -------
    Outputs
        One value per row and port; rows that fall over for lack of roll stiffness have none.
    """
    answers = Answers(inputs)
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        found = vehicle(inputs)
        answers.refuse(
            ~(found.spare > 0.0), "the springs do not hold the body up: it falls over in roll"
        )
        _answer(inputs, found, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    answers.require_positive(inputs, _POSITIVE)
    share = inputs["sprung_share_front"]
    answers.refuse(
        ~((share >= 0.0) & (share <= 1.0)), "sprung_share_front must lie between 0 and 1"
    )
    for port in _FROM_ZERO:
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative")
    if "loaded_radius" in inputs:
        answers.require_positive(inputs, ("loaded_radius",))
        return
    heavy = (inputs["unsprung_mass_front"] > 0.0) | (inputs["unsprung_mass_rear"] > 0.0)
    concerned = ("transfer_share_front", *_UNSPRUNG)
    answers.refuse(heavy, "loaded_radius is not given: unsprung masses need it", *concerned)


def _answer(inputs: Inputs, found: Vehicle, answers: Answers) -> None:
    front, rear = (found.stiffness[axle] for axle in AXLES)
    moments = {axle: found.whole(axle) * inputs[f"track_{axle}"] for axle in AXLES}
    whole = moments["front"] + moments["rear"]
    idle = (found.spare > 0.0) & ~(whole > 0.0)
    answers.refuse(idle, "no load is moved: all heights are zero", "transfer_share_front")
    answers.give(
        roll_gradient=np.degrees(found.roll),
        roll_arm=found.arm,
        roll_stiffness_front=np.radians(front),
        roll_stiffness_rear=np.radians(rear),
        roll_stiffness_share_front=front / (front + rear),
        transfer_front=found.whole("front"),
        transfer_rear=found.whole("rear"),
        transfer_share_front=moments["front"] / whole,
        **{f"transfer_{part}_{axle}": each for (axle, part), each in found.transfer.items()},
    )
