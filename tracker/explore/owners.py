"""Who owns a risk: variance-based sensitivity indices of the quantities that scatter.

First-order and total Sobol' indices, estimated on pairs of samples in which one quantity at a time
is exchanged: the first order after Saltelli et al., Computer Physics Communications 181 (2010),
259-270, table 2 (b); the total after Jansen, table 2 (f).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
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
_CHUNK = 1024  # base samples in one pass


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
    progress: Callable[[str], None] | None = None,
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
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Returns
    -------
    dict of (str or int) to tuple of Owner
        Decision id or judge → owners, the largest total first; nothing where nothing varies.
    """
    samples, seed = samples_and_seed
    both = Sampler(drawn, seed, 1, copies=2).draw(samples)[0]
    one, other = both[:, : len(drawn)], both[:, len(drawn) :]
    quantities = list(dict.fromkeys(each.source.id for each in drawn))
    masks = [np.array([each.source.id == name for each in drawn]) for name in quantities]
    parts: dict[str | int, list[Reals]] = {}
    for first in range(0, samples, _CHUNK):
        rows = slice(first, first + _CHUNK)
        blocks = [one[rows], other[rows]]
        blocks += [np.where(mask, other[rows], one[rows]) for mask in masks]
        found = _assessed(engine, drawn, blocks, cancel)
        for name, values in _named(engine, found, decisions, places):
            parts.setdefault(name, []).append(values.reshape(len(blocks), -1))
        if progress is not None:
            progress(f"whose scatter it is: {min(rows.stop, samples)} of {samples} base samples")
    return {name: _ranked(quantities, np.concatenate(each, axis=1)) for name, each in parts.items()}


def _assessed(
    engine: Engine, drawn: Sequence[Scatter], blocks: Sequence[Reals], cancel: Cancel | None
) -> Assessment:
    """Evaluate both samples and all their mixtures, which are mostly like the first."""
    size = len(blocks[0])
    twins = np.arange(size * len(blocks))
    twins[2 * size :] %= size
    candidates = Candidates(engine, len(twins), twins)
    for column, each in enumerate(drawn):
        candidates.put(each.source, np.concatenate([block[:, column] for block in blocks]))
    return candidates.assess(cancel)


def _ranked(quantities: Sequence[str], outcomes: Reals) -> tuple[Owner, ...]:
    """Return the owners of a variance; row 0 and 1 of the outcomes are the samples themselves."""
    found = [
        _indices(quantity, outcomes[0], outcomes[1], swapped)
        for quantity, swapped in zip(quantities, outcomes[2:], strict=True)
    ]
    return tuple(sorted(filter(None, found), key=lambda each: -each.total))


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


def _named(
    engine: Engine, found: Assessment, decisions: Sequence[str], places: Sequence[int]
) -> Iterator[tuple[str | int, Reals]]:
    """Give the outcomes of all rows: of a decision 1 where it stands, of a judge its value."""
    for each in decisions:
        yield each, (found.standing(each) <= STRAINED).astype(np.float64)
    for place in places:
        column = found.column(engine.graph.judges[place].slot)
        yield place, np.where(column.status == KNOWN, column.values, np.nan).astype(np.float64)
