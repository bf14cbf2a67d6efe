"""Derivatives of torques and rim forces."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs
from whybone_chassis.answers import Reals
from whybone_chassis.effort_forces import limits_of, wheel_torque

__all__ = ["derivatives"]

_MM = 1000.0  # mm in one m
_CASES = (("with", "intact"), ("without", "failed"))


def derivatives(inputs: Inputs) -> dict[tuple[str, str], Reals]:
    """Differentiate torque, rim force and the use of its limit, with and without assistance.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `effort`, shape (n,) each.
    """
    force, assist = inputs["rack_force"], inputs["assist_force"]
    ones = np.ones(len(force))
    # Where the assistance takes over all of the force there is a kink.
    helped = np.where(force == assist, np.nan, np.where(force > assist, 1.0, 0.0))
    found: dict[tuple[str, str], Reals] = {}
    with np.errstate(all="ignore"):  # rows without a value have no derivative
        limits = limits_of(inputs)
        for place, (assistance, state) in enumerate(_CASES):
            share = helped if assistance == "with" else ones
            left = share * (force - assist) if assistance == "with" else force
            by_assist = -share if assistance == "with" else 0.0 * ones
            slopes = _of_torque(inputs, left, {"rack_force": share, "assist_force": by_assist})
            torque, radius = _torque(inputs, left), inputs["steering_wheel_diameter"] / 2.0 / _MM
            by_size = -torque / radius / inputs["steering_wheel_diameter"]
            rim = {name: slope / radius for name, slope in slopes.items()}
            rim["steering_wheel_diameter"] = by_size
            slopes["steering_wheel_diameter"] = 0.0 * ones
            for name, slope in slopes.items():
                found[f"torque_{assistance}_assistance", name] = slope
                found[f"rim_force_{assistance}_assistance", name] = rim[name]
                found[f"use_{state}", name] = rim[name] / limits[:, place]
                found[f"limit_{state}", name] = 0.0 * ones
    return found


def _torque(inputs: Inputs, force: Reals) -> Reals:
    return wheel_torque(force, inputs["c_factor"], inputs["efficiency"])


def _of_torque(inputs: Inputs, left: Reals, of_force: dict[str, Reals]) -> dict[str, Reals]:
    """Return the derivatives of F·C/(2π·η) for a force left to the driver."""
    each = _torque(inputs, np.ones(len(left)))
    return {
        **{name: slope * each for name, slope in of_force.items()},
        "c_factor": left * each / inputs["c_factor"],
        "efficiency": -left * each / inputs["efficiency"],
    }
