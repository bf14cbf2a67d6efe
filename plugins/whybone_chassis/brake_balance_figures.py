"""Figures of the brake balance: adhesion used over the braking rate, and the stop."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.answers import Reals
from whybone_chassis.brake_balance_names import AXLES, TRIMS
from whybone_chassis.brake_balance_sums import (
    GRAVITY,
    brakes_of,
    least_rate,
    of_class,
    response_of,
    trim_of,
)

__all__ = ["figures"]

_RATES = np.linspace(0.02, 1.0, 50)
_MOST = 1.2  # adhesion shown at most
_ROADS = np.array([0.2, 0.8])
_STEPS = np.linspace(1.0, 0.0, 41)
_KMH = 3.6


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `brake-balance`.
    """
    with np.errstate(all="ignore"):  # what cannot be drawn is left out
        stop = (_stop(inputs),) if "initial_speed" in inputs else ()
        return (*(_adhesion(inputs, name) for name in TRIMS), *stop)


def _adhesion(inputs: Inputs, name: str) -> Figure:
    trim, rates = trim_of(inputs, name), _RATES[None, :]
    forces, loads = brakes_of(inputs).forces(trim, rates), trim.loads(rates)
    used = (forces.front / loads[0], np.where(loads[1] > 0.0, forces.rear / loads[1], np.nan))
    rate = float(inputs["deceleration"][0])
    asked = least_rate(of_class(inputs, "slope")[:1], _ROADS)
    return Figure(
        key=f"adhesion-{name}",
        title=f"Adhesion used over the braking rate, {name}",
        kind=FigureKind.CURVE,
        series=(
            *(_line(axle, _RATES, each[0]) for axle, each in zip(AXLES, used, strict=True)),
            _line("equal adhesion", _RATES, _RATES),
            _line("most allowed", asked, _ROADS),
        ),
        across=Axis("braking rate", now=rate),
        up=Axis("adhesion used"),
    )


def _line(title: str, x: Reals, y: Reals) -> Series:
    good = np.isfinite(x) & (y <= _MOST)
    return Series(title=title, x=tuple(x[good].tolist()), y=tuple(y[good].tolist()))


def _stop(inputs: Inputs) -> Figure:
    """Draw speed over distance: steady until the brakes respond, then a parabola."""
    speed = float(inputs["initial_speed"][0]) / _KMH
    return Figure(
        key="stop",
        title="Speed over distance, stop on the road just not locking",
        kind=FigureKind.CURVE,
        series=tuple(_stop_line(inputs, name, speed) for name in TRIMS),
        across=Axis("distance", "m"),
        up=Axis("speed", "km/h"),
    )


def _stop_line(inputs: Inputs, name: str, speed: float) -> Series:
    trim, friction = trim_of(inputs, name), inputs["road_friction"][:1, None]
    rate = float((np.minimum(*brakes_of(inputs).locking(trim, friction)) + trim.rolling)[0, 0])
    speeds = speed * _STEPS
    start = speed * float(response_of(inputs)[0])
    distance = start + (speed**2 - speeds**2) / (2.0 * rate * GRAVITY)
    if not np.isfinite(distance).all():
        return Series(title=name)
    return Series(
        title=name,
        x=(0.0, *distance.tolist()),
        y=(speed * _KMH, *(speeds * _KMH).tolist()),
    )
