"""What the figures of the corner checks share: curves and sweeps of a batch of one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tracker.contract.check import Inputs, Table
from tracker.contract.figure import Series
from whybone_chassis.corner_ports_linkage import linkage_of
from whybone_chassis.mechanics.linkage import Pose, pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray

__all__ = ["curve", "first_row", "outline", "travel_sweep"]

_POINTS = 41  # odd: trim is one of them


def first_row(inputs: Inputs) -> dict[str, Any]:
    """Take the first row of a batch; tables stay."""
    return {key: each if isinstance(each, Table) else each[:1] for key, each in inputs.items()}


def travel_sweep(inputs: Inputs) -> tuple[FloatArray, Pose]:
    """Pose the first corner from droop to bump, the rack at its middle.

    Parameters
    ----------
    inputs : mapping
        Ports of a corner check with `travel` and `trim`.

    Returns
    -------
    travel : ndarray, shape (k,)
        Wheel travel from design, mm.
    pose : Pose
        NaN where the linkage does not close.
    """
    first = first_row(inputs)
    with np.errstate(all="ignore"):  # an endless travel closes nowhere
        travel = first["trim"] + np.linspace(-1.0, 1.0, _POINTS) * first["travel"]
        return travel, pose_at_travel(linkage_of(first), travel, np.zeros(_POINTS))


def curve(title: str, across: FloatArray, up: FloatArray) -> Series:
    """Draw one line of a curve, leaving out what is not finite."""
    good = np.isfinite(across) & np.isfinite(up)
    return Series(title=title, x=tuple(across[good].tolist()), y=tuple(up[good].tolist()))


def outline(title: str, points: Sequence[tuple[FloatArray, str]]) -> Series:
    """Draw a polyline of a sketch, leaving out points that are not finite.

    Parameters
    ----------
    title : str
        Legend entry.
    points : sequence of (ndarray of shape (2,), str)
        Coordinates across and up, and the point's name.
    """
    good = [(point, label) for point, label in points if np.isfinite(point).all()]
    return Series(
        title=title,
        x=tuple(float(point[0]) for point, _ in good),
        y=tuple(float(point[1]) for point, _ in good),
        labels=tuple(label for _, label in good),
    )
