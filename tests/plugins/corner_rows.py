"""Rows for the checks of a front corner: an invented design, scattered, and its degenerate kin."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tests.plugins.mechanics.samples import (
    FORE,
    ONE_PIECE,
    ONE_PIECE_SPRING,
    POINTS,
    REAR_LINK_SPRING,
    SPLIT,
    SPLIT_SPRING,
)
from tracker.contract.check import Check, Outputs
from tracker.contract.kit import Row, Subject

WHEEL = {"loaded_radius": 345.0, "static_camber": -0.3, "static_toe": 0.1}


def corner_row(points: Mapping[str, Any], **more: object) -> dict[str, Any]:
    """Return the corner's own ports, without the spring's."""
    return {name: points[name] for name in POINTS} | WHEEL | more


def spring_row(seats: tuple[Any, Any], on: str = "lower-front") -> dict[str, Any]:
    return {"spring_lower": seats[0], "spring_upper": seats[1], "spring_on": on}


ONE_PIECE_ROW = corner_row(ONE_PIECE, **spring_row(ONE_PIECE_SPRING))
SPLIT_ROW = corner_row(SPLIT, **spring_row(SPLIT_SPRING))
FORE_ROW = corner_row(ONE_PIECE | FORE, **spring_row(ONE_PIECE_SPRING))
SPLIT_FORE_ROW = corner_row(SPLIT | FORE, **spring_row(REAR_LINK_SPRING, "lower-rear"))
ROWS = (ONE_PIECE_ROW, SPLIT_ROW, FORE_ROW, SPLIT_FORE_ROW)
"""One-piece and split lower arms, rack behind and ahead of the axle."""


def without(row: Mapping[str, Any], start: str) -> dict[str, Any]:
    """Leave out the ports whose key starts so."""
    return {key: each for key, each in row.items() if not key.startswith(start)}


def parallel_row() -> dict[str, Any]:
    """Return a corner of level links, equal and parallel: its knuckle moves without turning."""
    links = {"upper": 480.0, "lower": 200.0}
    points: dict[str, Any] = {
        f"{at}_{end}_inner": (x, 400.0, height)
        for at, height in links.items()
        for end, x in (("front", 150.0), ("rear", -150.0))
    }
    return {
        **points,
        "upper_outer": (0.0, 700.0, 480.0),
        "lower_front_outer": (0.0, 700.0, 200.0),
        "lower_rear_outer": (0.0, 700.0, 200.0),
        "tie_rod_inner": (-140.0, 400.0, 260.0),
        "tie_rod_outer": (-140.0, 700.0, 260.0),
        "wheel_centre": (0.0, 780.0, 345.0),
        **WHEEL,
    }


def scattered(row: Mapping[str, Any], generator: np.random.Generator, by: float) -> dict[str, Any]:
    """Move every point by up to `by` mm each way, a one-piece arm staying one."""
    moved = {
        key: tuple((np.array(value) + generator.uniform(-by, by, 3)).tolist())
        for key, value in row.items()
        if isinstance(value, tuple)
    }
    if row["lower_front_outer"] == row["lower_rear_outer"]:
        moved["lower_rear_outer"] = moved["lower_front_outer"]
    angles = {
        "static_camber": generator.uniform(-2.0, 1.0),
        "static_toe": generator.uniform(-0.3, 0.3),
    }
    return dict(row) | moved | angles


def draw_corner(generator: np.random.Generator) -> dict[str, Any]:
    """Draw a plausible corner."""
    return scattered(ROWS[generator.integers(len(ROWS))], generator, 12.0)


COINCIDENT = (1.0, 2.0, 3.0)
DEGENERATE_CORNERS: tuple[Row, ...] = (
    {"upper_outer": COINCIDENT, "upper_front_inner": COINCIDENT},
    {"upper_front_inner": COINCIDENT, "upper_rear_inner": COINCIDENT},
    {"lower_front_inner": COINCIDENT, "lower_front_outer": COINCIDENT},
    {"tie_rod_inner": COINCIDENT, "tie_rod_outer": COINCIDENT},
    {"upper_outer": ONE_PIECE["lower_front_outer"], "lower_front_outer": (8.0, 728.0, 205.0)},
    # The joint on the pivot line of its arm: all in one line.
    {
        "upper_front_inner": (130.0, 430.0, 480.0),
        "upper_rear_inner": (-130.0, 430.0, 480.0),
        "upper_outer": (0.0, 430.0, 480.0),
    },
    {"loaded_radius": 0.0},
    {"loaded_radius": -345.0},
    {"static_camber": 90.0},
    {"wheel_centre": (1e300, -1e300, 1e300)},
    {"upper_outer": (1e160, 1e160, 1e160)},
    dict.fromkeys(POINTS, (1e-300, 2e-300, 3e-300)),
)
"""What makes a good corner one without a pose."""


def answer(check: Check, *rows: Row, **tables: Sequence[Sequence[Any]]) -> Outputs:
    """Run a check on some rows as one batch."""
    subject = Subject(check=check, rows=rows, tables=tables)
    return check.compute(subject.batch(rows), {})


def values(check: Check, *rows: Row, **tables: Sequence[Sequence[Any]]) -> dict[str, Any]:
    """Run a check on good rows; return the outputs of the first one, as plain numbers."""
    found = answer(check, *rows, **tables)
    assert not found.problems, [problem.reason for problem in found.problems]
    absent = {absence.port for absence in found.absences}
    return {key: each[0] for key, each in found.values.items() if key not in absent}


def furthest_off(found: Outputs, wanted: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Compare answers with what is wanted row by row: the largest difference of each port.

    Relative to the wanted value's size, or absolute where that is below one.
    """
    worst: dict[str, float] = {}
    for number, row in enumerate(wanted):
        for key, value in row.items():
            size = max(1.0, float(np.abs(value).max()))
            off = float(np.abs(found.values[key][number] - value).max()) / size
            assert np.isfinite(off), key
            worst[key] = max(worst.get(key, 0.0), off)
    print({key: f"{off:.1e}" for key, off in worst.items()})
    return worst
