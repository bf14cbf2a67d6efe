"""Figures of a rear corner: wheel curves, side view, forces by case, layout and wind-up."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.ball_joint_moment_cases import Cases
from whybone_chassis.corner_ports_figures import curve, first_row, outline
from whybone_chassis.mechanics.rear_linkage import RearLinkage, RearPose, pose_rear
from whybone_chassis.mechanics.rear_velocity import per_travel
from whybone_chassis.mechanics.rear_windup import ELEMENTS, wind_up
from whybone_chassis.mechanics.vectors import FloatArray, norm
from whybone_chassis.mechanics.velocity import wheel_rates
from whybone_chassis.rear_links import SENSES
from whybone_chassis.rear_links_forces import Balanced, balanced, cases, increments, senses
from whybone_chassis.rear_links_linkage import BUSH_PORTS, bushes_of, lacking, lever, linkage_of

__all__ = ["figures"]

_POINTS = 41  # odd: trim is one of them
_UP = Axis("Wheel travel from design, up positive", "mm", "trim")
_SHOWN = {
    "toe": "toe_at_trim",
    "camber": "camber_at_trim",
    "roll-centre": "roll_centre_height",
}
_BY = {
    "braking": "braking, outboard brake",
    "drive": "driving, torque on the knuckle",
    "motor": "driving, inboard motor",
}


def figures(inputs: Inputs, fed: tuple[str, ...]) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `rear-links`.
    fed : tuple of str
        Cases that have force ports of their own.
    """
    first = first_row(inputs)
    with np.errstate(all="ignore"):  # what does not close is left out of the figures
        linkage = linkage_of(first)
        trim = pose_rear(linkage, first["trim"])
        return (
            *_curves(first, linkage),
            _side_view(trim),
            _layout(trim),
            *_by_case(first, fed, linkage),
            *_wind_up(first, trim),
        )


def _curves(inputs: dict[str, Any], linkage: RearLinkage) -> tuple[Figure, ...]:
    """Draw toe, camber and the roll centre over the travel."""
    travel = inputs["trim"] + np.linspace(-1.0, 1.0, _POINTS) * inputs["travel"]
    pose = pose_rear(linkage, travel)
    rates = wheel_rates(pose, per_travel(pose))
    height = 0.5 * inputs["wheel_track"] * rates.contact_rolling[:, 1]
    middle = _POINTS // 2

    def tangent(value: FloatArray, rate: FloatArray) -> Series:
        line = value[middle] + rate[middle] * (travel - travel[middle])
        return curve("Tangent at trim", line, travel)

    shown = (
        ("toe", "Toe", "toe-in positive", "deg", pose.toe, rates.toe),
        ("camber", "Camber", "top outward positive", "deg", pose.camber, rates.camber),
        ("roll-centre", "Roll centre", "both wheels alike, above the ground", "mm", height, None),
    )
    return tuple(
        Figure(
            key=f"{key}-over-travel",
            title=f"{name} over wheel travel, {sign}",
            kind=FigureKind.CURVE,
            series=(
                curve(name, value, travel),
                *((tangent(value, rate),) if rate is not None else ()),
            ),
            across=Axis(name, unit, _SHOWN[key]),
            up=_UP,
        )
        for key, name, sign, unit, value, rate in shown
    )


def _side_view(pose: RearPose) -> Figure:
    """Draw the left corner from the left at trim: forward to the right of the page."""

    def at(point: FloatArray) -> FloatArray:
        flat: FloatArray = point[0, [0, 2]]
        return flat

    corner = pose.linkage.corner
    joint, upper = at(pose.lower_outer), at(pose.integral_on_knuckle)
    ends = {
        "front": (at(corner.upper_front_inner), at(pose.upper_front_outer)),
        "rear": (at(corner.upper_rear_inner), at(pose.upper_rear_outer)),
    }
    arm = [
        (at(corner.lower_front_inner), "front pivot"),
        (joint, "lower joint"),
        (at(corner.lower_rear_inner), "rear pivot"),
        (at(corner.lower_front_inner), ""),
    ]
    knuckle = [
        (joint, ""),
        (ends["rear"][1], ""),
        (ends["front"][1], ""),
        (upper, ""),
        (joint, ""),
    ]
    return Figure(
        key="side-view",
        title="Left rear corner from the side at trim, forward to the right",
        kind=FigureKind.SKETCH,
        series=(
            outline("Lower arm", arm),
            outline("Knuckle", knuckle),
            outline("Integral link", [(at(pose.integral_on_arm), "on arm"), (upper, "on knuckle")]),
            *(
                outline(f"Upper {side} link", [(inner, f"{side} inner"), (outer, f"{side} outer")])
                for side, (inner, outer) in ends.items()
            ),
            outline(
                "Wheel", [(at(pose.wheel_centre), "wheel centre"), (at(pose.contact_centre), "")]
            ),
        ),
        across=Axis("forward (X)", "mm", along="x"),
        up=Axis("up (Z)", "mm", along="z"),
    )


def _layout(pose: RearPose) -> Figure:
    """Say in words which way braking and driving load the integral link, and why."""
    found = increments(pose)
    arm = float(lever(pose)[0])
    side = "ahead of" if arm > 0.0 else "behind"
    height = float(pose.wheel_centre[0, 2] - pose.lower_outer[0, 2])
    place = "below" if height > 0.0 else "above"
    said = "" if np.isfinite([arm, height]).all() else "no pose at trim"
    where = said or (
        f"link {abs(arm):.0f} mm {side} the lower joint, which is {abs(height):.0f} mm {place} "
        "the wheel centre"
    )
    loads = {name: float(found[key][0]) for key, name in _BY.items()}
    known = {name: each for name, each in loads.items() if np.isfinite(each)}
    return Figure(
        key="integral-link",
        title=f"What loads at the wheel add to the integral link: {where}",
        kind=FigureKind.LISTING,
        series=(
            Series(title="load", labels=tuple(known)),
            Series(title="N per kN", labels=tuple(f"{each:+.0f}" for each in known.values())),
            Series(
                title="adds",
                labels=tuple(SENSES[int(code)] for code in senses(np.array([*known.values()]))),
            ),
        ),
    )


def _by_case(
    inputs: dict[str, Any], fed: tuple[str, ...], linkage: RearLinkage
) -> tuple[Figure, ...]:
    given = cases(inputs, fed)
    if not isinstance(given, Cases):
        return ()
    found = balanced(linkage, given)
    return _bars(found), _listing(found)


def _forces(found: Balanced) -> dict[str, FloatArray]:
    forces = found.forces
    each = {
        "Integral link, tension positive": forces.integral,
        "Upper front link, tension positive": forces.upper_front,
        "Upper rear link, tension positive": forces.upper_rear,
        "Lower joint": norm(forces.lower_joint),
        "Spring, compression positive": forces.spring,
    }
    return {title: found.by_case(force)[:, 0] for title, force in each.items()}


def _bars(found: Balanced) -> Figure:
    """Draw the forces of the cases that have a value."""
    bars = []
    for title, force in _forces(found).items():
        sound = np.isfinite(force)
        names = tuple(n for n, good in zip(found.cases.names, sound, strict=True) if good)
        bars.append(Series(title=title, y=tuple(force[sound].tolist()), labels=names))
    return Figure(
        key="forces-by-case",
        title="Forces by load case",
        kind=FigureKind.BARS,
        series=tuple(bars),
        across=Axis("load case"),
        up=Axis("force", "N"),
    )


def _listing(found: Balanced) -> Figure:
    columns = {"case": found.cases.names}
    for title, force in _forces(found).items():
        columns[f"{title.partition(',')[0]}, N"] = tuple(f"{each:+.0f}" for each in force)
    condition = found.by_case(found.forces.condition)[:, 0]
    columns["condition"] = tuple(f"{each:.1f}" for each in condition)
    return Figure(
        key="links-by-case",
        title="Forces by load case, links in tension and spring in compression positive, and "
        "condition number of the equations (moments made forces by a lever of 100 mm)",
        kind=FigureKind.LISTING,
        series=tuple(Series(title=head, labels=cells) for head, cells in columns.items()),
    )


def _wind_up(inputs: dict[str, Any], trim: RearPose) -> tuple[Figure, ...]:
    """List what each bush gives to the wind-up."""
    if lacking(inputs, BUSH_PORTS):
        return ()
    shares = wind_up(trim, bushes_of(inputs)).shares[:, 0]
    return (
        Figure(
            key="wind-up",
            title="What gives in the wind-up of the knuckle",
            kind=FigureKind.LISTING,
            series=(
                Series(title="bush", labels=ELEMENTS),
                Series(title="share, %", labels=tuple(f"{100.0 * each:.1f}" for each in shares)),
            ),
        ),
    )
