"""Figures of the joint forces: per case, and against the spacing of the joints."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs, Table
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.ball_joint_moment_cases import cases_of
from whybone_chassis.ball_joint_moment_forces import Balanced, balanced, solve
from whybone_chassis.corner_ports_figures import curve, first_row
from whybone_chassis.corner_ports_linkage import linkage_of, poses, steering_axis
from whybone_chassis.mechanics.vectors import FloatArray, norm

__all__ = ["figures"]

_POINTS = 25
_SHORTEST, _LONGEST = -0.3, 0.7
"""How far the upper arm is moved along the steering axis, as a share of the joint spacing."""

_UPPER = ("upper_front_inner", "upper_rear_inner", "upper_outer")
_LINKS = ("upper front link", "upper rear link", "tie rod", "lower link without spring")


def figures(inputs: Inputs, fed: tuple[str, ...]) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ball-joint-moment`.
    fed : tuple of str
        Cases that have force ports of their own.
    """
    first = first_row(inputs)
    cases = cases_of(first, fed)
    if isinstance(cases, str):
        return ()
    with np.errstate(all="ignore"):  # what does not close is left out of the figures
        found = balanced(first, cases)
        return (_bars(found), _listing(found), *_against_spacing(first, fed))


def _bars(found: Balanced) -> Figure:
    """Draw the forces of the cases that have a value."""
    forces = found.forces
    each = {
        "Upper joint": norm(forces.upper_joint),
        "Lower joint": norm(forces.lower_joint),
        "Tie rod, tension positive": forces.tie_rod,
        "Spring": forces.spring,
    }
    sound = np.isfinite(found.by_case(forces.spring)[:, 0])
    names = tuple(name for name, good in zip(found.cases.names, sound, strict=True) if good)
    return Figure(
        key="forces-by-case",
        title="Forces by load case",
        kind=FigureKind.BARS,
        series=tuple(
            Series(title=title, y=_numbers(found.by_case(force)[sound, 0]), labels=names)
            for title, force in each.items()
        ),
        across=Axis("load case"),
        up=Axis("force", "N"),
    )


def _numbers(values: FloatArray) -> tuple[float, ...]:
    return tuple(values.tolist())


def _listing(found: Balanced) -> Figure:
    """List axial forces of the links by case, with the condition of the equations."""
    columns = {"case": found.cases.names}
    for name, forces in zip(_LINKS, found.links[:, :, 0], strict=True):
        columns[f"{name}, N"] = tuple(f"{force:+.0f}" for force in forces)
    condition = found.by_case(found.forces.condition)[:, 0]
    columns["condition"] = tuple(f"{each:.0f}" for each in condition)
    return Figure(
        key="links-by-case",
        title="Axial forces of the links by load case, tension positive, and condition number of "
        "the equations (moments made forces by a lever of 100 mm)",
        kind=FigureKind.LISTING,
        series=tuple(Series(title=head, labels=cells) for head, cells in columns.items()),
    )


def _against_spacing(inputs: Inputs, fed: tuple[str, ...]) -> tuple[Figure, Figure]:
    """Move the upper arm along the steering axis, all else as it is."""
    values = solve(_spread(inputs), fed).values
    spacing = values["joint_spacing"]
    across = Axis("joint spacing", "mm", "joint_spacing")
    return (
        Figure(
            key="force-against-spacing",
            title="Worst joint forces against the spacing of the joints",
            kind=FigureKind.CURVE,
            series=(
                curve("Upper joint", spacing, values["upper_joint_force"]),
                curve("Lower joint", spacing, values["lower_joint_force"]),
            ),
            across=across,
            up=Axis("force", "N"),
        ),
        Figure(
            key="lateral-share-against-spacing",
            title="Upper joint force per lateral force against the spacing of the joints",
            kind=FigureKind.CURVE,
            series=(curve("Upper joint", spacing, values["upper_force_per_kn_lateral"]),),
            across=across,
            up=Axis("force per lateral force", "N/kN", "upper_force_per_kn_lateral"),
        ),
    )


def _spread(inputs: Inputs) -> dict[str, Any]:
    """Rows with the upper arm moved along the steering axis, shorter and longer spacing."""
    still = np.zeros(1)
    pose = poses(linkage_of(inputs), [still], [still])
    lower = 0.5 * (pose.lower_front_outer + pose.lower_rear_outer)
    along = steering_axis(pose).direction * norm(pose.upper_outer - lower)[:, None]
    steps = np.linspace(_SHORTEST, _LONGEST, _POINTS)[:, None] * along
    rows: dict[str, Any] = {
        key: each if isinstance(each, Table) else np.repeat(each, _POINTS, axis=0)
        for key, each in inputs.items()
    }
    return rows | {key: rows[key] + steps for key in _UPPER}
