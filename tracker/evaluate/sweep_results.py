"""What one check gives in a sweep: its output columns, filled group by group."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array, Outputs
from tracker.evaluate.binding import Emit
from tracker.evaluate.columns import ABSENT, KNOWN, UNKNOWN
from tracker.evaluate.graph import Node

__all__ = ["Results"]


class Results:
    """Output columns of a check; what nobody fills is unknown.

    Parameters
    ----------
    node : Node
        The compiled check.
    count : int
        Number of rows.
    """

    def __init__(self, node: Node, count: int) -> None:
        self._node = node
        self.count = count
        self.blocked: NDArray[np.bool_] = np.ones(count, dtype=np.bool_)
        self.status = {slot: np.full(count, UNKNOWN, dtype=np.int8) for slot in node.outputs}
        self.values: dict[int, Array] = {
            emit.slot: np.zeros((count, *emit.shape[1:]), dtype=emit.dtype) for emit in node.emits
        }

    def take(self, rows: NDArray[np.intp], outputs: Outputs, *, alone: bool) -> None:
        """Put a group's outputs in their places.

        Parameters
        ----------
        rows : ndarray of int
            The group.
        outputs : Outputs
            What the check gave for it.
        alone : bool
            Whether it got nothing with a batch axis: then it answers once for the whole group.
        """
        blocked = np.zeros(len(rows), dtype=np.bool_)
        for emit in self._node.emits:
            status, array = _output(emit, outputs, 1 if alone else len(rows))
            if alone:
                status = np.repeat(status, len(rows))
                array = None if array is None else np.repeat(array, len(rows), axis=0)
            blocked |= status == UNKNOWN
            self.status[emit.slot][rows] = status
            if array is not None:
                self._put(emit.slot, rows, array, status == KNOWN)
        self.blocked[rows] = blocked

    def fail(self, rows: NDArray[np.intp]) -> None:
        """Take back whatever rows got, before or while the check failed."""
        self.blocked[rows] = True
        for status in self.status.values():
            status[rows] = UNKNOWN

    def _put(
        self, slot: int, rows: NDArray[np.intp], array: Array, known: NDArray[np.bool_]
    ) -> None:
        whole = known.all()
        if whole and len(rows) == self.count:
            self.values[slot] = array
            return
        if self.values[slot].dtype != array.dtype:  # a whole number that sets a real
            self.values[slot] = self.values[slot].astype(array.dtype)
        if not whole:
            rows, array = rows[known], array[known]
        self.values[slot][rows] = array


def _output(emit: Emit, outputs: Outputs, count: int) -> tuple[NDArray[np.int8], Array | None]:
    """Return status and values of an output in the slot's unit; no values where it is not sound."""
    array: Any = outputs.values.get(emit.port)
    status = _told(emit, outputs, count)
    shape = (count, *emit.shape[1:])
    if type(array) is not np.ndarray or array.dtype != emit.dtype or array.shape != shape:
        status[status == KNOWN] = UNKNOWN
        return status, None
    if emit.convert is not None:
        array = emit.convert(array)
    real = array.dtype == np.float64
    array = array + 0.0 if real else array.copy()  # −0.0 becomes 0.0
    if real:
        finite = np.isfinite(array).reshape(count, -1).all(axis=1)
        status[(status == KNOWN) & ~finite] = UNKNOWN
    if emit.codes:
        status[(status == KNOWN) & ((array < 0) | (array >= emit.codes))] = UNKNOWN
    return status, array


def _told(emit: Emit, outputs: Outputs, count: int) -> NDArray[np.int8]:
    """Return what the check itself says of its rows; a problem comes before an absence."""
    status = np.full(count, KNOWN, dtype=np.int8)
    for absence in outputs.absences:
        if absence.port == emit.port:
            status[absence.rows] = ABSENT if emit.optional else UNKNOWN
    for problem in outputs.problems:
        if not problem.ports or emit.port in problem.ports:
            status[problem.rows] = UNKNOWN
    return status
