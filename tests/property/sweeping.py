"""Random programmes whose checks keep the row rule, and rows of candidate edits on them."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tests.property.engine_edits import random_edit
from tests.property.programmes import Chooser, Seeded, allowed, first_records
from tests.property.toy_checks import TOYS, Shelf, Toy
from tracker.contract.check import Array
from tracker.errors import CycleError
from tracker.evaluate.engine import Engine
from tracker.evaluate.structure import is_structural
from tracker.model.changes import Entry, merged
from tracker.model.programme import Programme
from tracker.model.records import Decision, DecisionState, Quantity, Requirement

__all__ = ["ROW_TRUE", "draw_rows", "grown"]

Entries = tuple[Entry, ...]


def _moody(a: Array) -> Mapping[str, Array]:
    """Raise on any row in the mood for it; strange values elsewhere, each in its own row."""
    mood = a.astype(np.int64) % 6
    if (mood == 1).any():
        raise ArithmeticError("not today")
    out = np.where(mood == 2, np.nan, np.where(mood == 5, -0.0 * a, a))
    return {"out": out, "other": np.floor(a / 4)}


ROW_TRUE: Mapping[str, Toy] = {**TOYS, "moody": replace(TOYS["moody"], function=_moody)}
"""The toys, with a moody one that decides row by row, as the contract asks."""


def grown(seed: int, edits: int, shelf: Any = None) -> Engine:  # noqa: ANN401 - a Loader
    """Return an engine whose programme has seen some random edits."""
    engine = Engine(shelf or Shelf(ROW_TRUE), Programme(first_records()))
    choose = Chooser(Seeded(seed), engine)
    for _ in range(edits):
        entries = random_edit(choose)
        if allowed(engine.programme, entries):
            with contextlib.suppress(CycleError):
                engine.advance(entries)
    return engine


def draw_rows(choose: Chooser, count: int) -> list[Entries]:
    """Draw rows of edits that move values only; some rows move several, some nothing."""
    movers: Sequence[Callable[[Chooser], Entries]] = (_set, _set, _set, _band, _lean)
    rows = []
    for _ in range(count):
        moves: list[Entry] = []
        for _ in range(choose.dice.whole(0, 4)):
            moves += choose.dice.pick(movers)(choose)
        entries = _once_each(moves)
        rows.append(tuple(each for each in entries if not is_structural(each)))
    return rows


def _once_each(entries: Sequence[Entry]) -> Entries:
    """Keep the first entry of every record."""
    first: dict[str, Entry] = {}
    for each in entries:
        first.setdefault(each.id, each)
    return merged(first.values())


def _set(choose: Chooser) -> Entries:
    quantity = choose.some(Quantity, lambda each: each.given is not None)
    if quantity is None:
        return ()
    return (Entry(quantity, replace(quantity, given=choose.setting(quantity))),)


def _band(choose: Chooser) -> Entries:
    requirement = choose.some(Requirement, lambda each: not each.allowed)
    if requirement is None:
        return ()
    after = replace(requirement, lower=choose.bound(), upper=choose.bound(), guard=0.25)
    return (Entry(requirement, after),)


def _lean(choose: Chooser) -> Entries:
    decision = choose.some(Decision)
    if decision is None:
        return ()
    option = choose.dice.pick(decision.options)
    after = replace(decision, state=DecisionState.LEANING, chosen=option.id, footing=None)
    return (Entry(decision, after),)
