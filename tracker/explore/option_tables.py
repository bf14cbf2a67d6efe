"""Which options go together, requirement by requirement.

A table covers the decisions that one or several requirements depend on, and no others: what it says
about a combination of their options holds whatever the other decisions come to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from operator import mul

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.engine import Cancel, Engine
from tracker.explore.assessing import Assessment
from tracker.explore.candidates import Candidates
from tracker.explore.judging import ACCEPTED, MET, MISSED, MOOT, TIGHT
from tracker.explore.option_scopes import Scope
from tracker.model.records import Decision

__all__ = ["Codes", "Table", "assessed", "keys_of", "table_of"]

Codes = NDArray[np.intp]
"""Options by their number within their decision, one column for each decision."""
Flags = NDArray[np.bool_]
Reals = NDArray[np.float64]
Told = Callable[[int], None]

_BATCH = 16_384


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """What the requirements on some decisions say about combinations of their options.

    Combinations that a table on fewer of the decisions rules out are not in it.

    Parameters
    ----------
    scope : Scope
        The decisions.
    sizes : tuple of int
        Number of options of each.
    keys : ndarray of int, shape (n,)
        The combinations, as `keys_of` numbers them, ascending.
    fits : ndarray of bool, shape (n,)
        Whether every requirement is met, if only just, or its miss is accepted.
    blame : ndarray of int, shape (n,)
        Position in the graph's judges of the first that is not, missed before unknown.
    missed : ndarray of bool, shape (n,)
        Whether that one is missed; else it is unknown.
    margin : ndarray, shape (n,)
        Least margin; infinite where nothing is measured.
    closest : ndarray of int, shape (n,)
        Position in the graph's judges of the requirement with that margin.
    """

    scope: Scope
    sizes: tuple[int, ...]
    keys: NDArray[np.int64]
    fits: Flags
    blame: NDArray[np.intp]
    missed: Flags
    margin: Reals
    closest: NDArray[np.intp]

    def places(self, codes: Codes) -> NDArray[np.intp]:
        """Return where combinations stand in the table; they must be in it."""
        return np.searchsorted(self.keys, keys_of(codes, self.sizes))

    def above(self, least: float) -> Table:
        """Return the table of those that keep at least a margin."""
        return replace(self, fits=self.fits & (self.margin >= least))


def keys_of(codes: Codes, sizes: Sequence[int]) -> NDArray[np.int64]:
    """Return a number for every combination of options, in the order of the codes.

    Parameters
    ----------
    codes : ndarray of int, shape (n, k)
        Options.
    sizes : sequence of int
        Number of options of every decision; their product is below 2⁶³.
    """
    weights = [1, *accumulate(reversed(sizes[1:]), mul)][::-1] if sizes else []
    return codes.astype(np.int64) @ np.array(weights, dtype=np.int64)


def assessed(
    engine: Engine, decisions: Sequence[Decision], codes: Codes, cancel: Cancel | None
) -> Assessment:
    """Evaluate combinations of options, one row each.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    candidates = Candidates(engine, len(codes))
    for column, decision in enumerate(decisions):
        ids = [each.id for each in decision.options]
        candidates.choose(decision.id, [ids[each] for each in codes[:, column].tolist()])
    return candidates.assess(cancel)


def table_of(
    engine: Engine,
    decisions: Sequence[Decision],
    scope: Scope,
    judges: Sequence[int],
    codes: Codes,
    cancel: Cancel | None,
    told: Told,
) -> Table:
    """Evaluate combinations in batches and put what they come to into a table.

    Parameters
    ----------
    decisions : sequence of Decision
        Those of the scope.
    judges : sequence of int
        The requirements and rules that depend on exactly these.
    codes : ndarray of int, shape (n, k)
        Combinations, all different.
    told : callable
        Told how many rows a batch had.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    sizes = tuple(len(each.options) for each in decisions)
    numbers = keys_of(codes, sizes)
    order = np.argsort(numbers)
    parts = [_nothing()]
    for first in range(0, len(codes), _BATCH):
        batch = codes[order[first : first + _BATCH]]
        parts.append(_tabled(assessed(engine, decisions, batch, cancel), judges))
        told(len(batch))
    columns = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Table(scope, sizes, numbers[order], *columns)


_Part = tuple[Flags, NDArray[np.intp], Flags, Reals, NDArray[np.intp]]


def _nothing() -> _Part:
    flags, places = np.zeros(0, dtype=np.bool_), np.zeros(0, dtype=np.intp)
    return flags, places, flags, np.zeros(0), places


def _tabled(found: Assessment, judges: Sequence[int]) -> _Part:
    """Return for every row the columns of a table, in the order of its fields."""
    judged = [found.judged(place) for place in judges]
    verdicts = np.stack([each.verdict for each in judged])
    margins = np.stack([np.where(np.isnan(each.margin), np.inf, each.margin) for each in judged])
    fine = np.isin(verdicts, (MET, TIGHT, MOOT, ACCEPTED))
    severity = np.where(fine, np.iinfo(np.int8).max, verdicts)
    places = np.array(judges, dtype=np.intp)
    return (
        (severity == np.iinfo(np.int8).max).all(axis=0),
        places[severity.argmin(axis=0)],  # MISSED is less than UNKNOWN
        (verdicts == MISSED).any(axis=0),
        margins.min(axis=0),
        places[margins.argmin(axis=0)],
    )
