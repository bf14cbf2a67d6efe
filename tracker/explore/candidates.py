"""Rows of candidate values: where nothing is put, the present holds.

Use::

    rows = Candidates(engine, 1000)
    rows.put(source_at(engine, "q1"), np.linspace(0.0, 1.0, 1000))
    found = rows.assess()
    found.standing("d1")  # a code per row

Several sources and options may move in one row. The engine is only read.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tracker.contract.check import Array
from tracker.evaluate.columns import KNOWN, Column
from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.slots import Rows, Slot, Unknown, axis_of, slot_of
from tracker.evaluate.sources import row_place
from tracker.evaluate.sweep import sweep
from tracker.evaluate.verdict import band_of
from tracker.explore.assessing import Assessment
from tracker.explore.judging import Bands
from tracker.explore.sources import Source
from tracker.model.address import cell_of
from tracker.model.records import Decision, Quantity, Requirement
from tracker.model.values import AXES

__all__ = ["Candidates"]

Where = slice | NDArray[np.intp]
_ALL = slice(None)


class _Draft:
    """A source slot's values over all rows, being written."""

    def __init__(self, held: Slot, like: Array | None, count: int) -> None:
        rows = np.zeros(count, dtype=np.intp)
        self.pool: list[Rows] = [held] if isinstance(held, tuple) else []
        column = Column.of([held]).taken(rows)
        if isinstance(held, Unknown) and like is not None:
            column = Column(np.zeros((count, *like.shape[1:]), like.dtype), column.status)
        self.values, self.status = column.values, column.status

    def column(self) -> Column:
        return Column(self.values, self.status, tuple(self.pool))


class Candidates:
    """Rows of candidate values over the present of an engine.

    Parameters
    ----------
    engine : Engine
        Where the present comes from.
    count : int
        Number of rows, at least one.
    twins : ndarray of int, shape (count,), optional
        For every row an earlier one that it shares many values with (or itself): checks that see
        the same in both run once.
    """

    def __init__(self, engine: Engine, count: int, twins: NDArray[np.intp] | None = None) -> None:
        self._engine = engine
        self._twins = twins
        self.count = count
        self._drafts: dict[int, _Draft] = {}
        self._bounds: dict[str, dict[str, NDArray[np.float64]]] = {}

    def put(self, source: Source, values: ArrayLike, rows: Where = _ALL) -> None:
        """Put values of a source into rows.

        Parameters
        ----------
        source : Source
            What moves.
        values : array_like, broadcast over the rows
            Finite, in the source's unit; codes of a choice, in the order of its choices.
        rows : slice or ndarray of int
            Where; everywhere when not told.
        """
        record = self._engine.programme.get(source.id)
        if isinstance(record, Requirement):
            self._put_bound(record, source.part, values, rows)
            return
        draft = self._draft(self._engine.graph.index[source.id, ""])
        if not source.part:
            draft.values[rows] = np.add(values, 0)  # −0.0 becomes 0.0
        elif source.part in AXES:
            draft.values[rows, axis_of(source.part)] = np.add(values, 0)
        else:
            self._put_cell(draft, source, values, rows)

    def choose(self, decision_id: str, options: Sequence[str], rows: Where = _ALL) -> None:
        """Apply options of a decision, one per row, with the values they state in the programme.

        A value put there before is overwritten.

        Parameters
        ----------
        options : sequence of str
            Option ids; a single one is applied in all the rows.
        """
        decision = self._engine.programme.at(decision_id, Decision)
        known = [each.id for each in decision.options]
        codes = np.array([known.index(each) for each in options], dtype=np.intp)
        for each in decision.owns:
            self._apply(decision, each, codes, rows)

    def _apply(
        self, decision: Decision, quantity_id: str, codes: NDArray[np.intp], rows: Where
    ) -> None:
        slots = [self._stated(decision, each, quantity_id) for each in range(len(decision.options))]
        arrays = [each for each in slots if isinstance(each, np.ndarray)]
        draft = self._draft(self._engine.graph.index[quantity_id, ""], *arrays[:1])
        column = Column.of(slots)
        draft.status[rows] = column.status[codes]
        if column.pool:
            first = len(draft.pool)
            draft.pool += column.pool
            draft.values = draft.values.astype(np.intp)
            draft.values[rows] = column.values[codes] + first
        elif arrays:
            draft.values[rows] = column.values[codes]

    def _stated(self, decision: Decision, option: int, quantity_id: str) -> Slot:
        """Return what an option states for a quantity, as `source_slot` would."""
        setting = decision.options[option].settings.get(quantity_id)
        if setting is None or setting.value is None:
            return Unknown("it is not stated", decision.id)
        return slot_of(setting.value, self._engine.programme.at(quantity_id, Quantity))

    def _draft(self, slot: int, like: Array | None = None) -> _Draft:
        if slot not in self._drafts:
            self._drafts[slot] = _Draft(self._engine.state.slots[slot], like, self.count)
        return self._drafts[slot]

    def _put_cell(self, draft: _Draft, source: Source, values: ArrayLike, where: Where) -> None:
        quantity = self._engine.programme.at(source.id, Quantity)
        cell = cell_of(source.part)
        assert cell is not None  # noqa: S101 - other parts of a table there are none
        column = [each.name for each in quantity.columns].index(cell[1])
        places = np.arange(self.count)[where]
        cells = np.broadcast_to(np.asarray(values), places.shape).tolist()
        for place, value in zip(places.tolist(), cells, strict=True):
            rows = draft.pool[int(draft.values[place])]
            row = row_place(quantity, rows, cell[0])
            assert row is not None  # noqa: S101 - the source has a value
            changed = (*rows[row][:column], value, *rows[row][column + 1 :])
            draft.values[place] = len(draft.pool)
            draft.pool.append((*rows[:row], changed, *rows[row + 1 :]))

    def _put_bound(
        self, requirement: Requirement, part: str, values: ArrayLike, rows: Where
    ) -> None:
        held = self._bounds.setdefault(requirement.id, {})
        if part not in held:
            bound = getattr(requirement, part)
            held[part] = np.full(self.count, bound if part == "guard" else bound.value)
        held[part][rows] = np.add(values, 0.0)

    def assess(self, cancel: Cancel | None = None) -> Assessment:
        """Evaluate all rows.

        Raises
        ------
        CancelledError
            `cancel` asked to stop.
        """
        engine = self._engine
        varied = {slot: draft.column() for slot, draft in self._drafts.items()}
        for record_id, parts in self._bounds.items():
            for part, values in parts.items():
                slot = engine.graph.index.get((record_id, part))
                if slot is not None:
                    varied[slot] = Column(values, np.full(self.count, KNOWN, dtype=np.int8))
        where = (engine.graph, engine.programme, engine.state)
        swept = sweep(*where, varied, self.count, cancel, twins=self._twins)
        return Assessment(engine, swept, dict(self._bands()))

    def _bands(self) -> list[tuple[str, Bands]]:
        programme = self._engine.programme
        return [
            (
                each,
                Bands(
                    band_of(programme.at(each, Requirement)),
                    **{part: values for part, values in parts.items() if part != "target"},
                ),
            )
            for each, parts in self._bounds.items()
        ]
