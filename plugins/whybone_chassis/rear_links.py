"""Rear corner with an integral link: wheel curves, wind-up, and what the links carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.ball_joint_moment import CHECK as FRONT
from whybone_chassis.ball_joint_moment import case_names
from whybone_chassis.corner_ports import CORNER, SPRING, TRAVEL, TRIM, WHEEL_TRACK, WHEELBASE
from whybone_chassis.wheel_curve_ports import CAMBER, TOE

__all__ = ["CHECK", "LAYOUTS", "REACTED_BY", "SENSES"]

REACTED_BY = ("knuckle", "body")
"""What reacts the torque of a force along the vehicle, in code order."""

SENSES = ("compression", "tension", "none")
"""What a load adds to the integral link, in code order."""

LAYOUTS = (
    "ahead-below",
    "ahead-above",
    "behind-below",
    "behind-above",
)

"""Integral link ahead of or behind the lower joint; that below or above the wheel centre."""

_MOVING_RACK = "rack"

_POINTS = {
    "lower_front_inner": ("Lower arm, front pivot", "On the body"),
    "lower_rear_inner": ("Lower arm, rear pivot", "On the body"),
    "lower_outer": ("Lower joint", "Ball joint from the lower arm to the knuckle"),
    "integral_on_arm": ("Integral link, end on the arm", "On the lower arm"),
    "integral_on_knuckle": ("Integral link, end on the knuckle", "On the knuckle"),
    "upper_front_inner": ("Upper front link, inner joint", "On the body"),
    "upper_front_outer": ("Upper front link, outer joint", "On the knuckle"),
    "upper_rear_inner": ("Upper rear link, inner joint", "On the body"),
    "upper_rear_outer": ("Upper rear link, outer joint", "On the knuckle"),
}

_BUSHES = {
    "upper_front_rate": ("Rate of the upper front link", "Along it, its two bushes in series"),
    "upper_rear_rate": ("Rate of the upper rear link", "Along it, its two bushes in series"),
    "integral_rate": ("Rate of the integral link", "Along it, its two bushes in series"),
    "arm_front_radial_rate": ("Radial rate, arm's front bush", "Square to the pivot line"),
    "arm_rear_radial_rate": ("Radial rate, arm's rear bush", "Square to the pivot line"),
    "arm_front_axial_rate": ("Axial rate, arm's front bush", "Along the pivot line"),
    "arm_rear_axial_rate": ("Axial rate, arm's rear bush", "Along the pivot line"),
}


def _point(key: str, title: str, doc: str, *, optional: bool = False) -> Port:
    return Port(
        key=key,
        title=title,
        doc=f"{doc}, left wheel",
        kind=Kind.POINT,
        unit="mm",
        optional=optional,
    )


def _reacted(key: str, what: str, default: str) -> Port:
    return Port(
        key=key,
        title=f"{what} torque reacted by",
        doc="knuckle: outboard, the force acts at the contact centre; body: inboard through a "
        "driveshaft, the force acts at the wheel centre's height",
        kind=Kind.CHOICE,
        choices=REACTED_BY,
        optional=True,
        default=default,
    )


_VEHICLE = (
    replace(WHEELBASE, doc="Front to rear axle; for anti-lift and anti-squat", optional=True),
    Port(
        key="cg_height",
        title="Height of the centre of gravity",
        doc="Above the ground; for anti-lift and anti-squat",
        unit="mm",
        optional=True,
    ),
    Port(
        key="brake_share_rear",
        title="Rear share of braking",
        doc="Braking force of the rear axle ÷ that of the vehicle, 0 to 1; for anti-lift",
        optional=True,
    ),
    Port(
        key="drive_share_rear",
        title="Rear share of driving",
        doc="Driving force of the rear axle ÷ that of the vehicle, 0 to 1; for anti-squat",
        optional=True,
    ),
    _reacted("brake_reacted_by", "Brake", "knuckle"),
    _reacted("drive_reacted_by", "Drive", "body"),
)


def _case_inputs(config: Config) -> tuple[Port, ...]:
    """Take the load-case ports of the front corner's check, without its rack."""
    own = {port.key for port in (*CORNER, *SPRING)}
    return tuple(
        replace(port, columns=tuple(each for each in port.columns if each.name != _MOVING_RACK))
        for port in FRONT.manifest(config).inputs
        if port.key not in own
    )


def _inputs(config: Config) -> tuple[Port, ...]:
    return (
        *(_point(key, title, doc) for key, (title, doc) in _POINTS.items()),
        *(port for port in CORNER if port.kind is not Kind.POINT or port.key == "wheel_centre"),
        _point("spring_lower", "Spring, lower seat", "On the lower arm", optional=True),
        _point("spring_upper", "Spring, upper seat", "On the body", optional=True),
        WHEEL_TRACK,
        TRAVEL,
        TRIM,
        *_VEHICLE,
        *(
            Port(key=key, title=title, doc=doc, unit="N/mm", optional=True)
            for key, (title, doc) in _BUSHES.items()
        ),
        *_case_inputs(config),
    )


_ALONG = (
    Port(
        key="anti_lift_percent",
        title="Anti-lift in braking",
        doc="Share of the rear spring's load change in braking that the links carry; 100: the rear "
        "does not lift",
        unit="%",
        optional=True,
    ),
    Port(
        key="anti_squat_percent",
        title="Anti-squat in driving",
        doc="Share of the rear spring's load change in driving that the links carry; 100: the rear "
        "does not squat",
        unit="%",
        optional=True,
    ),
    Port(
        key="motion_ratio",
        title="Motion ratio",
        doc="Spring travel ÷ wheel travel at trim",
        optional=True,
    ),
    Port(
        key="motion_ratio_rate",
        title="Rate of the motion ratio",
        doc="Change of the motion ratio per wheel travel at trim",
        unit="1/m",
        optional=True,
    ),
    Port(
        key="wind_up_stiffness",
        title="Wind-up stiffness",
        doc="Torque on the knuckle about the wheel's spin axis per turn about it, height of the "
        "wheel centre held, at trim",
        unit="N·m/deg",
        optional=True,
    ),
)


def _increment(key: str, what: str) -> Port:
    return Port(
        key=f"{key}_increment",
        title=f"Integral link, {what}",
        doc=f"What {what} adds to the integral link's force per force at the wheel, at trim; "
        "tension positive",
        unit="N/kN",
    )


def _sense(key: str, what: str) -> Port:
    return Port(
        key=f"{key}_sense",
        title=f"Integral link under {what}",
        doc=f"Whether {what} adds compression or tension to the integral link",
        kind=Kind.CHOICE,
        choices=SENSES,
    )


_LOADS = {
    "braking": "braking with an outboard brake",
    "drive": "driving with the torque on the knuckle",
    "motor": "driving with an inboard motor",
}

_LAYOUT = (
    Port(
        key="integral_lever",
        title="Lever of the integral link",
        doc="Distance in side view at trim of its line from the lower joint; positive ahead of it "
        "with the arm's end below (or behind it with the arm's end above)",
        unit="mm",
    ),
    Port(
        key="integral_layout",
        title="Layout of the integral link",
        doc="Ahead or behind as by the sign of `integral_lever`, which counts a link that hangs "
        "from an arm above as on the other side; lower joint below or above the wheel centre",
        kind=Kind.CHOICE,
        choices=LAYOUTS,
    ),
    *(_increment(key, what) for key, what in _LOADS.items()),
    *(_sense(key, what) for key, what in _LOADS.items()),
)


def _force(key: str, title: str, doc: str) -> Port:
    return Port(key=key, title=title, doc=doc, unit="N", optional=True)


_FORCES = (
    _force("integral_link_force", "Integral link force", "Largest by size, tension positive"),
    _force("upper_front_force", "Upper front link force", "Largest by size, tension positive"),
    _force("upper_rear_force", "Upper rear link force", "Largest by size, tension positive"),
    _force("lower_joint_force", "Lower joint force", "Resultant in the worst case"),
    _force("spring_force", "Spring force", "Largest by size, compression positive"),
)

_CAUTIONS = (
    "Rigid links, arm and knuckle, joints without play; friction left out.",
    (
        "Signs of the load increments depend on the layout: with the integral link ahead of the "
        "lower joint and the arm below, an outboard brake compresses it, a driving torque on the "
        "knuckle pulls it, and an inboard motor compresses it with the joint below the wheel "
        "centre and pulls it with the joint above; behind the joint all reverse. Increments come "
        "on top of what the static load does: with the joint ahead of or behind the wheel centre "
        "the standing wheel loads the link too."
    ),
    (
        "Wind-up takes the bushes alone as elastic, at small angles and constant rates; the ball "
        "joint does not give."
    ),
    (
        "The roll centre is the geometric one of small roll: both wheels' contact centres at half "
        "`wheel_track`, lateral forces alike."
    ),
    (
        "Links carry axial force only. How the arm's two inner bushes share the force along their "
        "line is not determined and not given; dynamic factors belong into the load cases."
    ),
    "Forces are no verdict on strength. Compliance steer comes on top of roll steer.",
)

_SOURCES = (
    Source("ISO 8855:2011", "7.1.6, 7.1.8", "axes, signs of toe, camber and steer; excerpt read"),
    Source("Statics of rigid bodies, virtual work", "", "any text on mechanics"),
    Source("Castigliano's second theorem", "wind-up from the bushes' energy", "any text"),
    Source(
        "Two parallel upper links hold camber, the integral link holds the rocking of the knuckle",
        "",
        "common practice, no source",
    ),
)


class RearLinks:
    """The check; see the manifest. Configuration: `cases`, names separated by commas."""

    def manifest(self, config: Config) -> Manifest:
        """Describe the check.

        Raises
        ------
        ConfigError
            A case has no usable name or is named twice, or a field is unknown.
        """
        return Manifest(
            key="rear-links",
            version="1",
            title="Rear links",
            purpose="Tell how a rear wheel on a lower arm, two upper links and an integral link "
            "moves, how stiffly it resists winding up, and what the links carry in each load case",
            inputs=_inputs(config),
            outputs=(*TOE, *CAMBER, *_ALONG, *_LAYOUT, *_FORCES),
            sources=_SOURCES,
            cautions=_CAUTIONS,
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        """Follow the wheel over its travel and balance it in every case, row by row."""
        from whybone_chassis.rear_links_numbers import solve

        return solve(inputs, case_names(config))

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show the wheel curves, the links from the side, forces per case and the wind-up."""
        from whybone_chassis.rear_links_figures import figures

        return figures(inputs, case_names(config))


CHECK = RearLinks()
