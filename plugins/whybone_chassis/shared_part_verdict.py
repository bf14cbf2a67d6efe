"""Outputs of the shared part: fit, verdict, and the turn."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs, Table
from whybone_chassis.answers import Answers, Flags, Reals
from whybone_chassis.mechanics.registration import screw_of
from whybone_chassis.mechanics.vectors import cross, dot, norm, unit
from whybone_chassis.shared_part_matching import MOST_FEATURES, Features, Match, matched

__all__ = ["compare", "features_of"]

_TURN = ("angle", "axis", "axis_point", "slide")
_LARGEST = 1e9  # mm: beyond it squares lose what a tolerance asks for


def features_of(table: Table) -> Features:
    """Read the port `features`."""
    axes = np.stack([table.reals(f"axis_{each}") for each in "xyz"], axis=-1)
    return Features(
        points=np.stack([table.reals(each) for each in "xyz"], axis=-1),
        axes=np.nan_to_num(unit(axes)),
        kinds=table.texts("kind"),
        directed=table.flags("directed") & (norm(axes) > 0.0),
    )


def compare(inputs: Inputs) -> Outputs:
    """Compare a left part with its right one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `shared-part`.

    Returns
    -------
    Outputs
        The same fit in all rows, the verdicts by each row's tolerances. The turn is absent where
        nothing turns, or where the features leave it open.
    """
    answers = Answers(inputs)
    table: Table = inputs["features"]
    for port in ("tolerance", "axis_tolerance"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative")
    answers.refuse(
        not 1 <= table.rows <= MOST_FEATURES, f"features must hold 1 to {MOST_FEATURES} rows"
    )
    if not _readable(table, answers):
        answers.give(is_shared=np.False_, is_flat=np.False_)  # never read: all rows are refused
        return answers.outputs()
    features = features_of(table)
    match = matched(features)
    _fit(match, inputs, answers)
    _turn(match, answers)
    allowed = np.radians(inputs["axis_tolerance"])
    answers.give(is_flat=_is_flat(features, inputs["tolerance"], allowed))
    return answers.outputs()


def _readable(table: Table, answers: Answers) -> bool:
    """Tell whether the table can be worked on, and say why not."""
    if not 1 <= table.rows <= MOST_FEATURES:
        return False
    numbers = [table.reals(f"{axis}{each}") for axis in ("", "axis_") for each in "xyz"]
    good = bool((np.abs(np.array(numbers)) <= _LARGEST).all())
    answers.refuse(not good, f"features: a number is none or beyond {_LARGEST:g}")
    return good


def _fit(match: Match, inputs: Inputs, answers: Answers) -> None:
    gap, tilt = match.gaps.max(), match.tilts.max()
    close = gap <= inputs["tolerance"]
    answers.give(
        residual=np.sqrt((match.gaps * match.gaps).mean()),
        largest_gap=gap,
        largest_tilt=np.degrees(tilt),
        is_shared=close & (tilt <= np.radians(inputs["axis_tolerance"])),
    )


def _turn(match: Match, answers: Answers) -> None:
    screw = screw_of(match.motion)
    answers.give(
        angle=np.degrees(screw.angle),
        axis=screw.axis,
        axis_point=screw.point,
        slide=screw.slide,
    )
    still = bool(np.isnan(screw.axis[0, 0]))
    for port in _TURN:
        answers.leave_out(
            port,
            not match.is_determined,
            "the features lie on one line: any turn about it fits as well",
        )
        if port in {"axis", "axis_point"}:
            answers.leave_out(port, still, "the part is only shifted, nothing turns")


def _is_flat(features: Features, tolerance: Reals, allowed: Reals) -> Flags:
    """Tell whether some plane holds all features and mirrors every axis onto itself, shape (n,)."""
    away = features.points - features.points.mean(axis=0)
    lines = np.linalg.svd(away)[2]
    axes = features.axes[norm(features.axes) > 0.0]
    normals = np.concatenate([lines[-1:], axes, cross(np.broadcast_to(lines[0], axes.shape), axes)])
    flat: Flags = np.zeros(len(tolerance), dtype=np.bool_)
    for normal in normals[norm(normals) > 0.0]:
        across = np.broadcast_to(unit(normal[None])[0], features.axes.shape)
        thick = np.abs(dot(away, across)).max()
        lean = np.abs(dot(features.axes, across))  # sine of the angle out of the plane
        out = np.arcsin(np.clip(lean, 0.0, 1.0))
        upright = np.where(features.directed | (lean == 0.0), np.inf, 0.5 * np.pi - out)
        flat |= (thick <= tolerance) & (np.minimum(out, upright).max() <= allowed)
    return flat
