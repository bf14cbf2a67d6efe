"""Why an option is in no combination that meets every requirement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, islice

import numpy as np

from tracker.errors import BadValueError
from tracker.explore.option_tables import Table
from tracker.explore.option_walk import Lost, Places, Walker, arranged

__all__ = ["Conflict", "Killed", "killed"]

_MOST_TRIED = 4000
"""Selections of other decisions tried before the smallest is no longer looked for."""
_MOST_CONFLICTS = 24


@dataclass(frozen=True, slots=True)
class Conflict:
    """A requirement that is not met, whatever the decisions not named come to.

    Parameters
    ----------
    judge : int
        Position in the graph's judges.
    missed : bool
        Whether it is missed; else it is unknown.
    choices : tuple of (int, int)
        Options of other decisions that it takes; empty where the option alone is enough.
    itself : bool
        Whether the option is part of it; else the choices do not go together on their own.
    """

    judge: int
    missed: bool
    choices: tuple[tuple[int, int], ...]
    itself: bool


@dataclass(frozen=True, slots=True)
class Killed:
    """An option that is in no combination, and why.

    Parameters
    ----------
    decision, option : int
        Numbers.
    others : tuple of int
        The smallest set of other decisions none of whose options go with it.
    conflicts : tuple of Conflict
        One of them rules out every choice of theirs; the smallest first.
    left_out : int
        Number of further conflicts.
    smallest : bool
        Whether no smaller set of others exists; otherwise it is only known that none of these can
        be left out.
    """

    decision: int
    option: int
    others: tuple[int, ...]
    conflicts: tuple[Conflict, ...]
    left_out: int
    smallest: bool


def killed(walker: Walker, group: Sequence[int], decision: int, option: int) -> Killed:
    """Explain why an option is in no combination of its group.

    Raises
    ------
    CancelledError
        It was stopped.
    """
    scopes = [frozenset(each.scope) for each in walker.tables]
    search = _Search(walker, decision, option, scopes)
    others, smallest = search.smallest([each for each in group if each != decision])
    lost: Lost = []
    search.alive(others, lost)
    found = list(chain.from_iterable(_conflicts(table, places, decision) for table, places in lost))
    found.sort(key=lambda each: (not each.itself, len(each.choices)))
    shown = tuple(found[:_MOST_CONFLICTS])
    return Killed(decision, option, others, shown, len(found) - len(shown), smallest)


@dataclass(slots=True)
class _Search:
    """The search for few other decisions that an option does not go with."""

    walker: Walker
    decision: int
    option: int
    scopes: Sequence[frozenset[int]]
    sure: bool = True

    def smallest(self, others: Sequence[int]) -> tuple[tuple[int, ...], bool]:
        """Return the others, and whether no fewer would do."""
        few = (picked for size in range(len(others)) for picked in combinations(others, size))
        for picked in islice(few, _MOST_TRIED):
            if self._linked(picked) and not self.alive(picked):
                return picked, self.sure
        left = tuple(others)
        for each in others:
            fewer = tuple(one for one in left if one != each)
            if not self.alive(fewer):
                left = fewer
        return left, self.sure and len(others) == len(left)

    def _linked(self, picked: Sequence[int]) -> bool:
        """Tell whether requirements on these alone link them; else fewer of them would do."""
        within = {self.decision, *picked}
        scopes = [each for each in self.scopes if each <= within]
        reached, grown = set(picked[:1]), True
        while grown:
            near = reached.union(*(each for each in scopes if each & reached))
            grown, reached = near > reached, near
        return reached.issuperset(picked)

    def alive(self, others: Sequence[int], lost: Lost | None = None) -> bool:
        """Tell whether some choice of others goes with the option, as far as they alone tell."""
        order = arranged((self.decision, *others), self.walker.tables)
        fixed = (self.decision, self.option)
        try:
            return bool(len(self.walker.walk(order, "", fixed=fixed, lost=lost).ends))
        except BadValueError:  # fewer requirements may leave more combinations than all of them
            self.sure = False
            return True


def _conflicts(table: Table, places: Places, decision: int) -> Iterator[Conflict]:
    for place in places.tolist():
        codes = np.unravel_index(table.keys[place], table.sizes)
        choices = zip(table.scope, map(int, codes), strict=True)
        yield Conflict(
            judge=int(table.blame[place]),
            missed=bool(table.missed[place]),
            choices=tuple(each for each in choices if each[0] != decision),
            itself=decision in table.scope,
        )
