"""What the driver must pull at the steering wheel, with and without assistance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracker.contract.check import (
    Array,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    Rule,
    Source,
)
from tracker.contract.figure import Figure
from whybone_chassis.effort_limits import LIMITS, REGULATION
from whybone_chassis.trend_tables import follows, trend

__all__ = ["CHECK"]

_INPUTS = (
    Port(
        key="rack_force",
        title="Rack force",
        doc="Force along the rack while driving into the turn of the regulation at 10 km/h, both "
        "tie rods together",
        unit="N",
    ),
    Port(
        key="c_factor",
        title="C-factor",
        doc="Rack travel per revolution of the steering wheel, where the force acts",
        unit="mm/rev",
    ),
    Port(
        key="efficiency",
        title="Efficiency",
        doc="Of gear and column, steering wheel to rack, above 0 and at most 1",
    ),
    Port(
        key="steering_wheel_diameter",
        title="Steering-wheel diameter",
        doc="To the middle of the rim",
        unit="mm",
    ),
    Port(
        key="vehicle_class",
        title="Vehicle class",
        doc="Class of the regulation: M carries persons, N goods",
        kind=Kind.CHOICE,
        choices=tuple(LIMITS),
    ),
    Port(
        key="assist_force",
        title="Assistance",
        doc="Most the assistance adds along the rack; 0 is manual steering",
        unit="N",
        optional=True,
        default=0.0,
    ),
    Port(
        key="wheel_load",
        title="Wheel load, parking",
        doc="Vertical load of one steered wheel",
        unit="N",
        optional=True,
    ),
    Port(
        key="friction",
        title="Friction, parking",
        doc="Between tyre and ground, standing",
        optional=True,
    ),
    Port(
        key="scrub_arm",
        title="Scrub arm, parking",
        doc="Effective arm of the contact's friction about the steering axis",
        unit="mm",
        optional=True,
    ),
    Port(
        key="inclination",
        title="Steering-axis inclination",
        doc="Top of the axis inward positive",
        unit="deg",
        optional=True,
    ),
    Port(
        key="offset",
        title="Scrub radius",
        doc="From the axis on the ground to the contact centre, axis inboard positive",
        unit="mm",
        optional=True,
    ),
    Port(
        key="steer_angle",
        title="Steer angle, parking",
        doc="Of the wheels, from straight ahead; the size counts",
        unit="deg",
        optional=True,
    ),
    Port(
        key="ratio",
        title="Overall steering ratio, parking",
        doc="Steering-wheel angle over mean steer angle where the wheels stand",
        optional=True,
    ),
)

_OUTPUTS = (
    Port(
        key="torque_with_assistance",
        title="Torque with assistance",
        doc="At the steering wheel, in the manoeuvre of the regulation",
        unit="N*m",
    ),
    Port(
        key="torque_without_assistance",
        title="Torque without assistance",
        doc="At the steering wheel, assistance failed",
        unit="N*m",
    ),
    Port(
        key="rim_force_with_assistance",
        title="Rim force with assistance",
        doc="Tangential force at the rim",
        unit="N",
    ),
    Port(
        key="rim_force_without_assistance",
        title="Rim force without assistance",
        doc="Tangential force at the rim, assistance failed",
        unit="N",
    ),
    Port(
        key="limit_intact",
        title="Limit, intact",
        doc="Largest rim force the regulation allows the class, steering intact",
        unit="N",
    ),
    Port(
        key="limit_failed",
        title="Limit, failed",
        doc="Largest rim force the regulation allows the class, assistance failed",
        unit="N",
    ),
    Port(key="use_intact", title="Use of the limit, intact", doc="Rim force over limit"),
    Port(key="use_failed", title="Use of the limit, failed", doc="Rim force over limit"),
    Port(
        key="scrub_moment",
        title="Scrub moment, parking",
        doc="Friction about the steering axis, one wheel",
        unit="N*m",
        optional=True,
    ),
    Port(
        key="jacking_moment",
        title="Jacking moment, parking",
        doc="From lifting the vehicle, one wheel; positive returns the wheel",
        unit="N*m",
        optional=True,
    ),
    Port(
        key="parking_rack_force",
        title="Rack force, parking",
        doc="Both wheels",
        unit="N",
        optional=True,
    ),
    Port(
        key="parking_torque",
        title="Torque, parking",
        doc="At the steering wheel, with assistance; the regulation does not limit it",
        unit="N*m",
        optional=True,
    ),
)

_RULES = tuple(
    Rule(
        output=f"use_{state}",
        upper=1.0,
        guard=0.1,
        reason=f"The rim force must not exceed the limit of the vehicle class, {state}",
        source=REGULATION,
    )
    for state in ("intact", "failed")
)

_CAUTIONS = (
    (
        "The limits are those of driving into a turn at 10 km/h within a given time; that time and "
        "the turning radius are not checked here. They were recalled from memory: compare them "
        "with the edition that applies."
    ),
    "Parking torque carries no regulatory verdict.",
    (
        "Assistance is taken to add its full force along the rack; a real one leaves the driver "
        "some torque, and its force falls with the speed of the rack."
    ),
    (
        "Parking moments leave out caster, the tyre's twist before it slips and the friction of "
        "joints; both wheels are taken to need the same moment."
    ),
)

_MANIFEST = Manifest(
    key="effort",
    version="1",
    title="Steering effort",
    purpose="Turn rack force into steering-wheel torque and rim force, with and without "
    "assistance, and hold them against the limits of the vehicle class",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    rules=_RULES,
    sources=(
        Source("UN Regulation No. 79, 01 series", "6.2", "limits; recalled from memory"),
        Source(
            "Barton & Fieldhouse, Automotive Chassis Engineering",
            "Example E2.1 p. 82 and section 2.7 p. 87",
            "scrub and jacking moment, work balance of the gear; read",
        ),
    ),
    cautions=_CAUTIONS,
)

_DRIVEN = (
    "torque_with_assistance torque_without_assistance rim_force_with_assistance "
    "rim_force_without_assistance use_intact use_failed"
)
_HELPED = "torque_with_assistance rim_force_with_assistance use_intact"
_JACKED = "jacking_moment parking_rack_force parking_torque"

_TRENDS = {
    "rack_force": follows(up=_DRIVEN),
    "assist_force": follows(down=f"{_HELPED} parking_torque"),
    # The torque of parking falls with it as far as the assistance gains on the moments.
    "c_factor": follows(up=_DRIVEN, down="parking_torque", unclear="parking_rack_force"),
    "efficiency": follows(down=f"{_DRIVEN} parking_torque"),
    "steering_wheel_diameter": follows(
        down="rim_force_with_assistance rim_force_without_assistance use_intact use_failed"
    ),
    "wheel_load": follows(
        up="scrub_moment parking_torque", unclear="jacking_moment parking_rack_force"
    ),
    "friction": follows(up="scrub_moment parking_rack_force parking_torque"),
    "scrub_arm": follows(up="scrub_moment parking_rack_force parking_torque"),
    "ratio": follows(down="parking_torque", unclear="parking_rack_force"),
    "inclination": follows(unclear=_JACKED),
    "offset": follows(unclear=_JACKED),
    "steer_angle": follows(unclear=_JACKED),
}
"""Input → what follows it. A rack force of parking below zero needs no torque at all."""


class Effort:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Work out torques, forces and the use of the limits, row by row."""
        from whybone_chassis.effort_forces import efforts

        return efforts(inputs)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise what the balance of work tells; the jacking moment takes any sign."""
        return trend(_TRENDS, output, input)

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[tuple[str, str], Array]:  # noqa: ARG002  as above
        """Differentiate torques and rim forces of driving."""
        from whybone_chassis.effort_slopes import derivatives

        return derivatives(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show torque over rack force, and the rim forces beside their limits."""
        from whybone_chassis.effort_figures import figures

        return figures(inputs, self.compute(inputs, config))


CHECK = Effort()
