"""Counting and listing combinations of options without enumerating them.

Decisions are taken one after another. After each, partial combinations that differ only in
decisions which no later requirement looks at are merged and counted together, so the work grows
with how much the decisions have to do with each other and not with the number of combinations. The
steps are kept: going back along them gives combinations one by one, with no dead ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.errors import BadValueError, CancelledError
from tracker.evaluate.engine import Cancel
from tracker.explore.option_tables import Codes, Table

__all__ = ["Limit", "Lost", "Places", "Step", "Walk", "Walker", "arranged"]

Places = NDArray[np.intp]
Counts = NDArray[Any]
"""Python integers, so that no count overflows."""
Lost = list[tuple[Table, Places]]
"""Tables with the places in them of what they ruled out."""


@dataclass(frozen=True, slots=True)
class Limit:
    """How much may be held at once.

    Parameters
    ----------
    rows : int
        Most combinations.
    cancel : callable, optional
        Asked between two decisions.
    """

    rows: int
    cancel: Cancel | None = None

    def check(self, rows: int, what: str) -> None:
        """Refuse to go on beyond the limit.

        Raises
        ------
        BadValueError
            There are more rows.
        CancelledError
            `cancel` asked to stop.
        """
        if self.cancel is not None and self.cancel():
            raise CancelledError("stopped between two decisions")
        if rows > self.rows:
            raise BadValueError(
                f"{what}: {rows} combinations would have to be looked at together, more than the "
                f"limit of {self.rows}",
                field="limit",
                remedy="Settle or lean to an option of one of them, or raise the limit",
            )


@dataclass(frozen=True, slots=True)
class Step:
    """A decision taken: every way from a partial combination by an option to the next one.

    Parameters
    ----------
    decision : int
        Its number.
    parent, option, target : ndarray of int, shape (n,)
        Partial combination before, option, and partial combination after.
    after : int
        Number of partial combinations after.
    """

    decision: int
    parent: Places
    option: Places
    target: Places
    after: int


class Walk:
    """All combinations, as the steps that lead to them.

    Parameters
    ----------
    steps : sequence of Step
        One for each decision.
    ends : ndarray of int, shape (n, k)
        The options of the decisions that were to be kept apart, in the order they were taken.
    kept : tuple of int
        Those decisions.
    """

    def __init__(self, steps: Sequence[Step], ends: Codes, kept: tuple[int, ...]) -> None:
        self._steps = steps
        self.ends = ends
        self.kept = kept

    @property
    def count(self) -> int:
        """Number of combinations."""
        return int(sum(self._ahead()[-1].tolist()))

    def _ahead(self) -> list[Counts]:
        """Return after every step how many ways lead to each partial combination."""
        ways = [_ones(1)]
        for step in self._steps:
            ways.append(_summed(ways[-1][step.parent], step.target, step.after))
        return ways

    def shares(self) -> dict[int, dict[int, int]]:
        """Return decision → option → number of combinations it is in, where there are any."""
        ways, onward = self._ahead(), _ones(len(self.ends))
        found: dict[int, dict[int, int]] = {}
        for place in range(len(self._steps) - 1, -1, -1):
            step = self._steps[place]
            through = ways[place][step.parent] * onward[step.target]
            options = int(step.option.max(initial=-1)) + 1
            sums = _summed(through, step.option, options).tolist()
            found[step.decision] = {code: each for code, each in enumerate(sums) if each}
            onward = _summed(onward[step.target], step.parent, len(ways[place]))
        return found

    def combinations(self, ends: Iterable[int]) -> Iterator[tuple[int, dict[int, int]]]:
        """Give combinations as their end and decision → option, end by end."""
        orders = [np.argsort(each.target, kind="stable") for each in self._steps]
        targets = [each.target[order] for each, order in zip(self._steps, orders, strict=True)]
        for end in ends:
            waiting: list[tuple[int, int, tuple[Any, ...]]] = [(len(self._steps) - 1, end, ())]
            while waiting:
                place, row, path = waiting.pop()
                if place < 0:
                    yield end, dict(_unwound(path))
                    continue
                step = self._steps[place]
                first, last = np.searchsorted(targets[place], (row, row + 1)).tolist()
                for edge in orders[place][first:last][::-1].tolist():
                    onward = (step.decision, int(step.option[edge]), path)
                    waiting.append((place - 1, int(step.parent[edge]), onward))


def _unwound(path: tuple[Any, ...]) -> Iterator[tuple[int, int]]:
    while path:
        decision, option, path = path
        yield decision, option


def _ones(count: int) -> Counts:
    return np.array([1] * count, dtype=object)


def _summed(counts: Counts, where: Places, size: int) -> Counts:
    sums = np.array([0] * size, dtype=object)
    np.add.at(sums, where, counts)
    return sums


@dataclass(frozen=True, slots=True)
class Walker:
    """What a walk goes by.

    Parameters
    ----------
    sizes : sequence of int
        Number of options of every decision.
    tables : sequence of Table
        What rules combinations out; of any table on fewer decisions of another, both.
    limit : Limit
        Most partial combinations at a time.
    """

    sizes: Sequence[int]
    tables: Sequence[Table]
    limit: Limit

    def above(self, least: float) -> Walker:
        """Return what goes by the combinations that keep at least a margin."""
        return replace(self, tables=[each.above(least) for each in self.tables])

    def walk(
        self,
        order: Sequence[int],
        what: str,
        *,
        keep: AbstractSet[int] = frozenset(),
        fixed: tuple[int, int] | None = None,
        lost: Lost | None = None,
    ) -> Walk:
        """Take decisions one after another.

        Parameters
        ----------
        order : sequence of int
            The decisions; tables that look at any other are left aside.
        what : str
            Names them where the limit is exceeded.
        keep : set of int
            Decisions whose options are kept apart to the end.
        fixed : (int, int), optional
            A decision and the only option of it that counts.
        lost : list, optional
            Gets what the tables rule out.

        Raises
        ------
        BadValueError
            The limit is exceeded.
        CancelledError
            It was stopped.
        """
        tables = sorted(
            (each for each in self.tables if set(each.scope) <= set(order)),
            key=lambda each: len(each.scope),
        )
        rows, live, steps = np.zeros((1, 0), dtype=np.intp), list[int](), list[Step]()
        for place, decision in enumerate(order):
            seen = set(order[: place + 1])
            due = [each for each in tables if decision in each.scope and set(each.scope) <= seen]
            options = np.arange(self.sizes[decision])
            if fixed is not None and decision == fixed[0]:
                options = options[fixed[1] : fixed[1] + 1]
            for each in due:
                if len(each.scope) == 1:
                    options = _kept(each, options[:, np.newaxis], lost)[:, 0]
            self.limit.check(len(rows) * len(options), what)
            edges = _Edges(rows, [*live, decision], options)
            for each in due:
                if len(each.scope) > 1:
                    edges.filter(each, lost)
            later = {one for each in tables if not set(each.scope) <= seen for one in each.scope}
            rows, live, target = edges.merged(later | set(keep))
            steps.append(Step(decision, edges.parent, edges.codes[:, -1], target, len(rows)))
        return Walk(steps, rows, tuple(live))


class _Edges:
    """Partial combinations, each with every option of the next decision."""

    def __init__(self, rows: Codes, names: list[int], options: Places) -> None:
        self.parent = np.repeat(np.arange(len(rows)), len(options))
        added = np.tile(options, len(rows))
        self.codes = np.column_stack([rows[self.parent], added])
        self._names = names

    def filter(self, table: Table, lost: Lost | None) -> None:
        columns = [self._names.index(each) for each in table.scope]
        places = table.places(self.codes[:, columns])
        fits = table.fits[places]
        if lost is not None:
            lost.append((table, np.unique(places[~fits])))
        self.parent, self.codes = self.parent[fits], self.codes[fits]

    def merged(self, wanted: AbstractSet[int]) -> tuple[Codes, list[int], Places]:
        """Return what differs in the wanted decisions, these, and where every edge leads."""
        columns = [place for place, each in enumerate(self._names) if each in wanted]
        live = [self._names[each] for each in columns]
        if len(columns) == len(self._names):  # nothing dropped: they differ already
            return self.codes, live, np.arange(len(self.codes))
        if not columns:
            some = self.codes[:1, :0]
            return some, live, np.zeros(len(self.codes), dtype=np.intp)
        rows, target = np.unique(self.codes[:, columns], axis=0, return_inverse=True)
        return rows, live, target.ravel()


def _kept(table: Table, codes: Codes, lost: Lost | None) -> Codes:
    places = table.places(codes)
    fits = table.fits[places]
    if lost is not None:
        lost.append((table, places[~fits]))
    return codes[fits]


def arranged(decisions: Sequence[int], tables: Sequence[Table]) -> list[int]:
    """Order decisions so that few of them have to be kept apart at a time."""
    scopes = [set(each.scope) for each in tables if set(each.scope) <= set(decisions)]
    linked: dict[int, set[int]] = {each: set() for each in decisions}
    for scope in scopes:
        for each in scope:
            linked[each] |= scope
    order: list[int] = []
    rest, near = list(decisions), set[int]()
    while rest:
        close = [each for each in rest if each in near] or rest[:1]
        best = min(close, key=lambda each: _open_after({*order, each}, scopes))
        order.append(best)
        rest.remove(best)
        near |= linked[best]
    return order


def _open_after(taken: set[int], scopes: Sequence[set[int]]) -> int:
    """Count decisions taken that a requirement not wholly taken looks at."""
    waiting = [each for each in scopes if not each <= taken]
    return len({one for each in waiting for one in each if one in taken})
