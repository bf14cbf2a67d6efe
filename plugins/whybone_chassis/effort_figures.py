"""Figures of the steering effort: torque over rack force, rim forces beside their limits."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.effort_forces import wheel_torque

__all__ = ["figures"]

_POINTS = 41
_BEYOND = 1.25  # rack force shown, as a multiple of the largest that matters


def figures(inputs: Inputs, outputs: Outputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `effort`.
    outputs : Outputs
        What the check answered.
    """
    if not np.isfinite(outputs.values["use_failed"][0]):
        return ()
    return (_curve(inputs), _bars(outputs))


def _curve(inputs: Inputs) -> Figure:
    assist = float(inputs["assist_force"][0])
    forces = np.linspace(0.0, _BEYOND * max(float(inputs["rack_force"][0]), assist), _POINTS)
    series = []
    for title, helped in (("without assistance", 0.0), ("with assistance", assist)):
        remaining = np.maximum(forces - helped, 0.0)
        torque = wheel_torque(remaining, inputs["c_factor"][:1], inputs["efficiency"][:1])
        series.append(Series(title=title, x=tuple(forces.tolist()), y=tuple(torque.tolist())))
    return Figure(
        key="torque",
        title="Steering-wheel torque over rack force",
        kind=FigureKind.CURVE,
        series=tuple(series),
        across=Axis("rack force", "N", "rack_force"),
        up=Axis("torque", "N*m", "torque_with_assistance"),
    )


def _bars(outputs: Outputs) -> Figure:
    def of(*ports: str) -> tuple[float, ...]:
        return tuple(float(outputs.values[port][0]) for port in ports)

    states = ("intact", "failed")
    return Figure(
        key="rim-force",
        title="Rim force and limit of the vehicle class",
        kind=FigureKind.BARS,
        series=(
            Series(
                title="rim force",
                y=of("rim_force_with_assistance", "rim_force_without_assistance"),
                labels=states,
            ),
            Series(title="limit", y=of("limit_intact", "limit_failed"), labels=states),
        ),
        across=Axis("steering"),
        up=Axis("rim force", "N"),
    )
