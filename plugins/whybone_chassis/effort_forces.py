"""Steering-wheel torque and rim force, driving and parking."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.effort_limits import LIMITS

__all__ = ["efforts", "jacking_moment", "limits_of", "scrub_moment", "wheel_torque"]

_DECA = 10.0  # N in one daN
_MM = 1000.0  # mm in one m
_TURN = 2.0 * np.pi
_SQUARE = 90.0  # deg: a steering axis that lies down, a wheel that stands across
_PARKING = ("wheel_load", "friction", "scrub_arm", "inclination", "offset", "steer_angle", "ratio")
_PARKED = ("scrub_moment", "jacking_moment", "parking_rack_force", "parking_torque")


def wheel_torque(rack_force: Reals, c_factor: Reals, efficiency: Reals) -> Reals:
    """Return the steering-wheel torque of a rack force by the balance of work.

    Parameters
    ----------
    rack_force : ndarray
        N.
    c_factor : ndarray
        mm/rev.
    efficiency : ndarray
        Of gear and column.

    Returns
    -------
    ndarray
        N·m.
    """
    torque: Reals = rack_force * (c_factor / _MM) / (_TURN * efficiency)
    return torque


def scrub_moment(load: Reals, friction: Reals, arm: Reals) -> Reals:
    """Return the moment of a wheel's ground friction about its steering axis, N·m (arm in mm)."""
    moment: Reals = load * friction * (arm / _MM)
    return moment


def jacking_moment(load: Reals, offset: Reals, inclination: Reals, steer: Reals) -> Reals:
    """Return the moment about an inclined steering axis that lifts the vehicle.

    Parameters
    ----------
    load : ndarray
        Wheel load, N.
    offset : ndarray
        Scrub radius, mm.
    inclination, steer : ndarray
        deg.

    Returns
    -------
    ndarray
        W·d·sin λ·cos λ·sin δ in N·m.
    """
    lean = np.radians(inclination)
    lift = np.sin(lean) * np.cos(lean) * np.sin(np.radians(np.abs(steer)))
    moment: Reals = load * (offset / _MM) * lift
    return moment


def limits_of(inputs: Inputs) -> Reals:
    """Return the limits of the rim force, N, shape (n, 2): intact and failed."""
    limits: Reals = np.array(list(LIMITS.values()))[inputs["vehicle_class"]] * _DECA
    return limits


def efforts(inputs: Inputs) -> Outputs:
    """Work out the efforts of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `effort`.

    Returns
    -------
    Outputs
        One value per row and port; the parking outputs are absent without their inputs.
    """
    answers = Answers(inputs)
    answers.require_positive(inputs, ("c_factor", "steering_wheel_diameter"))
    efficiency = inputs["efficiency"]
    answers.refuse(
        ~((efficiency > 0.0) & (efficiency <= 1.0)), "efficiency must be above 0 and at most 1"
    )
    answers.refuse(~(inputs["assist_force"] >= 0.0), "assist_force must not be negative")
    answers.refuse(~(inputs["rack_force"] >= 0.0), "rack_force must not be negative")
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        _driving(inputs, answers)
        _park(inputs, answers)
    return answers.outputs()


def _driving(inputs: Inputs, answers: Answers) -> None:
    """Give torques and rim forces in the manoeuvre of the regulation, and their limits."""
    radius = inputs["steering_wheel_diameter"] / 2.0 / _MM
    limits = limits_of(inputs)
    unhelped = inputs["rack_force"]
    helped = np.maximum(unhelped - inputs["assist_force"], 0.0)
    cases = (("with", "intact", helped), ("without", "failed", unhelped))
    for place, (assistance, state, force) in enumerate(cases):
        torque = wheel_torque(force, inputs["c_factor"], inputs["efficiency"])
        rim, limit = torque / radius, limits[:, place]
        answers.give(
            **{
                f"torque_{assistance}_assistance": torque,
                f"rim_force_{assistance}_assistance": rim,
                f"limit_{state}": limit,
                f"use_{state}": rim / limit,
            }
        )


def _park(inputs: Inputs, answers: Answers) -> None:
    """Give the parking outputs, or say what is missing for them."""
    lacking = [port for port in _PARKING if port not in inputs]
    if lacking:
        for port in _PARKED:
            answers.give(**{port: np.zeros(answers.rows)})
            answers.leave_out(port, where=True, reason=f"{lacking[0]} is not given")
        return
    _examine_parking(inputs, answers)
    load = inputs["wheel_load"]
    scrub = scrub_moment(load, inputs["friction"], inputs["scrub_arm"])
    jacking = jacking_moment(load, inputs["offset"], inputs["inclination"], inputs["steer_angle"])
    # Work of both wheels: rack force · C/2π per wheel angle = moments · road-wheel angle.
    travel = inputs["c_factor"] / _MM / _TURN * inputs["ratio"]  # rack per steer angle, m/rad
    force = 2.0 * (scrub + jacking) / travel
    helped = np.maximum(force - inputs["assist_force"], 0.0)
    answers.give(
        scrub_moment=scrub,
        jacking_moment=jacking,
        parking_rack_force=force,
        parking_torque=wheel_torque(helped, inputs["c_factor"], inputs["efficiency"]),
    )


def _examine_parking(inputs: Inputs, answers: Answers) -> None:
    for port in ("wheel_load", "friction", "scrub_arm"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative", *_PARKED)
    answers.refuse(~(inputs["ratio"] > 0.0), "ratio must be positive", *_PARKED)
    for port in ("inclination", "steer_angle"):
        answers.refuse(
            ~(np.abs(inputs[port]) < _SQUARE), f"{port} must lie within 90 deg of zero", *_PARKED
        )
