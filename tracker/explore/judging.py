"""Judging whole columns, with the arithmetic of `tracker.evaluate.verdict` on every row.

A miss that a deviation accepts has a code of its own: it breaks nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array
from tracker.evaluate.columns import ABSENT, KNOWN, Column
from tracker.evaluate.deviations import Cover
from tracker.evaluate.graph import Judge
from tracker.evaluate.standing import Finding
from tracker.evaluate.verdict import Band, Verdict
from tracker.model.values import Kind

__all__ = [
    "ACCEPTED",
    "MET",
    "MISSED",
    "MOOT",
    "TIGHT",
    "UNKNOWN",
    "Bands",
    "Judged",
    "judge",
    "repeated",
]

MET, TIGHT, MISSED, UNKNOWN, MOOT, ACCEPTED = range(6)
"""Verdict codes; MOOT is a rule with nothing to judge, which counts against nobody, and ACCEPTED is
missed under a deviation, which strains."""

_CODES = {
    Verdict.MET: MET,
    Verdict.TIGHT: TIGHT,
    Verdict.MISSED: MISSED,
    Verdict.UNKNOWN: UNKNOWN,
}
Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Judged:
    """Judgements of one requirement or rule over all rows.

    Parameters
    ----------
    verdict : ndarray of int8, shape (n,)
        MET, TIGHT, MISSED, UNKNOWN, MOOT or ACCEPTED.
    distance : ndarray, shape (n,)
        To the nearest bound in the value's unit, negative outside; NaN where nothing is measured.
    margin : ndarray, shape (n,)
        The same as a share of the band's scale; NaN where there is none.
    room : ndarray of shape (n,), optional
        Margin, or distance where there is no margin, from the bounds as deviations widen them.
    """

    verdict: NDArray[np.int8]
    distance: Reals
    margin: Reals
    room: Reals | None = None

    @property
    def slack(self) -> Reals:
        """How far inside of what strains at most, negative outside; NaN where nothing is measured.

        The margin, or the distance where there is none, deviations counted in.
        """
        if self.room is not None:
            return self.room
        return np.where(np.isnan(self.margin), self.distance, self.margin)


@dataclass(frozen=True, slots=True)
class Bands:
    """A band whose bounds may differ from row to row.

    Parameters
    ----------
    fixed : Band
        The present band.
    lower, upper, guard : ndarray of shape (n,), optional
        Take the place of what the band says.
    """

    fixed: Band
    lower: Reals | None = None
    upper: Reals | None = None
    guard: Reals | None = None


def judge(judged: Judge, column: Column, bands: Bands) -> Judged:
    """Judge a column by a requirement or rule."""
    count = len(column.status)
    blank: Reals = np.full(count, np.nan)
    if judged.measure.kind in (Kind.FLAG, Kind.CHOICE):
        fits = _allowed(judged, column.values, bands.fixed)
        missed = ACCEPTED if any(each.anything for each in judged.covers) else MISSED
        found = Judged(np.where(fits, MET, missed).astype(np.int8), blank, blank)
    else:
        found = _numbers(column.values.astype(np.float64), bands, judged.covers)
    if (column.status == KNOWN).all():
        return found
    gone = np.where(column.status == ABSENT, MOOT if judged.rule else UNKNOWN, UNKNOWN)
    known = column.status == KNOWN
    return Judged(
        np.where(known, found.verdict, gone).astype(np.int8),
        np.where(known, found.distance, np.nan),
        np.where(known, found.margin, np.nan),
        None if found.room is None else np.where(known, found.room, np.nan),
    )


def _allowed(judged: Judge, values: Array, band: Band) -> NDArray[np.bool_]:
    flag = judged.measure.kind is Kind.FLAG
    texts = ("no", "yes") if flag else judged.measure.choices
    return np.array([each in band.allowed for each in texts])[values.astype(np.intp)]


def _numbers(values: Reals, bands: Bands, covers: Sequence[Cover]) -> Judged:
    lower = bands.fixed.lower if bands.lower is None else bands.lower
    upper = bands.fixed.upper if bands.upper is None else bands.upper
    guard = bands.fixed.guard if bands.guard is None else bands.guard
    if lower is None and upper is None:
        nothing = np.full(len(values), np.nan)
        return Judged(np.full(len(values), UNKNOWN, dtype=np.int8), nothing, nothing)
    distance = _distance(values, lower, upper)
    width = _width(lower, upper, bands.fixed.scale)
    with np.errstate(all="ignore"):
        margin = distance / width
    verdict = np.where(distance < 0, MISSED, np.where(margin < guard, TIGHT, MET))
    if not covers:
        return Judged(verdict.astype(np.int8), distance, margin)
    room = _room(values, lower, upper, covers)
    verdict = np.where((distance < 0) & (room >= 0), ACCEPTED, verdict)
    room = np.where(np.isnan(width), room, room / width)
    return Judged(verdict.astype(np.int8), distance, margin, np.where(np.isinf(room), np.nan, room))


_Ends = Reals | float | None


def _distance(values: Reals, lower: _Ends, upper: _Ends) -> Reals:
    """Return the distance to the nearest bound; one of the two is there."""
    sides = [] if lower is None else [values - lower]
    sides += [] if upper is None else [upper - values]
    return sides[0] if len(sides) == 1 else np.minimum(*sides)


def _room(values: Reals, lower: _Ends, upper: _Ends, covers: Sequence[Cover]) -> Reals:
    """Return the distance to the bounds as deviations widen them."""
    if any(each.anything for each in covers):
        return np.full(len(values), np.inf)
    lows = [each.lower for each in covers if each.lower is not None]
    highs = [each.upper for each in covers if each.upper is not None]
    if lower is not None and lows:
        lower = np.minimum(lower, min(lows))
    if upper is not None and highs:
        upper = np.maximum(upper, max(highs))
    return _distance(values, lower, upper)


def _width(lower: Reals | float | None, upper: Reals | float | None, scale: float | None) -> Reals:
    """Return the scale in force; NaN where the band has none."""
    other: Reals | float = np.nan if scale is None else scale
    if lower is not None and upper is not None:
        return np.where(np.less(lower, upper), np.subtract(upper, lower) / 2, other)
    bound = lower if lower is not None else upper
    if scale is not None or bound is None:
        return np.asarray(other)
    return np.where(np.equal(bound, 0), np.nan, np.abs(bound))


def repeated(finding: Finding, count: int) -> Judged:
    """Repeat a present finding over all rows."""
    held = finding.judgement
    verdict = MOOT if finding.moot else _CODES[held.verdict]
    if finding.deviation:
        verdict = ACCEPTED
    return Judged(
        np.full(count, verdict, dtype=np.int8),
        _full(held.distance, count),
        _full(held.margin, count),
    )


def _full(number: float | None, count: int) -> Reals:
    return np.full(count, np.nan if number is None else number, dtype=np.float64)
