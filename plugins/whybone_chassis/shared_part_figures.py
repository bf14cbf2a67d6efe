"""Figures of the shared part: the turned left part on the right one, and the pairs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Inputs, Table
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.answers import Reals
from whybone_chassis.shared_part_matching import MOST_FEATURES, Features, Match, matched, mirrored
from whybone_chassis.shared_part_verdict import features_of

__all__ = ["figures"]


@dataclass(frozen=True, slots=True)
class _View:
    """A view with the right side of the vehicle to the right; `up` is the axis drawn upward."""

    name: str
    up: int
    up_title: str


_VIEWS = (_View("above", 0, "forward (X)"), _View("behind", 2, "up (Z)"))


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `shared-part`.
    """
    table: Table = inputs["features"]
    if not 1 <= table.rows <= MOST_FEATURES:
        return ()
    left, names = features_of(table), table.texts("name")
    if not np.isfinite(left.points).all():
        return ()
    match = matched(left)
    return (*(_sketch(left, names, match, view) for view in _VIEWS), _pairs(names, match))


def _sketch(left: Features, names: tuple[str, ...], match: Match, view: _View) -> Figure:
    def line(what: str, points: Reals) -> Series:
        return Series(
            title=what,
            x=tuple((-points[:, 1]).tolist()),
            y=tuple(points[:, view.up].tolist()),
            labels=names,
            closed=True,
        )

    turned = match.motion.points(left.points[None])[0]
    return Figure(
        key=f"from-{view.name}",
        title=f"Right part and turned left part from {view.name}",
        kind=FigureKind.SKETCH,
        series=(line("right part", mirrored(left).points), line("left part, turned", turned)),
        across=Axis("to the right (−Y)", "mm"),
        up=Axis(view.up_title, "mm"),
    )


def _pairs(names: tuple[str, ...], match: Match) -> Figure:
    columns = (
        ("left feature", names),
        ("goes onto right", tuple(names[each] for each in match.partners.tolist())),
        ("distance, mm", tuple(f"{each:.3f}" for each in match.gaps.tolist())),
        ("axis angle, deg", tuple(f"{each:.3f}" for each in np.degrees(match.tilts).tolist())),
    )
    return Figure(
        key="pairs",
        title="Which feature of the left part goes where on the right",
        kind=FigureKind.LISTING,
        series=tuple(Series(title=head, labels=cells) for head, cells in columns),
    )
