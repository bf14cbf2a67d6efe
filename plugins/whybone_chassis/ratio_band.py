"""Steering ratio, lock angles and turning circle of a rack on a corner's points."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Rule, Source
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import (
    CORNER,
    SPRING_FOR_SPLIT_ARM,
    TRIM,
    WHEEL_TRACK,
    WHEELBASE,
)

__all__ = ["CHECK"]

_INPUTS = (
    Port(
        key="c_factor",
        title="C-factor",
        doc="Rack travel per revolution of the steering wheel",
        unit="mm/rev",
    ),
    Port(
        key="rack_travel",
        title="Rack travel",
        doc="From the middle to either end",
        unit="mm",
    ),
    *CORNER,
    *SPRING_FOR_SPLIT_ARM,
    WHEELBASE,
    WHEEL_TRACK,
    Port(
        key="front_corner",
        title="Front corner",
        doc="Point of the body that swings widest, of either side",
        kind=Kind.POINT,
        unit="mm",
        optional=True,
    ),
    TRIM,
)

_OUTPUTS = (
    Port(
        key="ratio_on_centre",
        title="Ratio on centre",
        doc="Steering-wheel angle per mean steer angle of the two wheels, rate at rack centre",
    ),
    Port(
        key="ratio_at_lock",
        title="Ratio at lock",
        doc="The same rate at the end of the rack travel",
    ),
    Port(
        key="ratio_mean",
        title="Mean ratio",
        doc="Steering-wheel angle at lock ÷ mean of inner and outer angle",
    ),
    Port(
        key="turns_lock_to_lock",
        title="Turns lock to lock",
        doc="Revolutions of the steering wheel from one end of the rack travel to the other",
        unit="rev",
    ),
    Port(
        key="inner_angle",
        title="Inner angle",
        doc="Steer angle at lock of the wheel nearer the turn's centre, static toe included",
        unit="deg",
    ),
    Port(
        key="outer_angle",
        title="Outer angle",
        doc="Steer angle at lock of the wheel farther from the turn's centre, likewise",
        unit="deg",
    ),
    Port(
        key="axis_distance",
        title="Distance between steering axes",
        doc="At the ground, rack at centre",
        unit="mm",
    ),
    Port(
        key="ackermann_percent",
        title="Ackermann share",
        doc="Difference of inner and outer angle at lock, as a share of what rolling without slip "
        "asks for; 0 parallel, 100 pure rolling",
        unit="%",
    ),
    Port(
        key="turning_circle",
        title="Turning circle",
        doc="Diameter that the outer front wheel's tread centre describes",
        unit="m",
    ),
    Port(
        key="turning_circle_walls",
        title="Turning circle between walls",
        doc="Diameter that `front_corner` describes on the outer side",
        unit="m",
        optional=True,
    ),
    Port(
        key="toggle_margin",
        title="Toggle margin",
        doc="Least angle at either lock between steering arm and tie rod, or its supplement, seen "
        "along the steering axis: 0 where the linkage locks up",
        unit="deg",
    ),
)

_RULES = (
    Rule(
        output="toggle_margin",
        lower=25.0,
        reason="Nearer to a straight line of arm and tie rod, tie-rod forces and the effect of "
        "tolerances grow steeply and the linkage may snap through",
        source="Common practice, no source",
    ),
)

_CAUTIONS = (
    "Rigid links and joints without play, wheel-centre height held while the rack moves.",
    (
        "The rack moves along Y and its C-factor is constant; of a variable rack give the C-factor "
        "at the centre for the ratio there and its mean for the rest."
    ),
    (
        "The turning circles hold for walking pace: no tyre slip, the turn's centre on the line "
        "of the rear axle, lateral shift of the contact centres left out."
    ),
    "Whether a left turn steers left is another check's question: angles here have no sense.",
    (
        "Column joints are left out: their ripple comes on top of the ratio's change over the "
        "steering-wheel angle."
    ),
)

_SOURCES = (
    Source("ISO 8855:2011", "7.1.6, 7.1.8", "signs of toe and steer; excerpt read"),
    Source(
        "Ackermann's condition", "cot δo − cot δi = c/L", "Rattan, Theory of Machines; recalled"
    ),
    Source(
        "Barton & Fieldhouse, Automotive Chassis Engineering",
        "Springer 2018, §2.7, p. 87",
        "turns from rack travel and pinion; read",
    ),
)

_MANIFEST = Manifest(
    key="ratio-band",
    version="1",
    title="Steering ratio",
    purpose="Tell how quick a rack is on these points, how far the wheels turn at lock, how near "
    "that is to rolling without slip, and how far the linkage stays from locking up",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    rules=_RULES,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


class RatioBand:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Sweep the rack to both ends, row by row."""
        from whybone_chassis.ratio_band_numbers import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Draw ratio and wheel angles over the steering-wheel angle."""
        from whybone_chassis.ratio_band_figures import figures

        return figures(inputs)


CHECK = RatioBand()
