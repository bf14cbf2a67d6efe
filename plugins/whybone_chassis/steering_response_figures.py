"""Figures of the steering response: gains over speed, and the parts of the understeer."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.answers import Reals
from whybone_chassis.steering_response_gains import PARTS, gains, understeer_of

__all__ = ["figures"]

_POINTS = 61
_FASTEST = 200.0  # km/h shown at least
_KMH, _MM = 3.6, 1000.0


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-response`.
    """
    with np.errstate(all="ignore"):  # what cannot be drawn is left out
        gradient = understeer_of(inputs).total[:1]
        return (*_curves(inputs, gradient), _parts(inputs, gradient))


def _curves(inputs: Inputs, gradient: Reals) -> tuple[Figure, ...]:
    speed = np.linspace(0.0, max(_FASTEST, float(inputs["speed"][0])), _POINTS)
    wheelbase, ratio = inputs["wheelbase"][:1] / _MM, inputs["ratio"][:1]
    vehicle = gains(speed / _KMH, wheelbase, ratio, gradient)
    neutral = gains(speed / _KMH, wheelbase, ratio, np.zeros(1))
    shown = (
        (
            "sensitivity",
            "sensitivity",
            "Lateral acceleration per steering-wheel angle",
            "g/(100*deg)",
        ),
        ("yaw-gain", "yaw_gain", "Yaw velocity per steering-wheel angle", "1/s"),
    )
    return tuple(
        Figure(
            key=key,
            title=title,
            kind=FigureKind.CURVE,
            series=(
                _line("This vehicle", speed, vehicle[place]),
                _line("Neutral vehicle", speed, neutral[place]),
            ),
            across=Axis("speed", "km/h", "speed"),
            up=Axis(title.lower(), unit, port),
        )
        for place, (key, port, title, unit) in enumerate(shown)
    )


def _line(title: str, speed: Reals, gain: Reals) -> Series:
    """Return a line up to the critical speed: beyond it the gain is negative and means nothing."""
    good = np.isfinite(gain) & (gain >= 0.0)
    return Series(title=title, x=tuple(speed[good].tolist()), y=tuple(gain[good].tolist()))


def _parts(inputs: Inputs, gradient: Reals) -> Figure:
    parts = understeer_of(inputs)
    rows = [
        ("tyres, front axle", f"{parts.front[0]:+.3f}"),
        ("tyres, rear axle", f"{-parts.rear[0]:+.3f}"),
        ("roll steer", f"{parts.roll[0]:+.3f}"),
        *(
            (
                port.removesuffix("_part"),
                f"{inputs[key][0]:+.3f}" if key in inputs else "not included",
            )
            for port, key in PARTS.items()
        ),
        ("understeer gradient", f"{gradient[0]:+.3f}"),
    ]
    names, texts = zip(*rows, strict=True)
    return Figure(
        key="parts",
        title="What the understeer gradient is made of",
        kind=FigureKind.LISTING,
        series=(Series(title="part", labels=names), Series(title="deg/g", labels=texts)),
    )
