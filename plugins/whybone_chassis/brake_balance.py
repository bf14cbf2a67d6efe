"""How braking is shared between the axles, what adhesion that uses, and which axle locks first."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Rule, Source
from tracker.contract.figure import Figure
from whybone_chassis.brake_balance_classes import CLASSES
from whybone_chassis.brake_balance_names import AXLES, LAWS, ORDERS, TRIMS
from whybone_chassis.trend_tables import follows, trend

__all__ = ["CHECK"]

_VEHICLE = (
    *(Port(key=f"mass_{trim}", title=f"Mass, {trim}", doc="Vehicle", unit="kg") for trim in TRIMS),
    *(
        Port(
            key=f"cg_{trim}",
            title=f"Centre of gravity, {trim}",
            doc="X from the front axle (negative behind it), Z above the ground; Y is not used",
            kind=Kind.POINT,
            unit="mm",
        )
        for trim in TRIMS
    ),
    Port(key="wheelbase", title="Wheelbase", doc="Between the axles", unit="mm"),
    Port(
        key="vehicle_class",
        title="Vehicle class",
        doc="Chooses the regulation and its coefficients",
        kind=Kind.CHOICE,
        choices=tuple(CLASSES),
    ),
)

_BRAKES = (
    *(
        Port(
            key=f"piston_area_{axle}",
            title=f"Piston area, {axle}",
            doc="All pistons on one side of the disc, one wheel",
            unit="mm^2",
        )
        for axle in AXLES
    ),
    *(
        Port(
            key=f"effective_radius_{axle}",
            title=f"Effective radius, {axle}",
            doc="Of the pads on the disc",
            unit="mm",
        )
        for axle in AXLES
    ),
    *(
        Port(key=f"pad_friction_{axle}", title=f"Pad friction, {axle}", doc="Pad on disc")
        for axle in AXLES
    ),
    Port(key="tyre_radius", title="Tyre radius", doc="Loaded radius, both axles", unit="mm"),
    Port(
        key="distribution",
        title="Distribution",
        doc="fixed: one pressure; valve: above the knee the rear rises slower; follows-load: "
        "electronically, the same adhesion at both axles",
        kind=Kind.CHOICE,
        choices=LAWS,
        optional=True,
        default="fixed",
    ),
    Port(
        key="knee_pressure",
        title="Knee pressure",
        doc="Of the valve; needed by it",
        unit="bar",
        optional=True,
    ),
    Port(
        key="pressure_slope",
        title="Slope above the knee",
        doc="Rise of the rear pressure over the front's; 0 limits it, needed by the valve",
        optional=True,
    ),
    Port(
        key="regenerative_share",
        title="Regenerative share",
        doc="Share of the braking force the motors give, 0 to 1",
        optional=True,
        default=0.0,
    ),
    Port(
        key="regenerative_axle",
        title="Regenerative axle",
        doc="Axle the motors brake",
        kind=Kind.CHOICE,
        choices=AXLES,
        optional=True,
        default="rear",
    ),
)

_POINT = (
    Port(key="deceleration", title="Deceleration", doc="Of the working point", unit="g"),
    Port(
        key="road_friction",
        title="Road friction",
        doc="Adhesion at which the locking decelerations are worked out",
    ),
    Port(
        key="rolling_resistance",
        title="Rolling resistance",
        doc="Over the weight",
        optional=True,
        default=0.0,
    ),
    Port(
        key="initial_speed",
        title="Initial speed",
        doc="Of the stop; without it no distances are given",
        unit="km/h",
        optional=True,
    ),
    Port(
        key="response_time",
        title="Response time",
        doc="From the pedal to full braking; the regulation's allowance where it is not given",
        unit="s",
        optional=True,
    ),
)


def _at_point(trim: str) -> tuple[Port, ...]:
    return tuple(
        Port(key=f"{key}_{axle}_{trim}", title=f"{title}, {axle}, {trim}", doc=doc, unit=unit)
        for key, title, doc, unit in (
            ("static_load", "Static axle load", "Standing", "N"),
            ("load", "Axle load", "At the working point", "N"),
            ("pressure", "Pressure", "At the working point", "bar"),
            ("torque", "Brake torque", "Friction brake of one wheel, at the working point", "N*m"),
            ("adhesion", "Adhesion used", "Braking force over axle load, at the working point", ""),
        )
        for axle in AXLES
    )


def _of_trim(trim: str) -> tuple[Port, ...]:
    return (
        *_at_point(trim),
        Port(
            key=f"brake_share_front_{trim}",
            title=f"Front share, {trim}",
            doc="Braking force at the front tyres over the whole, at the working point",
        ),
        *(
            Port(
                key=f"lock_{axle}_{trim}",
                title=f"Locking deceleration, {axle}, {trim}",
                doc="At which the axle locks on `road_friction`; absent where it never does",
                unit="g",
                optional=True,
            )
            for axle in AXLES
        ),
        Port(
            key=f"first_to_lock_{trim}",
            title=f"First to lock, {trim}",
            doc="Axle that locks first on `road_friction`",
            kind=Kind.CHOICE,
            choices=ORDERS,
        ),
        Port(
            key=f"rate_margin_{trim}",
            title=f"Margin of the braking rate, {trim}",
            doc="Least braking rate before either axle locks, over the one asked for, on roads of "
            "0.2 to 0.8",
        ),
        Port(
            key=f"order_margin_{trim}",
            title=f"Margin of the lock order, {trim}",
            doc="Least adhesion the front axle uses beyond the rear, over the braking rates the "
            "class asks for",
        ),
        Port(
            key=f"stopping_distance_{trim}",
            title=f"Stopping distance, {trim}",
            doc="On `road_friction`, without locking",
            unit="m",
            optional=True,
        ),
    )


_OUTPUTS = (
    *(port for trim in TRIMS for port in _of_trim(trim)),
    Port(
        key="stopping_limit",
        title="Stopping distance allowed",
        doc="By the regulation of the class, at the initial speed",
        unit="m",
        optional=True,
    ),
)

_EDITIONS = "; ".join(dict.fromkeys(each.edition for each in CLASSES.values()))
_RULES = tuple(
    Rule(output=f"{key}_{trim}", lower=0.0, scale=0.1, guard=0.1, reason=reason, source=_EDITIONS)
    for key, reason in (
        ("rate_margin", "The braking rate before an axle locks must reach the regulation's line"),
        ("order_margin", "The front axle must use more adhesion than the rear, so it locks first"),
    )
    for trim in TRIMS
)

_CAUTIONS = (
    (
        "Least braking rate: car (M1) z ≥ 0.1 + 0.7·(k − 0.2) of UN Regulation No. 13-H; the other "
        "classes 0.85 of UN Regulation No. 13. Recalled from memory: compare with the edition that "
        "applies. Vehicles without an anti-lock system are meant."
    ),
    (
        "The exceptions the regulations grant to the lock order (a band about the ideal line, an "
        "inversion at middle rates) are not looked at: a miss here may still be allowed."
    ),
    ("Margins are the least over steps of 0.01 in rate and adhesion, the valve's knee included."),
    (
        "Pad friction and tyre radius are constant; fade, pitch, suspension travel, brake booster, "
        "hydraulic losses and a failed circuit are not covered."
    ),
    (
        "The regenerative share holds over the whole range; a real motor's share falls with "
        "demand, speed and charge, and the friction brakes then take over."
    ),
)

_MANIFEST = Manifest(
    key="brake-balance",
    version="1",
    title="Brake balance",
    purpose="Share braking between the axles, tell the adhesion it uses and which axle locks "
    "first, and hold both against the regulation of the vehicle class",
    inputs=(*_VEHICLE, *_BRAKES, *_POINT),
    outputs=_OUTPUTS,
    rules=_RULES,
    sources=(
        Source(
            "Wong, Theory of Ground Vehicles", "braking and Example 3.2", "recalled from memory"
        ),
        *(Source(each, "", "") for each in _EDITIONS.split("; ")),
        Source("Directive 71/320/EEC, Annex II", "appendix, 3.1", "lock order by class; read"),
        Source("Crolla, Automotive Engineering", "p. 362", "coefficient 0.85; read"),
    ),
    cautions=_CAUTIONS,
)

_RISING = " ".join(f"load_front_{trim}" for trim in TRIMS)
_FALLING = " ".join(f"load_rear_{trim}" for trim in TRIMS)
_SHARED = " ".join(
    f"{key}_{trim}"
    for trim in TRIMS
    for key in (
        "brake_share_front",
        *(f"{part}_{axle}" for part in ("pressure", "torque", "adhesion") for axle in AXLES),
    )
)
_TRENDS = {"deceleration": follows(up=_RISING, down=_FALLING, unclear=_SHARED)}
"""How the force is shared follows the deceleration up or down, as valve or axle loads have it."""


class BrakeBalance:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Work out shares, adhesion and margins, row by row."""
        from whybone_chassis.brake_balance_sums import balance

        return balance(inputs)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise what the deceleration asked for does; all margins look at other ones."""
        return trend(_TRENDS, output, input)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Show the adhesion used over the braking rate, and the stop."""
        from whybone_chassis.brake_balance_figures import figures

        return figures(inputs)


CHECK = BrakeBalance()
