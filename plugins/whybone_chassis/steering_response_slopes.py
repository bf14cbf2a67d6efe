"""Derivatives of understeer gradient and gains."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs
from whybone_chassis.answers import Reals
from whybone_chassis.steering_response_gains import GRAVITY, KMH, MM, PARTS, gains, understeer_of

__all__ = ["derivatives"]

_OWN = ("ratio", "wheelbase", "speed")
"""Inputs that act on the gains beside the understeer gradient."""
_PER_STEP = 100.0


def derivatives(inputs: Inputs) -> dict[tuple[str, str], Reals]:
    """Differentiate the understeer gradient, its parts, sensitivity and yaw gain.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-response`, shape (n,) each.
    """
    found: dict[tuple[str, str], Reals] = {}
    tyres, roll = _of_tyres(inputs), _of_roll(inputs)
    total = {**tyres, **roll}
    for port in PARTS.values():
        if port in inputs:
            total[port] = np.ones(len(inputs["mass"]))
    flat = np.zeros(len(inputs["mass"]))
    for name in (*total, *_OWN):
        found["understeer_tyres", name] = tyres.get(name, flat)
        found["understeer_roll", name] = roll.get(name, flat)
        found["understeer", name] = total.get(name, flat)
    with np.errstate(all="ignore"):  # rows without a value have no derivative
        found.update(_of_gains(inputs, total))
    return found


def _of_tyres(inputs: Inputs) -> dict[str, Reals]:
    """Part of the tyres: W·(s/C₁ − (1 − s)/C₂) in deg/g."""
    mass, share = inputs["mass"], inputs["front_share"]
    front, rear = inputs["cornering_front"], inputs["cornering_rear"]
    weight = np.degrees(mass * GRAVITY)
    return {
        "mass": np.degrees(GRAVITY) * (share / front - (1.0 - share) / rear),
        "front_share": weight * (1.0 / front + 1.0 / rear),
        "cornering_front": -weight * share / (front * front),
        "cornering_rear": weight * (1.0 - share) / (rear * rear),
    }


def _of_roll(inputs: Inputs) -> dict[str, Reals]:
    """Part of roll steer: (ε₁ + ε₂)·φ."""
    both = inputs["roll_steer_front"] + inputs["roll_steer_rear"]
    gradient = inputs["roll_gradient"]
    return {"roll_gradient": both, "roll_steer_front": gradient, "roll_steer_rear": gradient}


def _of_gains(inputs: Inputs, total: dict[str, Reals]) -> dict[tuple[str, str], Reals]:
    """Gains 100·v²/(i·D) and (g·v)/(i·D), with D = g·L + K·v²."""
    speed, length, ratio = inputs["speed"] / KMH, inputs["wheelbase"] / MM, inputs["ratio"]
    gradient = understeer_of(inputs).total
    crawl = np.degrees(GRAVITY * length)
    whole = crawl + gradient * speed * speed
    whole = np.where(whole > 0.0, whole, np.nan)  # nothing beyond the critical speed
    sensitivity, yaw = gains(speed, length, ratio, gradient)
    by_whole = {"sensitivity": -sensitivity / whole, "yaw_gain": -yaw / whole}
    steer = ratio * whole * whole
    found: dict[tuple[str, str], Reals] = {
        ("sensitivity", "ratio"): -sensitivity / ratio,
        ("yaw_gain", "ratio"): -yaw / ratio,
        ("sensitivity", "speed"): 2.0 * _PER_STEP * speed * crawl / steer / KMH,
        ("yaw_gain", "speed"): np.degrees(GRAVITY) * (crawl - gradient * speed**2) / steer / KMH,
    }
    for output, slope in by_whole.items():
        found[output, "wheelbase"] = slope * np.degrees(GRAVITY) / MM
        for name, each in total.items():
            found[output, name] = slope * speed * speed * each
    return found
