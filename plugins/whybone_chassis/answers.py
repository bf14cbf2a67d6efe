"""Gathering what a check answers: values, rows without one, and why."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Absence, Array, Inputs, Outputs, Problem, Table

__all__ = ["Answers", "Flags", "Reals"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

_OUT_OF_RANGE = "the inputs lead out of the range of numbers"


class Answers:
    """What a check answers to a batch, gathered port by port.

    Rows with an input that is no finite number are refused from the start, all of them where the
    number stands in a table.

    Parameters
    ----------
    inputs : mapping
        The inputs of the check.
    """

    def __init__(self, inputs: Inputs) -> None:
        arrays = [each for each in inputs.values() if not isinstance(each, Table)]
        self.rows = len(arrays[0]) if arrays else 1
        self._values: dict[str, Array] = {}
        self._problems: list[Problem] = []
        self._absences: list[Absence] = []
        for port, each in inputs.items():
            if isinstance(each, Table):
                self.refuse(not _finite_cells(each), f"{port}: a cell is not a finite number")
            elif not (finite := _finite(each)).all():
                self.refuse(~finite, f"{port} is not a finite number")

    def give(self, **values: Array | np.generic) -> None:
        """Answer some ports; a value may be one for all rows."""
        for port, value in values.items():
            shape = (self.rows, *np.shape(value)[1:])
            self._values[port] = np.broadcast_to(value, shape)

    def refuse(self, where: Flags | bool, reason: str, *ports: str) -> None:
        """Say why some rows have no value; without ports, none of their outputs has."""
        rows = np.broadcast_to(where, (self.rows,))
        if rows.any():
            self._problems.append(Problem(rows, reason, ports))

    def require_positive(self, inputs: Inputs, ports: Iterable[str]) -> None:
        """Refuse rows in which one of these inputs is not above zero."""
        for port in ports:
            self.refuse(~(inputs[port] > 0.0), f"{port} must be positive")

    def leave_out(self, port: str, where: Flags | bool, reason: str) -> None:
        """Say why an optional output does not exist in some rows."""
        rows = np.broadcast_to(where, (self.rows,))
        if rows.any():
            self._absences.append(Absence(port, rows, reason))

    def outputs(self) -> Outputs:
        """Return all answers; refused reals are NaN, and none is left infinite without a reason."""
        for port, value in self._values.items():
            if value.dtype == np.float64:
                self._values[port] = self._blanked(port, value)
        return Outputs(self._values, self._problems, self._absences)

    def _blanked(self, port: str, value: Reals) -> Reals:
        """Return the values of a port with NaN in rows that have none."""
        told, finite = self._told(port), _finite(value)
        if finite.all() and not told.any():
            return value
        self.refuse(~(told | finite), _OUT_OF_RANGE, port)
        blanked = value.copy()
        blanked[told | ~finite] = np.nan
        return blanked

    def _told(self, port: str) -> Flags:
        """Tell in which rows a reason is given for having no value."""
        told = np.zeros(self.rows, dtype=np.bool_)
        for problem in self._problems:
            if not problem.ports or port in problem.ports:
                told |= problem.rows
        for absence in self._absences:
            if absence.port == port:
                told |= absence.rows
        return told


def _finite(array: Array) -> Flags:
    """Tell which rows hold nothing but finite numbers, shape (n,)."""
    if array.ndim == 1:
        return np.isfinite(array)
    whole: Flags = np.logical_and.reduce(np.isfinite(array).reshape(len(array), -1), axis=-1)
    return whole


def _finite_cells(table: Table) -> bool:
    numbers = [cells for cells in table.columns.values() if isinstance(cells, np.ndarray)]
    return all(bool(np.isfinite(cells).all()) for cells in numbers)
