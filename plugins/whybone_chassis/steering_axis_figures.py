"""Figures of the steering axis: three views of the corner, its links' plan, the axis over steer."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.corner_ports_figures import curve, first_row, outline
from whybone_chassis.corner_ports_linkage import linkage_of, lower_height, steering_axis
from whybone_chassis.corner_views import Disc, corner_views
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.linkage import Pose, pose_at_travel
from whybone_chassis.mechanics.vectors import FloatArray

__all__ = ["figures"]

_SWEEP = 60.0  # mm of rack to either side: most of the lock of any corner
_POINTS = 41


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `steering-axis`.
    """
    first = first_row(inputs)
    with np.errstate(all="ignore"):  # positions that do not close are left out
        linkage = linkage_of(first)
        still = pose_at_travel(linkage, first["trim"], first["rack"])
        racks = np.linspace(-_SWEEP, _SWEEP, _POINTS)
        swept = pose_at_travel(linkage, first["trim"], racks)
        virtual = steering_axis(still).at_height(lower_height(still))[0]
        return (
            *corner_views(still, virtual, _disc(first)),
            _plan(first, still, swept),
            _over_steer(swept, -float(still.toe[0])),
        )


def _disc(inputs: dict[str, Any]) -> Disc | None:
    """Return the disc where all that places it is given."""
    if not {"disc_diameter", "disc_offset", "wheel_offset"} <= inputs.keys():
        return None
    offset = inputs["wheel_offset"][0] + inputs["disc_offset"][0]
    return Disc(radius=0.5 * float(inputs["disc_diameter"][0]), offset=float(offset))


def _above(point: FloatArray) -> FloatArray:
    """Put a point on a page seen from above, forward up."""
    return np.array([-point[1], point[0]])


def _plan(inputs: dict[str, Any], still: Pose, swept: Pose) -> Figure:
    axis = steering_axis(still)
    virtual = axis.at_height(lower_height(still))[0]
    crossing = axes.crossing(still)[0]
    trace = steering_axis(swept).at_height(lower_height(swept))
    links = (("front", still.lower_front_outer), ("rear", still.lower_rear_outer))
    return Figure(
        key="plan",
        title="Left corner from above: lower links projected to their crossing",
        kind=FigureKind.SKETCH,
        series=(
            *(_link(inputs, name, outer[0], crossing) for name, outer in links),
            outline(
                "Steering axis",
                [
                    (_above(still.upper_outer[0]), "upper joint"),
                    (_above(virtual), "axis at the lower joints' height"),
                    (_above(axes.at_ground(axis, still)[0]), "axis at the ground"),
                ],
            ),
            outline(
                "Tie rod",
                [
                    (_above(still.tie_rod_inner[0]), "tie rod inner"),
                    (_above(still.tie_rod_outer[0]), "tie rod outer"),
                ],
            ),
            outline("Contact centre", [(_above(still.contact_centre[0]), "contact centre")]),
            outline("Axis over lock", [(_above(point), "") for point in trace]),
        ),
        across=Axis("to the right (−Y)", "mm", along="-y"),
        up=Axis("forward (X)", "mm", along="x"),
    )


def _link(inputs: dict[str, Any], name: str, outer: FloatArray, crossing: FloatArray) -> Series:
    inner = inputs[f"lower_{name}_inner"][0]
    return outline(
        f"Lower {name} link",
        [(_above(inner), "inner"), (_above(outer), "outer"), (_above(crossing), "crossing")],
    )


def _over_steer(swept: Pose, now: float) -> Figure:
    axis, steer = steering_axis(swept), -swept.toe
    return Figure(
        key="axis-over-steer",
        title="Offsets of the steering axis over the steer angle",
        kind=FigureKind.CURVE,
        series=(
            curve("Scrub radius", steer, axes.scrub_radius(axis, swept)),
            curve("Caster trail", steer, axes.trail(axis, swept)),
        ),
        across=Axis("Steer, left positive", "deg", now=now if np.isfinite(now) else None),
        up=Axis("offset at the ground", "mm"),
    )
