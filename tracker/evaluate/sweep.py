"""Thousands of candidate values through the graph in one pass.

Some source slots get a whole column of values instead of one. Every check downstream runs once for
all rows that agree on tables and on which optional inputs exist; everything else keeps its present
value. A row gets the same bits as the engine would give it alone, as long as the checks keep the
row rule of the contract. The engine's state is only read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array, Outputs
from tracker.errors import CancelledError
from tracker.evaluate.binding import Emit, Gather
from tracker.evaluate.graph import Graph, Node
from tracker.evaluate.slots import Absent, Rows, Slot, Unknown
from tracker.evaluate.sources import project
from tracker.model.programme import Programme

__all__ = ["ABSENT", "KNOWN", "UNKNOWN", "Column", "sweep"]

KNOWN, ABSENT, UNKNOWN = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Column:
    """A slot's values over all rows.

    Parameters
    ----------
    values : ndarray, shape (n, …)
        As the slot's kind; for a table, positions in `pool`. Rows that are not known hold anything.
    status : ndarray of int8, shape (n,)
        KNOWN, ABSENT or UNKNOWN.
    pool : tuple of Rows
        The tables that occur.
    """

    values: Array
    status: NDArray[np.int8]
    pool: tuple[Rows, ...] = ()

    @classmethod
    def known(cls, values: Array) -> Column:
        """Make a column in which every row is known."""
        return cls(values, np.zeros(len(values), dtype=np.int8))

    @classmethod
    def of(cls, slots: Sequence[Slot]) -> Column:
        """Make a column of slots of one kind, one row each."""
        status = np.array([_status(each) for each in slots], dtype=np.int8)
        pool: dict[Rows, int] = {}
        for each in slots:
            if isinstance(each, tuple):
                pool.setdefault(each, len(pool))
        if pool:
            codes = [pool[each] if isinstance(each, tuple) else 0 for each in slots]
            return cls(np.array(codes), status, tuple(pool))
        arrays = [each for each in slots if isinstance(each, np.ndarray)]
        blank = np.zeros_like(arrays[0]) if arrays else np.zeros(1)
        rows = [each if isinstance(each, np.ndarray) else blank for each in slots]
        return cls(np.concatenate(rows), status)

    def taken(self, rows: NDArray[np.intp]) -> Column:
        """Return some rows."""
        return Column(self.values[rows], self.status[rows], self.pool)


def _status(slot: Slot) -> int:
    return UNKNOWN if isinstance(slot, Unknown) else ABSENT if isinstance(slot, Absent) else KNOWN


def sweep(
    graph: Graph,
    programme: Programme,
    slots: Sequence[Slot],
    varied: Mapping[int, Column],
    cancel: Callable[[], bool] | None = None,
) -> dict[int, Column]:
    """Evaluate every row of the varied slots.

    Parameters
    ----------
    graph, programme : Graph, Programme
        Structure and records.
    slots : sequence of Slot
        Present values.
    varied : mapping of int to Column
        Source slot → its column; all of one length, at least one row.
    cancel : callable, optional
        Asked between checks.

    Returns
    -------
    dict of int to Column
        Every slot that is varied or depends on one that is.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    columns: dict[int, Column] = {}
    count = len(next(iter(varied.values())).status)
    for slot, column in varied.items():
        _enter(graph, programme, columns, slot, column)
    with np.errstate(all="ignore"):
        for place in _downstream(graph, columns):
            if cancel is not None and cancel():
                raise CancelledError("stopped between two checks")
            node = graph.nodes[place]
            for slot, column in _run(node, slots, columns, count).items():
                _enter(graph, programme, columns, slot, column)
    return columns


def _enter(
    graph: Graph, programme: Programme, columns: dict[int, Column], slot: int, column: Column
) -> None:
    """Put a column and the projections that follow it."""
    columns[slot] = column
    for part_slot, part in graph.parts.get(slot, ()):
        columns[part_slot] = _projected(graph, programme, slot, part, column)


def _projected(graph: Graph, programme: Programme, slot: int, part: str, column: Column) -> Column:
    if not column.pool:
        cut = project(programme, graph, slot, part, column.values)
        assert isinstance(cut, np.ndarray)  # noqa: S101 - a point has all its components
        return Column(cut, column.status)
    cells = Column.of([project(programme, graph, slot, part, rows) for rows in column.pool])
    found = cells.taken(column.values)
    return Column(found.values, np.maximum(found.status, column.status))


def _downstream(graph: Graph, columns: Mapping[int, Column]) -> list[int]:
    """Return the positions of all checks that depend on a varied slot, in order."""
    marked = {place for slot in columns for place in graph.readers[slot]}
    for place in range(min(marked, default=0), len(graph.nodes)):
        if place in marked:
            for slot in graph.nodes[place].outputs:
                parts = (part for part, _ in graph.parts.get(slot, ()))
                for each in (slot, *parts):
                    marked.update(graph.readers[each])
    return sorted(marked)


def _run(
    node: Node, slots: Sequence[Slot], columns: Mapping[int, Column], count: int
) -> dict[int, Column]:
    results = _Results(node, count)
    if node.loaded is None:
        return results.columns()
    inputs = {gather: _input(slots, columns, gather, count) for gather in node.gathers}
    usable = np.ones(count, dtype=np.bool_)
    for gather, column in inputs.items():
        usable &= column.status <= (ABSENT if gather.optional else KNOWN)
    for rows in _groups(inputs, np.flatnonzero(usable)):
        _run_group(
            node, {gather: column.taken(rows) for gather, column in inputs.items()}, rows, results
        )
    return results.columns()


def _input(
    slots: Sequence[Slot], columns: Mapping[int, Column], gather: Gather, count: int
) -> Column:
    if gather.slot in columns:
        return columns[gather.slot]
    one = Column.of([slots[gather.slot]])
    return one.taken(np.zeros(count, dtype=np.intp))


def _groups(inputs: Mapping[Gather, Column], rows: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Split rows into those that agree on tables and on which optional inputs exist."""
    marks = [column.status[rows] for gather, column in inputs.items() if gather.optional]
    marks += [column.values[rows] for column in inputs.values() if column.pool]
    if not marks or not len(rows):
        return [rows] if len(rows) else []
    _, group = np.unique(np.stack(marks, axis=1), axis=0, return_inverse=True)
    return [rows[group.ravel() == each] for each in range(int(group.max()) + 1)]


def _run_group(
    node: Node, inputs: Mapping[Gather, Column], rows: NDArray[np.intp], results: _Results
) -> None:
    given, fits = _arrays(node, inputs, len(rows))
    if not fits.all():  # too large in the check's unit: those rows stay unknown
        kept = np.flatnonzero(fits)
        if len(kept):
            some = {gather: column.taken(kept) for gather, column in inputs.items()}
            _run_group(node, some, rows[kept], results)
        return
    assert node.loaded is not None  # noqa: S101 - the caller looked
    try:
        results.take(rows, node.loaded.check.compute(given, node.loaded.config))
    except KeyboardInterrupt:
        raise
    except BaseException:  # noqa: BLE001 - a stranger's code may raise anything
        if len(rows) > 1:  # find the rows it fails on
            for each in range(len(rows)):
                one = {gather: column.taken(np.array([each])) for gather, column in inputs.items()}
                _run_group(node, one, rows[each : each + 1], results)


def _arrays(
    node: Node, inputs: Mapping[Gather, Column], count: int
) -> tuple[dict[str, Any], NDArray[np.bool_]]:
    given = {port: _repeated(value, count) for port, value in node.constants.items()}
    fits: NDArray[np.bool_] = np.ones(count, dtype=np.bool_)
    for gather, column in inputs.items():
        if column.status[0] == ABSENT:
            continue
        value: Any = column.pool[int(column.values[0])] if column.pool else column.values
        if gather.convert is not None:
            value = gather.convert(value)
        if isinstance(value, np.ndarray) and value.dtype == np.float64:
            fits = fits & _finite(value)
        if isinstance(value, np.ndarray):
            value.setflags(write=False)
        given[gather.port] = value
    return given, fits


def _repeated(value: Any, count: int) -> Any:  # noqa: ANN401 - array or Table, as Inputs
    if not isinstance(value, np.ndarray):
        return value
    array = np.repeat(value, count, axis=0)
    array.setflags(write=False)
    return array


def _finite(array: Array) -> NDArray[np.bool_]:
    return np.asarray(np.isfinite(array.reshape(len(array), -1)).all(axis=1))


class _Results:
    """A check's output columns, filled group by group."""

    def __init__(self, node: Node, count: int) -> None:
        self._node = node
        self._status = {slot: np.full(count, UNKNOWN, dtype=np.int8) for slot in node.outputs}
        self._values = {
            emit.slot: np.zeros((count, *emit.shape[1:]), dtype=emit.dtype) for emit in node.emits
        }
        self._count = count

    def take(self, rows: NDArray[np.intp], outputs: Outputs) -> None:
        """Put one group's outputs in their places."""
        for emit in self._node.emits:
            array = outputs.values.get(emit.port)
            shape = (len(rows), *emit.shape[1:])
            status = self._told(emit, outputs, len(rows))
            if type(array) is np.ndarray and array.dtype == emit.dtype and array.shape == shape:
                array = array if emit.convert is None else emit.convert(array)
                array = array + 0.0 if array.dtype == np.float64 else array
                status = np.where(status == KNOWN, self._sound(emit, array), status)
                values = self._values[emit.slot]
                if values.dtype != array.dtype:  # a whole number that sets a real
                    values = self._values[emit.slot] = values.astype(array.dtype)
                values[rows] = np.where(_wide(status == KNOWN, array), array, values[rows])
            else:
                status = np.where(status == KNOWN, UNKNOWN, status)
            self._status[emit.slot][rows] = status

    @staticmethod
    def _told(emit: Emit, outputs: Outputs, count: int) -> NDArray[Any]:
        """Return what the check itself says of its rows; a problem comes before an absence."""
        status = np.full(count, KNOWN, dtype=np.int8)
        for absence in outputs.absences:
            if absence.port == emit.port:
                status[absence.rows] = ABSENT if emit.optional else UNKNOWN
        for problem in outputs.problems:
            if not problem.ports or emit.port in problem.ports:
                status[problem.rows] = UNKNOWN
        return status

    @staticmethod
    def _sound(emit: Emit, array: Array) -> NDArray[Any]:
        sound = _finite(array) if array.dtype == np.float64 else np.ones(len(array), dtype=np.bool_)
        if emit.codes:
            sound &= (array >= 0) & (array < emit.codes)
        return np.where(sound, KNOWN, UNKNOWN)

    def columns(self) -> dict[int, Column]:
        """Return the finished columns; an output nobody filled is unknown throughout."""
        blank = np.zeros(self._count)
        return {
            slot: Column(self._values.get(slot, blank), status)
            for slot, status in self._status.items()
        }


def _wide(mask: NDArray[np.bool_], array: Array) -> NDArray[np.bool_]:
    return mask.reshape(len(mask), *([1] * (array.ndim - 1)))
