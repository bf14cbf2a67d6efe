"""Figures of the vehicle loads: axle loads per trim, load cases of both left wheels."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Outputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.vehicle_loads_names import AXLES, CASES, TRIMS

__all__ = ["figures"]

_NONE = "—"
_FORCES = ("fx", "fy", "fz")
_REACTED = {"step": "body", "drive": "body"}


def figures(outputs: Outputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    outputs : Outputs
        What the check answered.
    """
    values = {port: float(array[0]) for port, array in outputs.values.items()}
    return (_axle_loads(values), *(_cases(values, axle) for axle in AXLES))


def _axle_loads(values: dict[str, float]) -> Figure:
    series = []
    for axle in AXLES:
        loads = {trim: values[f"{axle}_axle_load_{trim}"] for trim in TRIMS}
        known = {trim: load for trim, load in loads.items() if np.isfinite(load)}
        series.append(Series(title=f"{axle} axle", y=tuple(known.values()), labels=tuple(known)))
    return Figure(
        key="axle-loads",
        title="Axle loads by trim",
        kind=FigureKind.BARS,
        series=tuple(series),
        across=Axis("trim"),
        up=Axis("axle load", "N"),
    )


def _cases(values: dict[str, float], axle: str) -> Figure:
    """List the cases in the columns a table of load cases has."""
    rows = [
        (
            case,
            _REACTED.get(case, "knuckle"),
            *(_text(values, f"{force}_{axle}_{case}", force in forces) for force in _FORCES),
        )
        for case, (_, *forces) in CASES.items()
    ]
    heads = ("case", "brake_reacted_by", *(f"{force}, N" for force in _FORCES))
    return Figure(
        key=f"{axle}-cases",
        title=f"Load cases of the {axle} left wheel",
        kind=FigureKind.LISTING,
        series=tuple(
            Series(title=head, labels=tuple(column))
            for head, column in zip(heads, zip(*rows, strict=True), strict=True)
        ),
    )


def _text(values: dict[str, float], port: str, given: bool) -> str:
    if not given:
        return "0"
    return f"{values[port]:.0f}" if np.isfinite(values[port]) else _NONE
