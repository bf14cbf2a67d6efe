"""Understeer gradient and steady-state gains of the single-track model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Flags, Reals

__all__ = ["GRAVITY", "KMH", "MM", "PARTS", "Understeer", "gains", "respond", "understeer_of"]

GRAVITY = 9.80665
"""m/s², ISO 80000-3."""
KMH = 3.6
"""Kilometres an hour in one m/s."""
MM = 1000.0
"""Millimetres in one m."""
_PER_STEP = 100.0  # deg of steering wheel the sensitivity refers to
_NEUTRAL = 1e-9  # of the parts' sizes: far above rounding (1e-16), far below anything measured

_POSITIVE = ("mass", "wheelbase", "cornering_front", "cornering_rear", "ratio")
_GAINS = ("sensitivity", "yaw_gain")
PARTS = {"compliance_part": "understeer_compliance", "camber_part": "understeer_camber"}
"""Output that shows an optional part of the understeer → the input it comes from."""


@dataclass(frozen=True, slots=True)
class Understeer:
    """Parts of the understeer gradient, deg/g at the road wheel, shape (n,) each.

    Parameters
    ----------
    front, rear : ndarray
        Axle load over cornering stiffness.
    roll : ndarray
        Roll steer of both axles times the roll gradient.
    further : ndarray
        What is given for compliance and camber.
    """

    front: Reals
    rear: Reals
    roll: Reals
    further: Reals

    @property
    def tyres(self) -> Reals:
        """Part of the tyres."""
        return self.front - self.rear

    @property
    def total(self) -> Reals:
        """Sum of the parts."""
        return self.tyres + self.roll + self.further

    @property
    def neutral(self) -> Flags:
        """Rows whose parts cancel to rounding."""
        size = np.abs(self.front) + np.abs(self.rear) + np.abs(self.roll) + np.abs(self.further)
        cancelled: Flags = np.abs(self.total) <= _NEUTRAL * size
        return cancelled


def understeer_of(inputs: Inputs) -> Understeer:
    """Work out the parts of the understeer gradient.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-response`.
    """
    weight = inputs["mass"] * GRAVITY
    front = inputs["front_share"] * weight
    further = np.zeros(len(weight))
    for port in PARTS.values():
        further = further + inputs.get(port, 0.0)
    return Understeer(
        front=np.degrees(front / inputs["cornering_front"]),
        rear=np.degrees((weight - front) / inputs["cornering_rear"]),
        roll=(inputs["roll_steer_front"] + inputs["roll_steer_rear"]) * inputs["roll_gradient"],
        further=further,
    )


def gains(speed: Reals, wheelbase: Reals, ratio: Reals, gradient: Reals) -> tuple[Reals, Reals]:
    """Work out the steady-state gains of the single-track model.

    Parameters
    ----------
    speed : ndarray
        m/s.
    wheelbase : ndarray
        m.
    ratio : ndarray
        Overall steering ratio.
    gradient : ndarray
        Understeer gradient, deg/g.

    Returns
    -------
    sensitivity, yaw_gain : ndarray
        g per 100 deg of steering wheel and 1/s; below the critical speed only.
    """
    crawl = np.degrees(GRAVITY * wheelbase)  # deg/g times speed squared
    # Multiplied by the speed squared, so that standing still gives exactly zero.
    steer = ratio * (crawl + gradient * speed * speed)
    return _PER_STEP * speed * speed / steer, np.degrees(GRAVITY * speed) / steer


def respond(inputs: Inputs) -> Outputs:
    """Work out the response of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-response`, shape (n,) each.

    Returns
    -------
    Outputs
        One value per row and port. Characteristic and critical speed are absent where the vehicle
        has none; rows at or above the critical speed have no gains.
    """
    answers = Answers(inputs)
    share = inputs["front_share"]
    answers.require_positive(inputs, _POSITIVE)
    answers.refuse(~((share >= 0.0) & (share <= 1.0)), "front_share must lie between 0 and 1")
    answers.refuse(~(inputs["speed"] >= 0.0), "speed must not be negative", *_GAINS)
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        parts = understeer_of(inputs)
        answers.give(
            understeer_tyres=parts.tyres, understeer_roll=parts.roll, understeer=parts.total
        )
        _include(inputs, answers)
        _speeds(inputs, parts, answers)
    return answers.outputs()


def _include(inputs: Inputs, answers: Answers) -> None:
    for port, source in PARTS.items():
        answers.give(**{port: inputs.get(source, np.zeros(answers.rows))})
        if source not in inputs:
            answers.leave_out(port, where=True, reason=f"not included: {source} is not given")


def _speeds(inputs: Inputs, parts: Understeer, answers: Answers) -> None:
    """Find the characteristic or critical speed, and the gains at the speed asked for."""
    wheelbase, speed = inputs["wheelbase"] / MM, inputs["speed"] / KMH
    gradient = np.where(parts.neutral, 0.0, parts.total)
    crawl = np.degrees(GRAVITY * wheelbase)
    limit = np.sqrt(crawl / np.abs(gradient))
    answers.give(characteristic_speed=limit * KMH, critical_speed=limit * KMH)
    for port, where, kind in (
        ("characteristic_speed", gradient < 0.0, "the vehicle oversteers"),
        ("critical_speed", gradient > 0.0, "the vehicle understeers"),
    ):
        answers.leave_out(port, where, f"{kind}: it has no {port.replace('_', ' ')}")
        answers.leave_out(port, parts.neutral, "the vehicle is neutral: it has no such speed")
    unstable = crawl + gradient * speed * speed <= _NEUTRAL * crawl
    answers.refuse(unstable, "unstable: at or above the critical speed", *_GAINS)
    sensitivity, yaw_gain = gains(speed, wheelbase, inputs["ratio"], gradient)
    answers.give(sensitivity=sensitivity, yaw_gain=yaw_gain)
