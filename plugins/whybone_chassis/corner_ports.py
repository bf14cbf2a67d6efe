"""Ports that the checks of a front corner share, so that one set of points serves them all."""

from __future__ import annotations

from tracker.contract.check import Kind, Port

__all__ = [
    "AXLES",
    "CORNER",
    "SPRING",
    "SPRING_FOR_SPLIT_ARM",
    "SPRING_LINKS",
    "TRAVEL",
    "TRIM",
    "WHEELBASE",
    "WHEEL_TRACK",
]

AXLES = ("front", "rear")
"""Axles in code order."""

SPRING_LINKS = ("lower-front", "lower-rear")
"""Links that may carry the spring, in code order."""


def _point(key: str, title: str, doc: str, *, optional: bool = False) -> Port:
    return Port(key=key, title=title, doc=doc, kind=Kind.POINT, unit="mm", optional=optional)


CORNER = (
    _point("upper_front_inner", "Upper arm, front inner joint", "On the body, left wheel"),
    _point("upper_rear_inner", "Upper arm, rear inner joint", "On the body, left wheel"),
    _point("upper_outer", "Upper arm, outer joint", "On the knuckle, left wheel"),
    _point("lower_front_inner", "Lower front link, inner joint", "On the body, left wheel"),
    _point(
        "lower_front_outer",
        "Lower front link, outer joint",
        "On the knuckle, left wheel; equal to that of the rear link when the arm is one piece",
    ),
    _point("lower_rear_inner", "Lower rear link, inner joint", "On the body, left wheel"),
    _point(
        "lower_rear_outer",
        "Lower rear link, outer joint",
        "On the knuckle, left wheel; equal to that of the front link when the arm is one piece",
    ),
    _point("tie_rod_inner", "Tie rod, inner joint", "On the rack at mid-travel, left wheel"),
    _point("tie_rod_outer", "Tie rod, outer joint", "On the knuckle, left wheel"),
    _point("wheel_centre", "Wheel centre", "Left wheel"),
    Port(
        key="loaded_radius",
        title="Loaded radius",
        doc="Wheel centre to contact centre, in the wheel plane",
        unit="mm",
    ),
    Port(
        key="static_camber",
        title="Static camber",
        doc="At design; top of the wheel outward positive",
        unit="deg",
    ),
    Port(
        key="static_toe",
        title="Static toe",
        doc="At design; front of the wheel towards the centreline (toe-in) positive",
        unit="deg",
    ),
)
"""Points of the left wheel at design and how the wheel stands, ISO 8855 axes."""


def _spring(where: str, *, optional: bool) -> tuple[Port, ...]:
    return (
        Port(
            key="spring_on",
            title="Spring on",
            doc="Lower link that carries the spring; ignored for a one-piece arm",
            kind=Kind.CHOICE,
            choices=SPRING_LINKS,
            optional=True,
            default=SPRING_LINKS[0],
        ),
        _point(
            "spring_lower",
            "Spring, lower seat",
            f"On the lower arm or link, left wheel{where}",
            optional=optional,
        ),
        _point(
            "spring_upper",
            "Spring, upper seat",
            f"On the body, left wheel{where}",
            optional=optional,
        ),
    )


SPRING = _spring("", optional=False)
"""Where the spring stands."""

SPRING_FOR_SPLIT_ARM = _spring("; needed for a split lower arm only", optional=True)
"""The same where only the virtual steering axis of a split arm depends on it."""

TRAVEL = Port(
    key="travel",
    title="Travel",
    doc="Wheel travel looked at, from trim up (bump) and down (droop)",
    unit="mm",
)

TRIM = Port(
    key="trim",
    title="Trim",
    doc="Wheel travel from design at which the check is made (kerb, laden), up positive",
    unit="mm",
    optional=True,
    default=0.0,
)

WHEELBASE = Port(key="wheelbase", title="Wheelbase", doc="Front to rear axle", unit="mm")

WHEEL_TRACK = Port(
    key="wheel_track",
    title="Wheel track",
    doc="Distance between the contact centres of the axle's wheels",
    unit="mm",
)
