"""Why a row has no pose: one code per row and its words."""

from __future__ import annotations

from enum import IntEnum


class Status(IntEnum):
    """Outcome of closing one row of a linkage."""

    CLOSED = 0
    NOT_FINITE = 1
    COINCIDENT = 2
    ON_PIVOT_LINE = 3
    BAD_RADIUS = 4
    SINGULAR = 5
    OVER_EXTENDED = 6
    WRONG_BRANCH = 7
    INDETERMINATE = 8


REASONS: dict[Status, str] = {
    Status.CLOSED: "",
    Status.NOT_FINITE: "an input is not a finite number",
    Status.COINCIDENT: "degenerate geometry: two points that span a link, a pivot line, the "
    "spring or the knuckle coincide",
    Status.ON_PIVOT_LINE: "degenerate geometry: an arm's outer joint lies on its pivot line",
    Status.BAD_RADIUS: "degenerate geometry: the loaded radius is not positive or the spin axis "
    "is vertical",
    Status.SINGULAR: "singular: the links do not hold the knuckle in this pose to 1e-10 mm",
    Status.OVER_EXTENDED: "over-extended: the links cannot reach this pose",
    Status.WRONG_BRANCH: "wrong branch: the links close only in another assembly, past a dead "
    "point",
    Status.INDETERMINATE: "ill-conditioned: the links do not determine the forces in this pose",
}
