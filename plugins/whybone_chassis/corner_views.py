"""The left corner from the front, from above and from the side, as sketches."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.corner_ports_figures import outline
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.vectors import FloatArray

__all__ = ["Disc", "corner_views"]

_AROUND = 24  # corners a circle is drawn with
_Flat = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Disc:
    """A brake disc: its radius, and its middle plane from the wheel centre, outboard positive."""

    radius: float
    offset: float


@dataclass(frozen=True, slots=True)
class _View:
    key: str
    title: str
    across: Axis
    up: Axis
    page: FloatArray
    """Rows: page axes in vehicle axes."""

    def flat(self, point: FloatArray) -> FloatArray:
        """Put a point on the page."""
        place: FloatArray = self.page @ point
        return place


_RIGHT = Axis("to the right (−Y)", "mm", along="-y")
_LEFT = Axis("to the left (Y)", "mm", along="y")
_FORWARD, _UP = Axis("forward (X)", "mm", along="x"), Axis("up (Z)", "mm", along="z")


def _views() -> tuple[_View, ...]:
    x, y, z = np.eye(3)
    return (
        _View("corner-front", "Left corner from the front", _LEFT, _UP, np.stack([y, z])),
        _View("corner-above", "Left corner from above", _RIGHT, _FORWARD, np.stack([-y, x])),
        _View(
            "corner-side",
            "Left corner from the side, forward to the right",
            _FORWARD,
            _UP,
            np.stack([x, z]),
        ),
    )


def corner_views(pose: Pose, virtual: FloatArray, disc: Disc | None) -> tuple[Figure, ...]:
    """Draw links, joints, spring, wheel and disc of a corner in three views.

    Parameters
    ----------
    pose : Pose
        One row; what is not finite in it is left out.
    virtual : ndarray, shape (3,)
        Lower joint on the steering axis, real or virtual, mm.
    disc : Disc or None
        The brake disc, where it is known.
    """
    return tuple(
        Figure(
            key=view.key,
            title=view.title,
            kind=FigureKind.SKETCH,
            series=_corner(pose, virtual, disc, view.flat),
            across=view.across,
            up=view.up,
        )
        for view in _views()
    )


def _corner(pose: Pose, virtual: FloatArray, disc: Disc | None, flat: _Flat) -> tuple[Series, ...]:
    centre, spin = pose.wheel_centre[0], pose.spin_axis[0]
    radius = float(np.linalg.norm(pose.contact_centre[0] - centre))
    rims = [_circle("Wheel", centre, spin, radius, flat)]
    if disc is not None:
        rims.append(_circle("Disc", centre + disc.offset * spin, spin, disc.radius, flat))
    return (
        *_links(pose, flat),
        *_spring(pose, flat),
        _knuckle(pose, flat),
        outline(
            "Steering axis",
            [
                (flat(pose.upper_outer[0]), "upper joint"),
                (flat(virtual), "lower joint on the axis"),
            ],
        ),
        *rims,
        outline(
            "Wheel centre and contact",
            [(flat(centre), "wheel centre"), (flat(pose.contact_centre[0]), "contact centre")],
        ),
    )


def _links(pose: Pose, flat: _Flat) -> tuple[Series, ...]:
    corner = pose.linkage.corner
    ends = {
        "Upper arm, front": (corner.upper_front_inner, pose.upper_outer),
        "Upper arm, rear": (corner.upper_rear_inner, pose.upper_outer),
        "Lower front link": (corner.lower_front_inner, pose.lower_front_outer),
        "Lower rear link": (corner.lower_rear_inner, pose.lower_rear_outer),
        "Tie rod": (pose.tie_rod_inner, pose.tie_rod_outer),
    }
    return tuple(
        outline(title, [(flat(inner[0]), "inner"), (flat(outer[0]), "outer")])
        for title, (inner, outer) in ends.items()
    )


def _spring(pose: Pose, flat: _Flat) -> tuple[Series, ...]:
    spring = pose.linkage.spring
    if spring is None:
        return ()
    ends = [(flat(pose.spring_lower[0]), "lower seat"), (flat(spring.upper[0]), "upper seat")]
    return (outline("Spring", ends),)


def _knuckle(pose: Pose, flat: _Flat) -> Series:
    """Draw a star from the wheel centre to the joints the knuckle carries."""
    joints = (
        pose.upper_outer,
        pose.lower_front_outer,
        pose.lower_rear_outer,
        pose.tie_rod_outer,
    )
    hub = flat(pose.wheel_centre[0])
    return outline("Knuckle", [each for j in joints for each in ((hub, ""), (flat(j[0]), ""))])


def _circle(
    title: str, centre: FloatArray, normal: FloatArray, radius: float, flat: _Flat
) -> Series:
    """Draw a circle about a centre, square to its normal, as a closed polyline."""
    level = np.cross(normal, np.array([0.0, 0.0, 1.0]))
    level = level / np.linalg.norm(level)
    rise = np.cross(level, normal)
    turn = np.arange(_AROUND) * (2.0 * np.pi / _AROUND)
    points = centre + radius * (np.cos(turn)[:, None] * level + np.sin(turn)[:, None] * rise)
    line = outline(title, [(flat(point), "") for point in points])
    return Series(title=title, x=line.x, y=line.y, labels=line.labels, closed=bool(line.x))
