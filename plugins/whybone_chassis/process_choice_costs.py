"""Cost of a number of pieces by each of several processes, and where the cheapest changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Table
from whybone_chassis.answers import Reals
from whybone_chassis.tooling_sums import tool_sets

__all__ = ["MOST_PROCESSES", "Envelope", "Rivals", "cheapest", "envelope", "rivals_of"]

MOST_PROCESSES = 20
"""Processes compared at most."""

_EFFORT = 20_000  # pairs of processes times stretches between tool purchases looked at
_BEYOND = 2.0  # a volume past the last change, as a multiple of it
_EQUAL = 1e-12  # relative: costs this close differ by rounding (1e-16 a step), not by money


@dataclass(frozen=True, slots=True)
class Rivals:
    """Cost figures of rival processes, shape (processes,) each.

    Parameters
    ----------
    fixed, set_cost, each : ndarray
        Paid once, per set of tools, per piece.
    capacity : ndarray
        Pieces that `sides` sets make together; infinite where there are no tools.
    sides : ndarray
        Sets bought at a time: 1, or 2 where left and right need their own.
    """

    fixed: Reals
    set_cost: Reals
    each: Reals
    capacity: Reals
    sides: Reals

    def tooling(self, pieces: Reals) -> Reals:
        """Return what is paid besides the pieces, shape (n, processes).

        Parameters
        ----------
        pieces : ndarray, shape (n,)
            Pieces over the whole production.
        """
        life = np.where(np.isfinite(self.capacity), self.capacity / self.sides, 0.0)
        cost: Reals = self.fixed + self.set_cost * tool_sets(pieces[:, None], self.sides, life)
        return cost

    def total(self, pieces: Reals) -> Reals:
        """Return the whole cost, shape (n, processes)."""
        cost: Reals = self.tooling(pieces) + self.each * pieces[:, None]
        return cost


def rivals_of(table: Table, *, single: bool) -> Rivals:
    """Read the port `processes`.

    Parameters
    ----------
    table : Table
        The port.
    single : bool
        Whether there is one piece on a vehicle, so that no process needs tools for two sides.
    """
    hourly, rate = table.reals("hourly_cost"), table.reals("rate")
    time = np.divide(hourly, rate, out=np.zeros(table.rows), where=hourly > 0.0)
    material = table.reals("material_mass") * table.reals("material_price")
    set_cost, life = table.reals("set_cost"), table.reals("set_life")
    sides = np.where(single | table.flags("fits_both_sides"), 1.0, 2.0)
    return Rivals(
        fixed=table.reals("one_off"),
        set_cost=set_cost,
        each=table.reals("piece_cost") + material / (1.0 - table.reals("scrap")) + time,
        capacity=np.where(set_cost > 0.0, sides * life, np.inf),
        sides=sides,
    )


@dataclass(frozen=True, slots=True)
class Envelope:
    """Which process is cheapest where.

    Parameters
    ----------
    edges : ndarray, shape (k,)
        Numbers of pieces at which the cheapest process changes, rising.
    winners : ndarray of int, shape (k + 1,)
        Cheapest process before, between and after the edges.
    horizon : float
        Number of pieces looked up to.
    """

    edges: Reals
    winners: np.ndarray
    horizon: float


def envelope(rivals: Rivals) -> Envelope:
    """Find every change of the cheapest process up to the horizon.

    Parameters
    ----------
    rivals : Rivals
        At least one process.

    Notes
    -----
    Between two purchases of tools every cost is a straight line over the pieces, so the cheapest
    changes at a purchase or where two of the lines cross. The horizon depends on the processes
    alone, never on the volumes asked about.
    """
    bounds = _purchases(rivals)
    starts, ends = bounds[:-1], bounds[1:]
    inside = np.where(np.isinf(ends), starts + 1.0, 0.5 * (starts + np.minimum(ends, 1e300)))
    level = rivals.tooling(inside)
    first, second = np.triu_indices(len(rivals.each), 1)
    slope = rivals.each[first] - rivals.each[second]
    crossing = (level[:, second] - level[:, first]) / np.where(slope == 0.0, np.nan, slope)
    within = (crossing > starts[:, None]) & (crossing < ends[:, None])
    points = np.unique(np.concatenate([starts, crossing[within], ends[np.isfinite(ends)]]))
    last = [] if np.isfinite(bounds[-1]) else [_BEYOND * points[-1] + 1.0]
    middles = np.concatenate([0.5 * (points[:-1] + points[1:]), last])
    best = cheapest(rivals.total(middles))
    changes = np.flatnonzero(best[1:] != best[:-1])
    return Envelope(
        edges=points[changes + 1],
        winners=best[np.concatenate([changes, [len(best) - 1]])],
        horizon=float(bounds[-1]),
    )


def cheapest(costs: Reals) -> np.ndarray:
    """Return the first of the cheapest processes, shape (n,).

    Parameters
    ----------
    costs : ndarray, shape (n, processes)
        Not negative.
    """
    lowest = costs.min(axis=-1, keepdims=True)
    first: np.ndarray = np.argmax(costs <= lowest * (1.0 + _EQUAL), axis=-1)
    return first


def _purchases(rivals: Rivals) -> Reals:
    """Return zero, the numbers of pieces after which tools are bought, and the horizon."""
    lives = rivals.capacity[np.isfinite(rivals.capacity)]
    if not lives.size:
        return np.array([0.0, np.inf])
    pairs = max(1, len(rivals.each) * (len(rivals.each) - 1) // 2)
    horizon = _EFFORT / pairs / float((1.0 / lives).sum())
    steps = [life * np.arange(1.0, np.floor(horizon / life) + 1.0) for life in np.unique(lives)]
    return np.unique(np.concatenate([[0.0], *steps, [horizon]]))
