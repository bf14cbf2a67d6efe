"""Toe over wheel travel, and the steer that body roll makes of it."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import AXLES, CORNER, TRAVEL, TRIM, WHEEL_TRACK
from whybone_chassis.wheel_curve_ports import TOE

__all__ = ["CHECK"]

_INPUTS = (
    Port(
        key="axle",
        title="Axle",
        doc="Which axle the points belong to: it decides what understeer is",
        kind=Kind.CHOICE,
        choices=AXLES,
        optional=True,
        default=AXLES[0],
    ),
    *CORNER,
    WHEEL_TRACK,
    TRAVEL,
    TRIM,
)

_CAUTIONS = (
    "Rigid links and joints without play, rack held at its middle.",
    (
        "Roll is suspension roll, body against the line of the wheel centres, tyre deflection "
        "excluded, about equal and opposite travel of the two wheels."
    ),
    "Compliance steer comes on top and is often as large.",
)

_SOURCES = (
    Source("ISO 8855:2011", "7.1.6, 7.1.8", "signs of toe and steer; excerpt read"),
    Source(
        "Gillespie, Fundamentals of Vehicle Dynamics",
        "ch. 6",
        "roll steer as part of the understeer gradient, there with another sign at the rear; "
        "recalled",
    ),
)

_MANIFEST = Manifest(
    key="roll-steer",
    version="1",
    title="Roll steer",
    purpose="Tell how toe changes over wheel travel, how straight that curve is, and what it adds "
    "to understeer as the body rolls",
    inputs=_INPUTS,
    outputs=TOE,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


class RollSteer:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Follow the toe over the travel, row by row."""
        from whybone_chassis.roll_steer_numbers import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Draw toe over travel with its tangent."""
        from whybone_chassis.roll_steer_figures import figures

        return figures(inputs)


CHECK = RollSteer()
