"""What mending a decision means: it stands again, and nobody else stops standing for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array
from tracker.evaluate.columns import KNOWN
from tracker.evaluate.deviations import widened
from tracker.evaluate.engine import Engine
from tracker.evaluate.verdict import Band, band_of
from tracker.explore.assessing import (
    STANDING_CODES,
    STRAINED,
    UNPROVEN,
    Assessment,
    live_decisions,
)
from tracker.explore.judging import ACCEPTED, MET, MOOT, TIGHT, UNKNOWN
from tracker.model.records import Requirement
from tracker.model.values import Kind

__all__ = ["Goal"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]
_NUMBERS = (Kind.REAL, Kind.INTEGER)


@dataclass(frozen=True, slots=True)
class Goal:
    """A decision that is to stand again.

    Parameters
    ----------
    engine : Engine
        The present.
    target : str
        Id of the decision.
    worst : int
        The worst standing code that will do for it.
    """

    engine: Engine
    target: str
    worst: int = STRAINED

    @property
    def reached(self) -> bool:
        """Whether it stands well enough already."""
        return self._now(self.target) <= self.worst

    def _now(self, decision_id: str) -> int:
        return STANDING_CODES[self.engine.state.standings[decision_id].standing]

    def failing(self) -> tuple[int, ...]:
        """Return the judges it does not stand for, as positions in the graph."""
        return self.engine.state.standings[self.target].culprits

    def concerned(self, found: Assessment) -> list[str]:
        """Return the live decisions that may stand otherwise in some row; always the target."""
        return [
            each.id
            for each in live_decisions(self.engine)
            if each.id == self.target or found.concerns(each.id)
        ]

    def good(self, found: Assessment, decision_id: str) -> Flags:
        """Tell in which rows a decision is as it should be.

        The target must stand; any other must not be broken or unproven, unless it is now and gets
        no worse.
        """
        standing = found.standing(decision_id)
        if decision_id == self.target:
            return np.asarray(standing <= self.worst)
        return np.asarray((standing < UNPROVEN) | (standing <= self._now(decision_id)))

    def ok(self, found: Assessment) -> Flags:
        """Tell which rows mend the target and break nobody."""
        good = np.ones(found.count, dtype=np.bool_)
        for each in self.concerned(found):
            good &= self.good(found, each)
        return good

    def slack(
        self, found: Assessment, places: Sequence[int], decisions: Sequence[str], rows: slice
    ) -> Reals:
        """Return how far some rows are inside of every bound that counts.

        Parameters
        ----------
        places : sequence of int
            The judges that count, as positions in the graph.
        decisions : sequence of str
            The decisions that count.

        Returns
        -------
        ndarray, shape (n, sides)
            Negative outside; NaN where there is no value. A judge without numbers, and each
            decision as a whole, has one side that is 1 or −1.
        """
        strict = set() if self.worst else set(self.engine.graph.stakes[self.target])
        sides = [
            side[rows]
            for place in places
            for side in self._sides(found, place, strict=place in strict)
        ]
        sides += [np.where(self.good(found, each)[rows], 1.0, -1.0) for each in decisions]
        return np.array(sides, dtype=np.float64).T

    def _sides(self, found: Assessment, place: int, *, strict: bool) -> list[Reals]:
        judge = self.engine.graph.judges[place]
        if judge.measure.kind not in _NUMBERS:
            verdict = found.judged(place).verdict
            fine = np.isin(verdict, (MET, TIGHT, MOOT, ACCEPTED))
            return [np.where(verdict == UNKNOWN, np.nan, np.where(fine, 1.0, -1.0))]
        column = found.column(judge.slot)
        value = np.where(column.status == KNOWN, column.values.astype(np.float64), np.nan)
        band = self._band(place) if strict else widened(self._band(place), judge.covers)
        return [] if band is None else _distances(value, band, strict=strict)

    def _band(self, place: int) -> Band:
        judge = self.engine.graph.judges[place]
        if judge.rule is not None:
            return judge.rule.band
        return band_of(self.engine.programme.at(judge.id, Requirement))


def _distances(value: Array, band: Band, *, strict: bool) -> list[Reals]:
    """Return the distances to both bounds; beyond the guard where being tight will not do."""
    sides = [] if band.lower is None else [value - band.lower]
    sides += [] if band.upper is None else [band.upper - value]
    if strict and band.width is not None:
        return [side / band.width - band.guard for side in sides]
    return sides
