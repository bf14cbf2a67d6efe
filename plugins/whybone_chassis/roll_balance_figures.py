"""Figures of the roll balance: wheel loads over lateral acceleration, and what moves them."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.answers import Reals
from whybone_chassis.corner_ports import AXLES
from whybone_chassis.corner_ports_figures import curve, first_row
from whybone_chassis.roll_balance import PARTS
from whybone_chassis.roll_balance_numbers import solve, static_loads

__all__ = ["figures"]

_POINTS = 41
_FASTEST = 1.0  # g shown at most


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `roll-balance`.
    """
    first = first_row(inputs)
    with np.errstate(all="ignore"):  # what cannot be drawn is left out
        found = {key: float(each[0]) for key, each in solve(first).values.items()}
        return _wheel_loads(first, found), _parts(found)


def _wheel_loads(inputs: dict[str, Any], found: dict[str, float]) -> Figure:
    """Draw all wheels until the first inner one lifts: beyond, the model does not hold."""
    standing = {axle: 0.5 * load[0] for axle, load in static_loads(inputs).items()}
    lifts = [standing[axle] / np.float64(found[f"transfer_{axle}"]) for axle in AXLES]
    ends = [float(each) for each in lifts if each > 0.0]
    lateral: Reals = np.linspace(0.0, min(_FASTEST, *ends), _POINTS) if ends else np.zeros(0)
    return Figure(
        key="wheel-loads",
        title="Wheel loads over lateral acceleration, until the first inner wheel lifts",
        kind=FigureKind.CURVE,
        series=tuple(
            curve(
                f"{axle.capitalize()} {side}",
                lateral,
                standing[axle] + sign * found[f"transfer_{axle}"] * lateral,
            )
            for axle in AXLES
            for side, sign in (("outer", 1.0), ("inner", -1.0))
        ),
        across=Axis("lateral acceleration", "g"),
        up=Axis("wheel load", "N"),
    )


def _parts(found: dict[str, float]) -> Figure:
    columns = {
        f"{axle}, N/g": tuple(
            f"{found[key]:+.0f}"
            for key in (*(f"transfer_{part}_{axle}" for part in PARTS), f"transfer_{axle}")
        )
        for axle in AXLES
    }
    return Figure(
        key="parts",
        title="What moves load from the inner to the outer wheels",
        kind=FigureKind.LISTING,
        series=(
            Series(title="part", labels=(*PARTS.values(), "whole")),
            *(Series(title=head, labels=cells) for head, cells in columns.items()),
        ),
    )
