"""Axle loads per trim and wheel load cases, from masses and centres of gravity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracker.contract.check import Array, Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.trend_tables import follows, trend
from whybone_chassis.vehicle_loads_names import AXLES, CASES, TRIMS

__all__ = ["CHECK"]

_FORCES = {
    "fx": "forward positive",
    "fy": "left positive; negative on the left wheel means inboard, as on the outer wheel",
    "fz": "up positive",
}
_OPTIONAL = ("step", "kerb", "drive")


def _trim_inputs() -> tuple[Port, ...]:
    masses = tuple(
        Port(key=f"mass_{trim}", title=f"Mass, {trim} trim", doc="Whole vehicle", unit="kg")
        for trim in TRIMS
    )
    centres = tuple(
        Port(
            key=f"cg_{trim}",
            title=f"Centre of gravity, {trim} trim",
            doc="X from the front axle (negative behind it), Y from the centre plane (left "
            "positive), Z above the ground",
            kind=Kind.POINT,
            unit="mm",
        )
        for trim in TRIMS
    )
    return masses + centres


_INPUTS = (
    *_trim_inputs(),
    Port(key="wheelbase", title="Wheelbase", doc="Between the axles", unit="mm"),
    Port(key="track_front", title="Track, front", doc="Between the wheels' contacts", unit="mm"),
    Port(key="track_rear", title="Track, rear", doc="Between the wheels' contacts", unit="mm"),
    Port(
        key="trim",
        title="Trim of the load cases",
        doc="Trim the wheel loads are worked out in",
        kind=Kind.CHOICE,
        choices=TRIMS,
        optional=True,
        default="laden",
    ),
    Port(key="braking", title="Braking", doc="Deceleration, positive", unit="g"),
    Port(
        key="brake_share_front",
        title="Front share of the braking force",
        doc="Braking force at the front tyres over the whole, 0 to 1",
    ),
    Port(key="cornering", title="Cornering", doc="Lateral acceleration, positive", unit="g"),
    Port(
        key="transfer_share_front",
        title="Front share of the roll moment",
        doc="Part of the moment of the lateral acceleration about the ground that the front axle "
        "takes, 0 to 1",
    ),
    Port(
        key="bump_factor",
        title="Bump factor",
        doc="Vertical wheel load in a bump over the static one; 3 is customary for screening",
    ),
    Port(
        key="step_height",
        title="Step height",
        doc="Of the step the wheel rolls against; without it there is no such case",
        unit="mm",
        optional=True,
    ),
    Port(
        key="loaded_radius",
        title="Loaded radius",
        doc="Of the tyre; needed by the step",
        unit="mm",
        optional=True,
    ),
    Port(
        key="kerb_strike",
        title="Kerb strike",
        doc="Lateral force against a kerb over the axle load; without it there is no such case",
        optional=True,
    ),
    Port(
        key="acceleration",
        title="Acceleration",
        doc="Forward acceleration; without it there is no drive case",
        unit="g",
        optional=True,
    ),
    Port(
        key="drive_share_front",
        title="Front share of the driving force",
        doc="0 is rear drive, 1 front drive",
        optional=True,
        default=0.0,
    ),
)


def _axle_outputs() -> tuple[Port, ...]:
    loads = tuple(
        Port(
            key=f"{axle}_axle_load_{trim}",
            title=f"{axle.capitalize()} axle load, {trim} trim",
            doc="Both wheels, standing level",
            unit="N",
        )
        for trim in TRIMS
        for axle in AXLES
    )
    shares = tuple(
        Port(
            key=f"front_share_{trim}",
            title=f"Front share of the mass, {trim} trim",
            doc="Front axle load over the weight",
        )
        for trim in TRIMS
    )
    return loads + shares


def _case_outputs() -> tuple[Port, ...]:
    return tuple(
        Port(
            key=f"{force}_{axle}_{case}",
            title=f"{axle.capitalize()} left wheel, {case}: {force}",
            doc=f"Force of the road on the tyre, {what}; {_FORCES[force]}",
            unit="N",
            optional=case in _OPTIONAL,
        )
        for case, (what, *forces) in CASES.items()
        for axle in AXLES
        for force in forces
    )


_CAUTIONS = (
    (
        "Quasi-static loads of a rigid vehicle on level ground: no dynamic factor besides the bump "
        "factor, no aerodynamic force, no pitch or roll of the body shifting the centre of gravity."
    ),
    (
        "All wheels of a vehicle in a turn are taken to use the same share of their friction: side "
        "force in proportion to wheel load."
    ),
    (
        "Once an inner wheel lifts, the other axle takes the rest of the roll moment; a vehicle "
        "that would overturn has no cornering loads."
    ),
    (
        "A centre of gravity off the centre plane loads the wheels of a side in the same "
        "proportion at both axles."
    ),
    (
        "Brakes outboard: braking forces act at the ground. Step forces act through the wheel "
        "centre, and so does the driving force of an inboard motor."
    ),
    "Load cases for screening: durability loads come from measurement or simulation.",
)

_MANIFEST = Manifest(
    key="vehicle-loads",
    version="1",
    title="Vehicle loads",
    purpose="Work out axle loads per trim and the wheel loads of the load cases, so that they "
    "follow when mass moves",
    inputs=_INPUTS,
    outputs=(*_axle_outputs(), *_case_outputs()),
    sources=(
        Source("Equilibrium of a rigid body", "", "any text on mechanics"),
        Source(
            "Brown, Robertson & Serpento, Motor Vehicle Structures",
            "pp. 20-24",
            "longitudinal bump sin θ = 1 − H/R, braking and kerb load factors; read",
        ),
        Source("Vertical load of three times the static one in a bump", "", "common practice"),
    ),
    cautions=_CAUTIONS,
)

_FORCES = {
    f"{force}_{axle}_{case}": force
    for case, (_, *forces) in CASES.items()
    for force in forces
    for axle in AXLES
}
_DOWN = " ".join(
    key for key, force in _FORCES.items() if force != "fz" and not key.endswith("drive")
)
_UP = " ".join(key for key in _FORCES if key not in _DOWN.split())

_TRENDS = {
    **{
        # Of another trim than that of the load cases a mass does nothing to them.
        f"mass_{trim}": follows(
            up=f"{_UP} front_axle_load_{trim} rear_axle_load_{trim}", down=_DOWN
        )
        for trim in TRIMS
    },
    "braking": follows(
        up="fz_front_braking", down="fz_rear_braking fx_front_braking fx_rear_braking"
    ),
    "brake_share_front": follows(up="fx_rear_braking", down="fx_front_braking"),
    "cornering": follows(
        up="fz_front_cornering fz_rear_cornering", down="fy_front_cornering fy_rear_cornering"
    ),
    "transfer_share_front": follows(
        up="fz_front_cornering fy_rear_cornering", down="fz_rear_cornering fy_front_cornering"
    ),
    "bump_factor": follows(up="fz_front_bump fz_rear_bump"),
    "step_height": follows(down="fx_front_step fx_rear_step"),
    "kerb_strike": follows(down="fy_front_kerb fy_rear_kerb"),
    "acceleration": follows(up="fx_front_drive fx_rear_drive fz_rear_drive", down="fz_front_drive"),
    "drive_share_front": follows(up="fx_front_drive", down="fx_rear_drive"),
}
"""Input → what follows it. Forces to the rear and to the right are negative."""


class VehicleLoads:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Work out axle and wheel loads, row by row."""
        from whybone_chassis.vehicle_loads_cases import loads

        return loads(inputs)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise what masses, accelerations and shares do; where the masses lie takes more."""
        return trend(_TRENDS, output, input)

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[tuple[str, str], Array]:  # noqa: ARG002  as above
        """Differentiate the axle loads."""
        from whybone_chassis.vehicle_loads_slopes import derivatives

        return derivatives(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show the axle loads per trim and the load cases of both left wheels."""
        from whybone_chassis.vehicle_loads_figures import figures

        return figures(self.compute(inputs, config))


CHECK = VehicleLoads()
