"""Figures of the steering ratio: over the steering-wheel angle, and inner against outer wheel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind
from whybone_chassis.corner_ports_figures import curve, first_row
from whybone_chassis.corner_ports_linkage import linkage_of
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.ratio_band_numbers import ideal_outer, solve, steer_rate

__all__ = ["figures"]

_POINTS = 41  # odd: the rack's centre is one of them
_HANDWHEEL = Axis("Steering wheel, left positive", "deg", now=0.0)


@dataclass(frozen=True, slots=True)
class _Sweep:
    """From right lock to left lock: angles in deg, ratio."""

    handwheel: FloatArray
    left: FloatArray
    right: FloatArray
    ratio: FloatArray


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ratio-band`.
    """
    with np.errstate(all="ignore"):  # positions that do not close are left out of the curves
        sweep = _sweep(inputs)
        return (_ratio(sweep), _angles(sweep), _ackermann(inputs, sweep))


def _sweep(inputs: Inputs) -> _Sweep:
    linkage = linkage_of(first_row(inputs))
    rack = np.linspace(-1.0, 1.0, _POINTS) * inputs["rack_travel"][0]
    pose = pose_at_travel(linkage, np.full(_POINTS, inputs["trim"][0]), rack)
    steer, rate = -pose.toe, steer_rate(pose)
    per_mm = 360.0 / inputs["c_factor"][0]
    if steer[-1] < steer[0]:  # this rack steers left as it moves right
        steer, rate = steer[::-1], rate[::-1]
    mean_rate = 0.5 * (rate + rate[::-1])  # the right wheel is the left one's mirror
    return _Sweep(rack * per_mm, steer, -steer[::-1], per_mm / np.abs(mean_rate))


def _ratio(sweep: _Sweep) -> Figure:
    return Figure(
        key="ratio",
        title="Steering ratio over the steering-wheel angle",
        kind=FigureKind.CURVE,
        series=(curve("Ratio, mean of both wheels", sweep.handwheel, sweep.ratio),),
        across=_HANDWHEEL,
        up=Axis("Local ratio", port="ratio_on_centre"),
    )


def _angles(sweep: _Sweep) -> Figure:
    return Figure(
        key="wheel-angles",
        title="Steer angles of both wheels over the steering-wheel angle",
        kind=FigureKind.CURVE,
        series=(
            curve("Left wheel", sweep.handwheel, sweep.left),
            curve("Right wheel", sweep.handwheel, sweep.right),
        ),
        across=_HANDWHEEL,
        up=Axis("Steer, left positive", "deg"),
    )


def _ackermann(inputs: Inputs, sweep: _Sweep) -> Figure:
    turning = sweep.handwheel > 0.0
    inner, outer = sweep.left[turning], sweep.right[turning]
    distance = solve(first_row(inputs)).values["axis_distance"]
    rolling = ideal_outer(inner, distance, inputs["wheelbase"][:1])
    return Figure(
        key="ackermann",
        title="Outer over inner wheel angle, in a left turn",
        kind=FigureKind.CURVE,
        series=(
            curve("As designed", inner, outer),
            curve("Rolling without slip", inner, rolling),
            curve("Parallel", inner, inner),
        ),
        across=Axis("Inner wheel", "deg", "inner_angle"),
        up=Axis("Outer wheel", "deg", "outer_angle"),
    )
