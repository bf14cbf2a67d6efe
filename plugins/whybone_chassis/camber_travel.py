"""Camber, track and instant centres over wheel travel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import CORNER, TRAVEL, TRIM, WHEEL_TRACK, WHEELBASE
from whybone_chassis.wheel_curve_ports import CAMBER

__all__ = ["BRAKES", "CHECK"]

BRAKES = ("knuckle", "body")
"""What reacts the brake torque, in code order."""

_INPUTS = (
    *CORNER,
    WHEEL_TRACK,
    TRAVEL,
    TRIM,
    replace(
        WHEELBASE, doc="Front to rear axle; with the two below for the anti-dive", optional=True
    ),
    Port(
        key="cg_height",
        title="Height of the centre of gravity",
        doc="Above the ground",
        unit="mm",
        optional=True,
    ),
    Port(
        key="brake_share_front",
        title="Front share of braking",
        doc="Braking force of the front axle ÷ that of the vehicle, 0 to 1",
        optional=True,
    ),
    Port(
        key="brake_reacted_by",
        title="Brake torque reacted by",
        doc="knuckle: outboard brake; body: inboard brake or regenerative braking through a "
        "driveshaft",
        kind=Kind.CHOICE,
        choices=BRAKES,
        optional=True,
        default=BRAKES[0],
    ),
)

_OUTPUTS = (
    *CAMBER,
    Port(
        key="anti_dive_percent",
        title="Anti-dive",
        doc="Share of the front spring's load change in braking that the links carry; 100: the "
        "front does not dive",
        unit="%",
        optional=True,
    ),
)

_CAUTIONS = (
    "Rigid links and joints without play, rack held at its middle.",
    (
        "The roll centre is the geometric one of small roll: both wheels' contact centres at half "
        "`wheel_track`, lateral forces alike."
    ),
    "The swing arm follows from the camber gradient alone; steer of the wheel is left out of it.",
    "Anti-dive holds for small brake forces, at trim; weight of the wheels left out.",
)

_SOURCES = (
    Source("ISO 8855:2011", "", "axes and sign of camber; excerpt read"),
    Source(
        "Virtual work",
        "links carry what does work as the contact moves",
        "roll centre and anti-dive; any text on mechanics",
    ),
)

_MANIFEST = Manifest(
    key="camber-travel",
    version="1",
    title="Camber over travel",
    purpose="Tell how camber and track change over wheel travel, where the instant centre and the "
    "roll centre lie, and how much the links hold the front up in braking",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


class CamberTravel:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Follow wheel and contact over the travel, row by row."""
        from whybone_chassis.camber_travel_numbers import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Draw camber and track over travel, and the corner from the front."""
        from whybone_chassis.camber_travel_figures import figures

        return figures(inputs)


CHECK = CamberTravel()
