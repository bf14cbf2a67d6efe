"""From the ports of a rear corner to its linkage, its poses and its bushes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracker.contract.check import Inputs
from whybone_chassis.mechanics.rear_corner import RearCorner, Seats
from whybone_chassis.mechanics.rear_linkage import RearLinkage, RearPose, assemble_rear, pose_rear
from whybone_chassis.mechanics.rear_windup import BushRates
from whybone_chassis.mechanics.vectors import FloatArray

__all__ = ["BUSH_PORTS", "SEATS", "bushes_of", "lacking", "lever", "linkage_of", "poses"]

SEATS = ("spring_lower", "spring_upper")
"""Ports of the spring, lower seat first."""

BUSH_PORTS = tuple(f"{name}_rate" for name in BushRates.__dataclass_fields__)
"""Ports of the bushes, in the order of `BushRates`."""


def lacking(inputs: Inputs, ports: Sequence[str]) -> str:
    """Say which of some optional ports are not given; empty when all are."""
    missing = [port for port in ports if port not in inputs]
    return f"not given: {', '.join(missing)}" if missing else ""


def linkage_of(inputs: Inputs) -> RearLinkage:
    """Assemble the corners of a batch, with their springs where both seats are given."""
    corner = RearCorner(**{name: inputs[name] for name in RearCorner.__dataclass_fields__})
    if lacking(inputs, SEATS):
        return assemble_rear(corner)
    return assemble_rear(corner, Seats(*(inputs[port] for port in SEATS)))


def bushes_of(inputs: Inputs) -> BushRates:
    """Return the bush rates of a batch that gives them all."""
    return BushRates(*(inputs[port] for port in BUSH_PORTS))


def poses(linkage: RearLinkage, travels: Sequence[FloatArray]) -> RearPose:
    """Pose every corner at several travels (n,): one block of n rows per travel, in order."""
    index = np.tile(np.arange(linkage.rows), len(travels))
    return pose_rear(linkage.take(index), np.concatenate(travels))


def lever(pose: RearPose) -> FloatArray:
    """Distance (n,) in mm, in side view, of the integral link's line from the lower joint.

    Positive where a pull towards the arm turns the knuckle's front down: link ahead, arm below.
    """
    along = pose.integral_on_knuckle - pose.integral_on_arm
    reach = pose.integral_on_knuckle - pose.lower_outer
    size = np.sqrt(along[:, 0] ** 2 + along[:, 2] ** 2)
    turning = reach[:, 0] * along[:, 2] - reach[:, 2] * along[:, 0]
    return turning / np.where(size > 0.0, size, np.nan)
