"""Derivatives of the axle loads."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs
from whybone_chassis.answers import Reals
from whybone_chassis.vehicle_loads_cases import GRAVITY
from whybone_chassis.vehicle_loads_names import TRIMS

__all__ = ["derivatives"]


def derivatives(inputs: Inputs) -> dict[tuple[str, str], Reals]:
    """Differentiate the axle loads and the front share of every trim: W·(1 + x/L) and W·(−x/L).

    Parameters
    ----------
    inputs : mapping
        Ports of the check `vehicle-loads`.
    """
    found: dict[tuple[str, str], Reals] = {}
    for trim in TRIMS:
        flat = np.zeros(len(inputs["wheelbase"]))
        for output in (f"front_axle_load_{trim}", f"rear_axle_load_{trim}", f"front_share_{trim}"):
            found.update({(output, name): flat for name in _idle(inputs)})
        with np.errstate(all="ignore"):  # rows without a value have no derivative
            found.update(_of_trim(inputs, trim))
    return found


def _idle(inputs: Inputs) -> list[str]:
    """Return every real input that has a say in some output."""
    points = [f"cg_{trim}.{axis}" for trim in TRIMS for axis in "xyz"]
    reals = [key for key, each in inputs.items() if each.ndim == 1 and each.dtype == np.float64]
    return [*points, *reals]


def _of_trim(inputs: Inputs, trim: str) -> dict[tuple[str, str], Reals]:
    ahead, length = inputs[f"cg_{trim}"][:, 0], inputs["wheelbase"]
    weight = inputs[f"mass_{trim}"] * GRAVITY
    share = 1.0 + ahead / length
    by_place, by_length = 1.0 / length, -ahead / (length * length)
    found = {}
    for output, kept, sign in (
        (f"front_axle_load_{trim}", share, 1.0),
        (f"rear_axle_load_{trim}", 1.0 - share, -1.0),
    ):
        found[output, f"mass_{trim}"] = GRAVITY * kept
        found[output, f"cg_{trim}.x"] = sign * weight * by_place
        found[output, "wheelbase"] = sign * weight * by_length
    found[f"front_share_{trim}", f"cg_{trim}.x"] = by_place
    found[f"front_share_{trim}", "wheelbase"] = by_length
    return found
