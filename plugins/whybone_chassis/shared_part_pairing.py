"""Pairing rows with columns at the least cost."""

from __future__ import annotations

import numpy as np

from whybone_chassis.answers import Reals

__all__ = ["paired"]


def paired(costs: Reals) -> np.ndarray:
    """Pair every row with a column of its own at the least sum of costs.

    Parameters
    ----------
    costs : ndarray, shape (k, k)
        Finite.

    Returns
    -------
    ndarray of int, shape (k,)
        Column of each row.

    Notes
    -----
    Shortest augmenting paths with potentials (the Hungarian method), in k³ steps. Where the
    cheapest columns of the rows are all different, they are the answer.
    """
    nearest: np.ndarray = costs.argmin(axis=1)
    if len(set(nearest.tolist())) == len(nearest):
        return nearest
    size = len(costs)
    rows, columns = np.zeros(size), np.zeros(size)  # potentials
    row_of = np.full(size, -1)
    for row in range(size):
        _augment(costs, row, rows, columns, row_of)
    column_of = np.empty(size, dtype=np.int64)
    column_of[row_of] = np.arange(size)
    return column_of


def _augment(costs: Reals, row: int, rows: Reals, columns: Reals, row_of: np.ndarray) -> None:
    """Give one more row a column, moving earlier rows along the cheapest path."""
    size = len(costs)
    least, came_from = np.full(size, np.inf), np.full(size, -1)
    done = np.zeros(size, dtype=np.bool_)
    visited = [row]
    here, column, reached = row, -1, 0.0
    while here >= 0:
        ahead = reached + costs[here] - rows[here] - columns
        better = ~done & (ahead < least)
        least[better], came_from[better] = ahead[better], column
        column = int(np.argmin(np.where(done, np.inf, least)))
        reached = float(least[column])
        done[column] = True
        here = int(row_of[column])
        if here >= 0:
            visited.append(here)
    rows[row] += reached
    for each in visited[1:]:
        rows[each] += reached - least[np.flatnonzero(row_of == each)[0]]
    ends = done.copy()
    ends[column] = False
    columns[ends] -= reached - least[ends]
    while column >= 0:
        before = int(came_from[column])
        row_of[column] = row if before < 0 else row_of[before]
        column = before
