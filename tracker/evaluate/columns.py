"""Columns of candidate values: what a slot holds in each row of a sweep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array
from tracker.evaluate.slots import Absent, Rows, Slot, Unknown

__all__ = ["ABSENT", "KNOWN", "UNKNOWN", "Column", "status_of"]

KNOWN, ABSENT, UNKNOWN = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Column:
    """A slot's values over all rows.

    Parameters
    ----------
    values : ndarray, shape (n, …)
        As the slot's kind, finite and without negative zero; for a table, positions in `pool`.
        Rows that are not known hold anything.
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
        status = np.array([status_of(each) for each in slots], dtype=np.int8)
        pool: dict[Rows, int] = {}
        for each in slots:
            if isinstance(each, tuple):
                pool.setdefault(each, len(pool))
        if pool:
            codes = [pool[each] if isinstance(each, tuple) else 0 for each in slots]
            return cls(np.array(codes, dtype=np.intp), status, tuple(pool))
        arrays = [each for each in slots if isinstance(each, np.ndarray)]
        blank = np.zeros_like(arrays[0]) if arrays else np.zeros(1)
        rows = [each if isinstance(each, np.ndarray) else blank for each in slots]
        return cls(np.concatenate(rows), status)

    def taken(self, rows: NDArray[np.intp]) -> Column:
        """Return some rows."""
        return Column(self.values[rows], self.status[rows], self.pool)


def status_of(slot: Slot) -> int:
    """Tell whether a slot is KNOWN, ABSENT or UNKNOWN."""
    return UNKNOWN if isinstance(slot, Unknown) else ABSENT if isinstance(slot, Absent) else KNOWN
