"""Who owns a risk: variance-based sensitivity indices of the quantities that scatter.

First-order and total Sobol' indices, estimated on pairs of samples in which one quantity at a time
is exchanged: the first order after Saltelli et al., Computer Physics Communications 181 (2010),
259-270, table 2 (b); the total after Jansen, table 2 (f).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.columns import KNOWN
from tracker.evaluate.engine import Cancel, Engine
from tracker.explore.assessing import STRAINED, Assessment
from tracker.explore.candidates import Candidates
from tracker.explore.scatter import Sampler, Scatter

__all__ = ["Owner", "owners"]

Reals = NDArray[np.float64]
_CHUNK = 8192


@dataclass(frozen=True, slots=True)
class Owner:
    """A quantity's part in a variance.

    Parameters
    ----------
    quantity : str
        Record id; the components of a point count together.
    first : float
        Share of the variance that its own scatter explains.
    total : float
        Share that would be gone if it were exact, interactions included.
    """

    quantity: str
    first: float
    total: float


def owners(
    engine: Engine,
    drawn: Sequence[Scatter],
    decisions: Sequence[str],
    places: Sequence[int],
    samples_and_seed: tuple[int, int],
    cancel: Cancel | None = None,
) -> dict[str | int, tuple[Owner, ...]]:
    """Return the owners of the variance of decisions' standing and of judged values.

    Parameters
    ----------
    engine : Engine
        The present.
    drawn : sequence of Scatter
        What scatters, each independently.
    decisions : sequence of str
        Ids; their variance is that of standing or not.
    places : sequence of int
        Positions in the graph's judges; those with a value in every sample are answered.
    samples_and_seed : tuple of int
        Base samples, a power of two, and the seed.

    Returns
    -------
    dict of (str or int) to tuple of Owner
        Decision id or judge → owners, the largest total first; nothing where nothing varies.
    """
    samples, seed = samples_and_seed
    both = Sampler(drawn, seed, 1, copies=2).draw(samples)[0]
    one, other = both[:, : len(drawn)], both[:, len(drawn) :]
    base = _outcomes(engine, drawn, one, decisions, places, cancel)
    cross = _outcomes(engine, drawn, other, decisions, places, cancel)
    found: dict[str | int, list[Owner]] = {name: [] for name in base}
    for quantity in dict.fromkeys(each.source.id for each in drawn):
        mine = np.array([each.source.id == quantity for each in drawn])
        mixed = np.where(mine, other, one)
        swapped = _outcomes(engine, drawn, mixed, decisions, places, cancel)
        for name, held in found.items():
            owner = _indices(quantity, base[name], cross[name], swapped[name])
            held.extend([owner] if owner else [])
    return {name: tuple(sorted(held, key=lambda each: -each.total)) for name, held in found.items()}


def _indices(quantity: str, base: Reals, cross: Reals, swapped: Reals) -> Owner | None:
    every = np.concatenate([base, cross])
    if not np.isfinite(every).all() or not np.isfinite(swapped).all():
        return None
    if np.ptp(every) == 0:
        return None
    middle, variance = float(every.mean()), float(every.var())
    first = float(((cross - middle) * (swapped - base)).mean()) / variance
    total = float(((base - swapped) ** 2).mean()) / 2 / variance
    return Owner(quantity, first, total)


def _outcomes(
    engine: Engine,
    drawn: Sequence[Scatter],
    rows: Reals,
    decisions: Sequence[str],
    places: Sequence[int],
    cancel: Cancel | None,
) -> dict[str | int, Reals]:
    """Evaluate rows; the outcome of a decision is 1 where it stands, of a judge its value."""
    parts: dict[str | int, list[Reals]] = {}
    for first in range(0, len(rows), _CHUNK):
        chunk = rows[first : first + _CHUNK]
        candidates = Candidates(engine, len(chunk))
        for column, each in enumerate(drawn):
            candidates.put(each.source, chunk[:, column])
        for name, values in _named(engine, candidates.assess(cancel), decisions, places):
            parts.setdefault(name, []).append(values)
    return {name: np.concatenate(each) for name, each in parts.items()}


def _named(
    engine: Engine, found: Assessment, decisions: Sequence[str], places: Sequence[int]
) -> Iterator[tuple[str | int, Reals]]:
    for each in decisions:
        yield each, (found.standing(each) <= STRAINED).astype(np.float64)
    for place in places:
        column = found.column(engine.graph.judges[place].slot)
        yield place, np.where(column.status == KNOWN, column.values, np.nan).astype(np.float64)
