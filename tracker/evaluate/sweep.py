"""Thousands of candidate values through the graph in one pass.

Some source slots get a whole column of values instead of one. Every check downstream runs for the
rows in which one of its inputs differs from the present, all at once where they agree on tables and
on which optional inputs exist; everything else keeps its present value. A row gets the same bits as
the engine would give it alone, as long as the checks keep the row rule of the contract. The
engine's state is only read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array, Table
from tracker.errors import CancelledError
from tracker.evaluate.binding import Gather
from tracker.evaluate.columns import ABSENT, KNOWN, Column, status_of
from tracker.evaluate.graph import Graph, Node
from tracker.evaluate.slots import Slot
from tracker.evaluate.sources import project
from tracker.evaluate.state import State
from tracker.evaluate.sweep_results import Results
from tracker.model.programme import Programme

__all__ = ["Swept", "run_rows", "sweep"]

Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]
_ALL = slice(None)


@dataclass(slots=True)
class Swept:
    """What a sweep gave.

    Parameters
    ----------
    count : int
        Number of rows, n.
    columns : dict of int to Column
        Every slot that is varied, or differs from the present in some row.
    blocked : dict of int to ndarray of bool, shape (n,)
        Position in the graph's nodes → rows in which the check gave nothing, or not everything; of
        every check that ran.
    rows_run : int
        Rows computed, summed over all checks.
    """

    count: int
    columns: dict[int, Column] = field(default_factory=dict)
    blocked: dict[int, Flags] = field(default_factory=dict)
    rows_run: int = 0


def sweep(
    graph: Graph,
    programme: Programme,
    state: State,
    varied: Mapping[int, Column],
    count: int,
    cancel: Callable[[], bool] | None = None,
    *,
    twins: Rows | None = None,
) -> Swept:
    """Evaluate every row of the varied slots.

    Parameters
    ----------
    graph, programme : Graph, Programme
        Structure and records.
    state : State
        The present, as the engine holds it.
    varied : mapping of int to Column
        Source slot → its column.
    count : int
        Number of rows of every column, at least one.
    cancel : callable, optional
        Asked between checks.
    twins : ndarray of int, shape (count,), optional
        For every row one that it shares many values with, itself a twin of its own; a check whose
        inputs are the same in both runs for the twin alone.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    work = _Sweep(graph, programme, state, count, twins)
    for slot, column in varied.items():
        work.enter(slot, column)
    with np.errstate(all="ignore"):
        work.settle(cancel)
    return work.swept


class _Sweep:
    """A sweep under way.

    `moved` says for every column in which rows it differs from the present, `unlike` in which from
    the row's twin; `marks` holds 1 at the checks still to run.
    """

    def __init__(
        self,
        graph: Graph,
        programme: Programme,
        state: State,
        count: int,
        twins: Rows | None,
    ) -> None:
        self._graph = graph
        self._programme = programme
        self._state = state
        self._twins = twins
        self._moved: dict[int, Flags] = {}
        self._unlike: dict[int, Flags] = {}
        self._marks = bytearray(len(graph.nodes))
        self.swept = Swept(count)

    def enter(self, slot: int, column: Column) -> None:
        """Put a column and the projections that follow it, and mark the checks that read it."""
        moved = _differs(column, self._state.slots[slot])
        self.swept.columns[slot] = column
        if not moved.any():
            return
        self._moved[slot] = moved
        if self._twins is not None:
            self._unlike[slot] = _unlike(column, self._twins)
        for place in self._graph.readers[slot]:
            self._marks[place] = 1
        for part_slot, part in self._graph.parts.get(slot, ()):
            self.enter(part_slot, self._projected(slot, part, column))

    def _projected(self, slot: int, part: str, column: Column) -> Column:
        if column.pool:
            tables = [self._project(slot, part, rows) for rows in column.pool]
            found = Column.of(tables).taken(column.values)
            return Column(found.values, np.maximum(found.status, column.status))
        if (column.status != KNOWN).all():
            return column
        cut = self._project(slot, part, column.values)
        assert isinstance(cut, np.ndarray)  # noqa: S101 - a point has all its components
        return Column(cut, column.status)

    def _project(self, slot: int, part: str, value: Slot) -> Slot:
        return project(self._programme, self._graph, slot, part, value)

    def settle(self, cancel: Callable[[], bool] | None) -> None:
        """Run the marked checks in topological order, and what their outputs mark in turn."""
        place = -1
        while (place := self._marks.find(1, place + 1)) >= 0:  # readers come later in the order
            if cancel is not None and cancel():
                raise CancelledError("stopped between two checks")
            self._run(place)

    def _run(self, place: int) -> None:
        node, swept = self._graph.nodes[place], self.swept
        reached, rows, at = self._rows(node)
        inputs = {gather: self._input(gather.slot, rows) for gather in node.gathers}
        results = Results(node, len(rows))
        run_rows(node, inputs, results)
        swept.rows_run += len(rows)
        swept.blocked[place] = np.full(swept.count, self._state.blocks[place] is not None)
        swept.blocked[place][reached] = results.blocked[at]
        for slot in node.outputs:
            fresh = Column(results.values[slot], results.status[slot])
            self._merge(slot, fresh if isinstance(at, slice) else fresh.taken(at), reached)

    def _rows(self, node: Node) -> tuple[Rows, Rows, Rows | slice]:
        """Return the rows that reach a check, those it runs for, and where the others find theirs.

        Rows that agree with their twin take what the twin got.
        """
        touched = np.zeros(self.swept.count, dtype=np.bool_)
        unlike = np.zeros(self.swept.count, dtype=np.bool_)
        for gather in node.gathers:
            touched |= self._moved.get(gather.slot, False)
            unlike |= self._unlike.get(gather.slot, False)
        reached = np.flatnonzero(touched)
        if self._twins is None:
            return reached, reached, _ALL
        twins = self._twins[reached]
        alone = unlike[reached] | (twins == reached)
        rows = reached[alone]
        return reached, rows, np.searchsorted(rows, np.where(alone, reached, twins))

    def _input(self, slot: int, rows: Rows) -> Column:
        column = self.swept.columns.get(slot)
        if column is None:
            return Column.of([self._state.slots[slot]]).taken(np.zeros(len(rows), dtype=np.intp))
        return column if len(rows) == self.swept.count else column.taken(rows)

    def _merge(self, slot: int, fresh: Column, rows: Rows) -> None:
        """Enter an output: the rows that reach it as computed, all others as at present."""
        held = self._state.slots[slot]
        if not _differs(fresh, held).any():
            return
        if len(rows) < self.swept.count:
            status = np.full(self.swept.count, status_of(held), dtype=np.int8)
            values = np.zeros((self.swept.count, *fresh.values.shape[1:]), fresh.values.dtype)
            if isinstance(held, np.ndarray):
                values = np.repeat(held, self.swept.count, axis=0)
            status[rows], values[rows] = fresh.status, fresh.values
            fresh = Column(values, status)
        self.enter(slot, fresh)


def _unlike(column: Column, twins: Rows) -> Flags:
    """Tell in which rows a column differs from what it holds in the row's twin."""
    other = column.taken(twins)
    values = (column.values != other.values).reshape(len(twins), -1).any(axis=1)
    return np.asarray((column.status != other.status) | (values & (column.status == KNOWN)))


def _differs(column: Column, held: Slot) -> Flags:
    """Tell in which rows a column differs from what a slot holds now."""
    moved: Flags = column.status != status_of(held)
    if isinstance(held, tuple):
        place = column.pool.index(held) if held in column.pool else -1
        moved |= column.values != place
    elif isinstance(held, np.ndarray) and column.values.shape[1:] == held.shape[1:]:
        unlike = (column.values != held).reshape(len(moved), -1).any(axis=1)
        moved |= unlike & (column.status == KNOWN)
    return moved


def run_rows(node: Node, inputs: Mapping[Gather, Column], results: Results) -> None:
    """Run one check on all rows whose inputs are there; the other rows stay unknown.

    Parameters
    ----------
    node : Node
        The check.
    inputs : mapping of Gather to Column
        In the units of the slots.
    results : Results
        Gets the outputs, in the units of the slots.
    """
    usable = np.ones(results.count, dtype=np.bool_)
    for gather, column in inputs.items():
        usable &= column.status <= (ABSENT if gather.optional else KNOWN)
    for rows in _groups(inputs, np.flatnonzero(usable)):
        _run_group(node, inputs, rows, results)


def _groups(inputs: Mapping[Gather, Column], rows: Rows) -> list[Rows]:
    """Split rows into those that agree on tables and on which optional inputs exist."""
    marks = [column.status[rows] for gather, column in inputs.items() if gather.optional]
    marks += [column.values[rows] for column in inputs.values() if column.pool]
    if not len(rows):
        return []
    marks = [each for each in marks if (each != each[0]).any()]
    if not marks:
        return [rows]
    _, group = np.unique(np.stack(marks, axis=1), axis=0, return_inverse=True)
    order = np.argsort(group.ravel(), kind="stable")
    ends = np.flatnonzero(np.diff(group.ravel()[order])) + 1
    return np.split(rows[order], ends)


def _run_group(node: Node, inputs: Mapping[Gather, Column], rows: Rows, results: Results) -> None:
    given, fits = _arrays(node, inputs, rows)
    if not fits.all():  # too large in the check's unit: those rows stay unknown
        rows = rows[fits]
        if len(rows):
            _run_group(node, inputs, rows, results)
        return
    assert node.loaded is not None  # noqa: S101 - a check that is not bound reads nothing
    alone = not any(isinstance(each, np.ndarray) for each in given.values())
    try:
        results.take(rows, node.loaded.check.compute(given, node.loaded.config), alone=alone)
    except KeyboardInterrupt:
        raise
    except BaseException:  # noqa: BLE001 - a stranger's code may raise anything
        results.fail(rows)
        if len(rows) > 1:  # close in on the rows it fails on
            half = len(rows) // 2
            _run_group(node, inputs, rows[:half], results)
            _run_group(node, inputs, rows[half:], results)


def _arrays(
    node: Node, inputs: Mapping[Gather, Column], rows: Rows
) -> tuple[dict[str, Any], Flags]:
    """Return the inputs of some rows in the check's units, and which rows are finite there."""
    given: dict[str, Any] = {}
    fits: Flags = np.ones(len(rows), dtype=np.bool_)
    for gather, column in inputs.items():
        if column.status[rows[0]] == ABSENT:
            continue
        value: Any = column.pool[int(column.values[rows[0]])] if column.pool else None
        if value is None:
            value = column.values if len(rows) == len(column.values) else column.values[rows]
        if gather.convert is not None:
            value = gather.convert(value)
            fits &= _finite(value)
        given[gather.port] = _sealed(value)
    for port, constant in node.constants.items():
        if port not in given:
            given[port] = _sealed(_repeated(constant, len(rows)))
    return given, fits


def _sealed(value: Any) -> Any:  # noqa: ANN401 - array or Table, as Inputs
    if isinstance(value, np.ndarray):
        value.setflags(write=False)
    return value


def _repeated(value: Any, count: int) -> Any:  # noqa: ANN401 - array or Table, as Inputs
    return np.repeat(value, count, axis=0) if isinstance(value, np.ndarray) else value


def _finite(value: Array | Table) -> Flags:
    """Tell which rows of an array are finite; a table answers for all rows."""
    if isinstance(value, Table):
        columns = (each for each in value.columns.values() if isinstance(each, np.ndarray))
        return np.array(all(bool(np.isfinite(each).all()) for each in columns))
    return np.asarray(np.isfinite(value.reshape(len(value), -1)).all(axis=1))
