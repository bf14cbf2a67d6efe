"""Body roll in a turn, and how the axles share the load that moves to the outer wheels."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import AXLES

__all__ = ["CHECK", "PARTS"]

PARTS = {
    "elastic": "springs and bar, as the body rolls",
    "geometric": "links, at the roll centre's height",
    "unsprung": "the axle's own mass",
}
"""What moves load to the outer wheel."""

_BODY = (
    Port(key="sprung_mass", title="Sprung mass", doc="Of the whole vehicle", unit="kg"),
    Port(
        key="sprung_share_front",
        title="Front share of the sprung mass",
        doc="What the front springs carry standing, over the whole, 0 to 1",
    ),
    Port(
        key="sprung_cg_height",
        title="Height of the sprung mass",
        doc="Of its centre of gravity above the ground",
        unit="mm",
    ),
)


def _axle(axle: str) -> tuple[Port, ...]:
    return (
        Port(
            key=f"track_{axle}",
            title=f"Track, {axle}",
            doc="Between the wheels' contacts",
            unit="mm",
        ),
        Port(
            key=f"roll_centre_{axle}",
            title=f"Roll centre height, {axle}",
            doc="Above the ground",
            unit="mm",
        ),
        Port(
            key=f"wheel_rate_{axle}",
            title=f"Wheel rate, {axle}",
            doc="Of one wheel's spring at the wheel, tyre and bar excluded",
            unit="N/mm",
        ),
        Port(
            key=f"bar_stiffness_{axle}",
            title=f"Anti-roll bar, {axle}",
            doc="Roll moment of the bar per suspension roll of the axle",
            unit="N·m/deg",
            optional=True,
            default=0.0,
        ),
        Port(
            key=f"unsprung_mass_{axle}",
            title=f"Unsprung mass, {axle} axle",
            doc="Both sides; its centre of gravity is taken at the wheel centre",
            unit="kg",
            optional=True,
            default=0.0,
        ),
    )


_INPUTS = (
    *_BODY,
    *(port for axle in AXLES for port in _axle(axle)),
    Port(
        key="loaded_radius",
        title="Loaded radius",
        doc="Height of the wheel centres; needed with unsprung masses",
        unit="mm",
        optional=True,
    ),
)

_OUTPUTS = (
    Port(
        key="roll_gradient",
        title="Roll gradient",
        doc="Suspension roll per lateral acceleration, tyre deflection excluded; positive out of "
        "the turn",
        unit="deg/g",
    ),
    Port(
        key="roll_arm",
        title="Roll arm",
        doc="Height of the sprung mass above the roll axis",
        unit="mm",
    ),
    *(
        Port(
            key=f"roll_stiffness_{axle}",
            title=f"Roll stiffness, {axle}",
            doc="Springs and bar, per suspension roll",
            unit="N·m/deg",
        )
        for axle in AXLES
    ),
    Port(
        key="roll_stiffness_share_front",
        title="Front share of the roll stiffness",
        doc="Front over the whole",
    ),
    *(
        Port(
            key=f"transfer_{axle}",
            title=f"Load transfer, {axle}",
            doc="From the inner to the outer wheel per lateral acceleration",
            unit="N/g",
        )
        for axle in AXLES
    ),
    Port(
        key="transfer_share_front",
        title="Front share of the roll moment",
        doc="Load transfer times track, front over the whole: what `vehicle-loads` asks for",
    ),
    *(
        Port(
            key=f"transfer_{part}_{axle}",
            title=f"Load transfer, {part}, {axle}",
            doc=f"Part that goes through {what}",
            unit="N/g",
        )
        for axle in AXLES
        for part, what in PARTS.items()
    ),
)

_CAUTIONS = (
    (
        "Steady cornering at small roll, all wheels on the ground: rates and roll centres stay "
        "where they are given. Roll centres move in a turn; look at their curves."
    ),
    "Rigid body and frame: a frame that twists shares less than the springs would.",
    (
        "Roll is suspension roll; tyres add to what a passenger feels. The roll axis is taken as "
        "level where it matters (its slope is a few degrees)."
    ),
    "Wheel rates are those of one wheel moving; stops that touch in roll stiffen the axle.",
)

_SOURCES = (
    Source(
        "Barton & Fieldhouse, Automotive Chassis Engineering, Springer 2018",
        "p. 174",
        "roll angle with the weight's part in the roll stiffness; read",
    ),
    Source("Equilibrium of a rigid body on two axles", "", "any text on vehicle dynamics"),
)

_MANIFEST = Manifest(
    key="roll-balance",
    version="1",
    title="Roll balance",
    purpose="Tell how far the body rolls in a turn and which axle takes how much of the load that "
    "moves to the outer wheels",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


class RollBalance:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Work out roll and load transfer, row by row."""
        from whybone_chassis.roll_balance_numbers import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Show wheel loads over lateral acceleration, and what moves them."""
        from whybone_chassis.roll_balance_figures import figures

        return figures(inputs)


CHECK = RollBalance()
