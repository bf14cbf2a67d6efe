"""Figures of the ride: wheel load and wheel rate over travel, stroke and frequencies by trim."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.answers import Reals
from whybone_chassis.corner_ports_figures import curve, first_row
from whybone_chassis.ride import TRIMS
from whybone_chassis.ride_numbers import solve, trims

__all__ = ["figures"]

_POINTS = 61
_ACROSS = Axis("wheel travel from design, up positive", "mm", now=0.0)
_LISTED = {
    "bump_left": "bump left, mm",
    "rebound_left": "rebound left, mm",
    "wheel_rate": "wheel rate, N/mm",
    "ride_rate": "ride rate, N/mm",
    "frequency": "ride frequency, Hz",
    "body_mode": "body mode, Hz",
    "hop_mode": "wheel hop, Hz",
}


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ride`.
    """
    first = first_row(inputs)
    with np.errstate(all="ignore"):  # what cannot be drawn is left out
        found = {key: each[0] for key, each in solve(first).values.items()}
        return (*_curves(first, found), _listing(found))


def _curves(inputs: dict[str, Any], found: dict[str, Any]) -> tuple[Figure, Figure]:
    """Draw a ride motion from the design trim, and where the corner stands at each trim."""
    share = np.linspace(0.0, 1.0, _POINTS)
    travel = -inputs["rebound_travel"] * (1.0 - share) + inputs["bump_travel"] * share
    spread = {key: np.repeat(each, _POINTS, axis=0) for key, each in inputs.items()}
    corner = trims(spread)["design"].corner
    load = corner.driven(travel)
    middle = 0.5 * (travel[1:] + travel[:-1])
    slope = (load[1:] - load[:-1]) / (travel[1:] - travel[:-1])
    return (
        Figure(
            key="load-over-travel",
            title="Wheel load of the sprung mass over wheel travel, ride motion from design",
            kind=FigureKind.CURVE,
            series=(curve("Wheel load", travel, load), *_stands(inputs, found)),
            across=_ACROSS,
            up=Axis("wheel load", "N"),
        ),
        Figure(
            key="rate-over-travel",
            title="Wheel rate over wheel travel, ride motion from design",
            kind=FigureKind.CURVE,
            series=(curve("Wheel rate", middle, slope),),
            across=_ACROSS,
            up=Axis("wheel rate", "N/mm", "wheel_rate_design"),
        ),
    )


def _stands(inputs: dict[str, Any], found: dict[str, Any]) -> tuple[Series, ...]:
    """Mark each trim by one point."""
    marks = []
    for name in TRIMS:
        travel = np.array([found.get(f"trim_{name}", 0.0)])
        ratio = inputs["motion_ratio"] + 1e-3 * inputs["motion_ratio_rate"] * travel
        load: Reals = np.array([found[f"spring_force_{name}"]]) * ratio
        marks.append(curve(f"Spring at {name} trim", travel, load))
    return tuple(marks)


def _listing(found: dict[str, Any]) -> Figure:
    columns = {
        head: tuple(f"{found[f'{key}_{name}']:.4g}" for name in TRIMS)
        for key, head in _LISTED.items()
    }
    return Figure(
        key="by-trim",
        title="Stroke, rates and natural frequencies by trim",
        kind=FigureKind.LISTING,
        series=(
            Series(title="trim", labels=TRIMS),
            *(Series(title=head, labels=cells) for head, cells in columns.items()),
        ),
    )
