"""What every row of candidates comes to: verdicts, margins and how each decision stands."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.columns import UNKNOWN as NO_VALUE
from tracker.evaluate.columns import Column
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Unknown
from tracker.evaluate.standing import Finding, Standing
from tracker.evaluate.sweep import Swept
from tracker.evaluate.verdict import UNJUDGED, band_of
from tracker.explore.judging import (
    ACCEPTED,
    MISSED,
    MOOT,
    TIGHT,
    UNKNOWN,
    Bands,
    Judged,
    judge,
    repeated,
)
from tracker.model.records import Decision, DecisionState, Requirement

__all__ = [
    "BROKEN",
    "STANDING_CODES",
    "STANDS",
    "STRAINED",
    "UNPROVEN",
    "Assessment",
    "live_decisions",
]

STANDS, STRAINED, UNPROVEN, BROKEN = range(4)
"""Standing codes, from best to worst."""

STANDING_CODES = {
    Standing.STANDS: STANDS,
    Standing.STRAINED: STRAINED,
    Standing.UNPROVEN: UNPROVEN,
    Standing.BROKEN: BROKEN,
}


_BREAKING = ((TIGHT, STRAINED), (ACCEPTED, STRAINED), (UNKNOWN, UNPROVEN), (MISSED, BROKEN))


def live_decisions(engine: Engine) -> list[Decision]:
    """Return the decisions that have a standing: all but the withdrawn."""
    every = engine.programme.of(Decision)
    return [each for each in every if each.state is not DecisionState.WITHDRAWN]


class Assessment:
    """Rows evaluated. What a row does not move is as at present.

    Parameters
    ----------
    engine : Engine
        The present; it must not move while this is read.
    swept : Swept
        The rows' values.
    bands : mapping of str to Bands
        Requirement id → band, of those whose bounds were moved.
    """

    def __init__(self, engine: Engine, swept: Swept, bands: Mapping[str, Bands]) -> None:
        self._engine = engine
        self._bands = bands
        self._judged: dict[int, Judged] = {}
        self.swept = swept

    @property
    def count(self) -> int:
        """Number of rows."""
        return self.swept.count

    def column(self, slot: int) -> Column:
        """Return what a slot holds in all rows."""
        column = self.swept.columns.get(slot)
        if column is not None:
            return column
        rows = np.zeros(self.count, dtype=np.intp)
        return Column.of([self._engine.state.slots[slot]]).taken(rows)

    def moves(self, place: int) -> bool:
        """Tell whether a judge may find something else than at present in some row."""
        judged = self._engine.graph.judges[place]
        return judged.slot in self.swept.columns or judged.id in self._bands

    def judged(self, place: int) -> Judged:
        """Return the judgements of one of the graph's judges."""
        if place not in self._judged:
            self._judged[place] = self._judge(place)
        return self._judged[place]

    def _judge(self, place: int) -> Judged:
        if not self.moves(place):
            finding = self._engine.state.findings[place] or Finding(UNJUDGED)
            return repeated(finding, self.count)
        judged = self._engine.graph.judges[place]
        bands = self._bands.get(judged.id)
        if bands is None:
            at = self._engine.programme.at
            band = judged.rule.band if judged.rule else band_of(at(judged.id, Requirement))
            bands = Bands(band)
        return judge(judged, self.column(judged.slot), bands)

    def concerns(self, decision_id: str) -> bool:
        """Tell whether a decision may stand otherwise than at present in some row."""
        graph, swept = self._engine.graph, self.swept
        owns = self._engine.programme.at(decision_id, Decision).owns
        return (
            any(self.moves(place) for place in graph.stakes[decision_id])
            or any(place in swept.blocked for place in graph.carried_at[decision_id])
            or any(graph.index[each, ""] in swept.columns for each in owns)
        )

    def standing(self, decision_id: str) -> NDArray[np.int8]:
        """Return how a decision stands in every row, as codes.

        Parameters
        ----------
        decision_id : str
            Of a decision that is not withdrawn.
        """
        if not self.concerns(decision_id):
            held = self._engine.state.standings[decision_id].standing
            return np.full(self.count, STANDING_CODES[held], dtype=np.int8)
        stakes = self._engine.graph.stakes[decision_id]
        verdicts = [self.judged(place).verdict for place in stakes]
        worst = np.zeros(self.count, dtype=np.int8)
        telling = np.zeros(self.count, dtype=np.bool_)
        for verdict in verdicts:
            telling |= verdict != MOOT
            for found, standing in _BREAKING:
                worst = np.maximum(worst, np.where(verdict == found, standing, STANDS))
        unproven = ~telling | self._unset(decision_id)
        return np.maximum(worst, np.where(unproven, UNPROVEN, STANDS)).astype(np.int8)

    def _unset(self, decision_id: str) -> NDArray[np.bool_]:
        """Tell where something is unknown that the decision sets or its checks give."""
        engine = self._engine
        unset = np.zeros(self.count, dtype=np.bool_)
        for each in engine.programme.at(decision_id, Decision).owns:
            slot = engine.graph.index[each, ""]
            column = self.swept.columns.get(slot)
            if column is not None:
                unset |= column.status == NO_VALUE
            else:
                unset |= isinstance(engine.state.slots[slot], Unknown)
        for place in engine.graph.carried_at[decision_id]:
            blocked = self.swept.blocked.get(place)
            unset |= engine.state.blocks[place] is not None if blocked is None else blocked
        return unset
