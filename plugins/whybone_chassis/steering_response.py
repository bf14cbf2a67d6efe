"""How a vehicle answers to the steering wheel in steady cornering."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracker.contract.check import Array, Config, Inputs, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.trend_tables import follows, trend

__all__ = ["CHECK"]

_INPUTS = (
    Port(key="mass", title="Mass", doc="Of the vehicle in the case looked at", unit="kg"),
    Port(
        key="front_share",
        title="Front share of the mass",
        doc="Static load of the front axle over the whole, 0 to 1",
    ),
    Port(key="wheelbase", title="Wheelbase", doc="Between the axles", unit="mm"),
    Port(
        key="cornering_front",
        title="Cornering stiffness, front",
        doc="Side force per slip angle of the whole axle (both tyres), positive",
        unit="N/rad",
    ),
    Port(
        key="cornering_rear",
        title="Cornering stiffness, rear",
        doc="Side force per slip angle of the whole axle (both tyres), positive",
        unit="N/rad",
    ),
    Port(
        key="roll_gradient",
        title="Roll gradient",
        doc="Suspension roll per lateral acceleration, tyre deflection excluded",
        unit="deg/g",
    ),
    Port(
        key="roll_steer_front",
        title="Roll steer, front",
        doc="Steer per suspension roll; positive where more roll opens the turn (understeer)",
        unit="deg/deg",
    ),
    Port(
        key="roll_steer_rear",
        title="Roll steer, rear",
        doc="Steer per suspension roll; positive where more roll opens the turn (understeer)",
        unit="deg/deg",
    ),
    Port(
        key="ratio",
        title="Overall steering ratio",
        doc="Steering-wheel angle over the mean steer angle of the two wheels, near the centre",
    ),
    Port(key="speed", title="Speed", doc="Forward speed, not negative", unit="km/h"),
    Port(
        key="understeer_compliance",
        title="Understeer from compliance",
        doc="Part of bushes, linkage and gear under side force and aligning moment; not included "
        "when it is not given",
        unit="deg/g",
        optional=True,
    ),
    Port(
        key="understeer_camber",
        title="Understeer from camber",
        doc="Part of camber change in roll; not included when it is not given",
        unit="deg/g",
        optional=True,
    ),
)

_OUTPUTS = (
    Port(
        key="understeer_tyres",
        title="Understeer gradient of the tyres",
        doc="Axle loads over cornering stiffnesses, front less rear; at the road wheel",
        unit="deg/g",
    ),
    Port(
        key="understeer_roll",
        title="Understeer gradient of roll steer",
        doc="Both axles' roll steer times the roll gradient; at the road wheel",
        unit="deg/g",
    ),
    Port(
        key="compliance_part",
        title="Understeer from compliance, as included",
        doc="Absent where it is not included",
        unit="deg/g",
        optional=True,
    ),
    Port(
        key="camber_part",
        title="Understeer from camber, as included",
        doc="Absent where it is not included",
        unit="deg/g",
        optional=True,
    ),
    Port(
        key="understeer",
        title="Understeer gradient",
        doc="Sum of all parts that are included, at the road wheel; positive understeer",
        unit="deg/g",
    ),
    Port(
        key="characteristic_speed",
        title="Characteristic speed",
        doc="Speed at which the steer angle of a given turn is twice that at a crawl, and at which "
        "the yaw gain is greatest; only of an understeering vehicle",
        unit="km/h",
        optional=True,
    ),
    Port(
        key="critical_speed",
        title="Critical speed",
        doc="Speed above which the vehicle is unstable; only of an oversteering vehicle",
        unit="km/h",
        optional=True,
    ),
    Port(
        key="sensitivity",
        title="Steering sensitivity",
        doc="Lateral acceleration per 100 deg of steering wheel at `speed`",
        unit="g/(100*deg)",
    ),
    Port(
        key="yaw_gain",
        title="Yaw gain",
        doc="Yaw velocity per steering-wheel angle at `speed`",
        unit="1/s",
    ),
)

_CAUTIONS = (
    (
        "Steady cornering with linear tyres and small angles: up to about 0.3 g to 0.4 g. "
        "Transients, limit handling and load transfer are not covered."
    ),
    "Cornering stiffness is per axle, not per tyre: a value per tyre halves it.",
    (
        "Roll steer of both axles is positive as understeer here, so the two add. Texts that take "
        "rear roll steer positive the other way subtract it."
    ),
    (
        "Compliance and camber are included only when they are given; without them the "
        "understeer of a real vehicle is mostly understated and its sensitivity overstated."
    ),
    "Aerodynamic forces, drive and self-steer of the tyres (conicity) are left out.",
)

_MANIFEST = Manifest(
    key="steering-response",
    version="1",
    title="Steering response",
    purpose="Tell how much a vehicle understeers, and how sharply it answers to the steering wheel "
    "at a speed: where a quick gear can be paid for with roll understeer",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    sources=(
        Source(
            "Gillespie, Fundamentals of Vehicle Dynamics",
            "chapter 6, steady-state cornering",
            "understeer gradient, characteristic and critical speed, gains; recalled from memory",
        ),
        Source("Wong, Theory of Ground Vehicles", "Example 5.1", "recalled from memory"),
    ),
    cautions=_CAUTIONS,
)

_TRENDS = {
    "ratio": follows(down="sensitivity yaw_gain"),
    "wheelbase": follows(up="characteristic_speed critical_speed", down="sensitivity yaw_gain"),
}
"""The other inputs decide together whether the vehicle is stable: nothing is said of them."""


class SteeringResponse:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Work out gradient, speeds and gains, row by row."""
        from whybone_chassis.steering_response_gains import respond

        return respond(inputs)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise what ratio and wheelbase do below the critical speed."""
        return trend(_TRENDS, output, input)

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[tuple[str, str], Array]:  # noqa: ARG002  as above
        """Differentiate the understeer gradient and the gains."""
        from whybone_chassis.steering_response_slopes import derivatives

        return derivatives(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Show sensitivity and yaw gain over speed, and what the understeer is made of."""
        from whybone_chassis.steering_response_figures import figures

        return figures(inputs)


CHECK = SteeringResponse()
