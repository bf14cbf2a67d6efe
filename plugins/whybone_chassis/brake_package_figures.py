"""Figures of the brake package: a section through the wheel, and the disc over its place."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.brake_package_fit import Brake, places, solve
from whybone_chassis.brake_package_profiles import Profile
from whybone_chassis.corner_ports_figures import curve, first_row, outline

__all__ = ["figures"]

_POINTS = 61
_SHIFT = 40.0  # mm to either side: more than any joint frees
_OUTBOARD = Axis("outboard of the mounting face", "mm")


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `brake-package`.
    """
    first = first_row(inputs)
    if not np.isfinite(solve(first).values.get("rim_clearance", np.full(1, np.nan))[0]):
        return ()
    with np.errstate(all="ignore"):  # joints out of range are left out of the section
        brake = Brake.of(first)
        return (_section(first, brake), _over_place(first, brake))


def _section(inputs: dict[str, Any], brake: Brake) -> Figure:
    edge = 0.5 * float(inputs["disc_diameter"][0])
    disc, face = float(inputs["disc_offset"][0]), float(inputs["spoke_face"][0])
    top = float(brake.barrel.radius.max())
    caliper = Profile(brake.caliper.offset, brake.caliper.radius + brake.moved[0])
    joints = [("lower_front_outer", "front"), ("lower_rear_outer", "rear")]
    if "virtual_lower" in inputs:
        joints.append(("virtual_lower", "on the steering axis"))
    return Figure(
        key="section",
        title="Section through the wheel: radius over axial place, joints turned into it",
        kind=FigureKind.SKETCH,
        series=(
            _profile("Barrel", brake.barrel),
            _profile("Caliper", caliper),
            outline("Disc", [(np.array([disc, 0.0]), ""), (np.array([disc, edge]), "disc")]),
            outline("Spokes", [(np.array([face, 0.0]), ""), (np.array([face, top]), "spokes")]),
            *(_joint(inputs, port, name) for port, name in joints),
        ),
        across=_OUTBOARD,
        up=Axis("radius", "mm"),
    )


def _profile(title: str, profile: Profile) -> Series:
    points = np.stack([profile.offset, profile.radius], axis=1)
    return outline(title, [(point, "") for point in points])


def _joint(inputs: dict[str, Any], port: str, name: str) -> Series:
    offset, radius = places(inputs, inputs[port])
    return outline(f"Lower joint, {name}", [(np.array([offset[0], radius[0]]), name)])


def _over_place(inputs: dict[str, Any], brake: Brake) -> Figure:
    """Draw what the barrel's profile allows as disc and caliper move along the spin axis."""
    shift = np.linspace(-_SHIFT, _SHIFT, _POINTS)
    clearance = np.repeat(inputs["clearance"], _POINTS)
    wide = Brake(brake.barrel, brake.caliper, np.repeat(brake.overhang, _POINTS), brake.moved)
    largest = wide.largest(shift, clearance)
    covered = brake.barrel.covers(*brake.span(shift))
    place = shift + float(inputs["disc_offset"][0])
    return Figure(
        key="largest-disc",
        title="Largest disc over the place of disc and caliper: the barrel's profile decides",
        kind=FigureKind.CURVE,
        series=(curve("Largest disc", place, np.where(covered, largest, np.nan)),),
        across=Axis("disc, outboard of the mounting face", "mm", "disc_offset"),
        up=Axis("diameter", "mm", "largest_disc"),
    )
