"""The best combinations: by the least margin of all requirements, or by a quantity."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from tracker.errors import BadValueError
from tracker.evaluate.columns import KNOWN
from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.slots import axis_of
from tracker.explore.option_scopes import Web
from tracker.explore.option_tables import Codes, Table, assessed
from tracker.explore.option_walk import Walk, Walker
from tracker.model.records import Quantity
from tracker.model.values import AXES, Kind

__all__ = ["OptionSet", "Target", "best_by_margin", "best_by_value", "refuse_no_number"]

Combination = dict[int, int]
"""Decision → option, by number."""
_BATCH = 16_384


@dataclass(frozen=True, slots=True)
class Target:
    """A number to make small or large.

    Parameters
    ----------
    quantity, part : str
        Quantity id; a component of a point, else empty.
    largest : bool
        Whether more of it is better.
    """

    quantity: str
    part: str = ""
    largest: bool = False


@dataclass(frozen=True, slots=True)
class OptionSet:
    """A combination that meets every requirement.

    Parameters
    ----------
    options : tuple of int
        Option of every decision.
    margin : float
        Least margin; infinite where nothing is measured.
    closest : int or None
        Position in the graph's judges of the requirement with that margin.
    value : float or None
        What was to be small or large; None where it is unknown, or not asked.
    """

    options: tuple[int, ...]
    margin: float
    closest: int | None
    value: float | None = None


def refuse_no_number(engine: Engine, target: Target) -> None:
    """Refuse a target that is no number.

    Raises
    ------
    BadValueError
        It is a choice, a flag, a table, or a point as a whole.
    """
    quantity = engine.programme.at(target.quantity, Quantity)
    numbers = (Kind.REAL, Kind.INTEGER) if not target.part else (Kind.POINT,)
    if quantity.kind not in numbers or (target.part and target.part not in AXES):
        raise BadValueError(
            "it is no number to make small or large",
            item=quantity.key,
            field=target.part,
            remedy="Name a real or integer quantity, or a component KEY.x of a point",
        )


def best_by_margin(walker: Walker, order: Sequence[int], most: int) -> list[OptionSet]:
    """Return the combinations with the largest least margin.

    Parameters
    ----------
    order : sequence of int
        All decisions, as they are to be taken.

    Raises
    ------
    BadValueError
        The limit is exceeded.
    CancelledError
        It was stopped.
    """

    def walk(least: float) -> Walk:
        return walker.above(least).walk(order, "the best combinations")

    every = walk(-np.inf)
    wanted = min(most, every.count)
    margins = [each.margin[each.fits] for each in walker.tables]
    levels = np.unique(np.concatenate([np.array([-np.inf]), *margins]))
    first, last = 0, len(levels)  # at the first level there are enough, at the last too few
    while last - first > 1:
        middle = (first + last) // 2
        enough = walk(float(levels[middle])).count >= wanted
        first, last = (middle, last) if enough else (first, middle)
    above = list(_listed(walk(float(levels[last])))) if last < len(levels) else []
    found = [_found(each, walker.tables) for each in above]
    taken = {each.options for each in found}
    for each in _listed(walk(float(levels[first]))):
        if len(found) >= wanted:
            break
        one = _found(each, walker.tables)
        if one.options not in taken:
            found.append(one)
    return sorted(found, key=lambda each: (-each.margin, each.options))


def _listed(walk: Walk) -> Iterator[Combination]:
    return (each for _, each in walk.combinations(range(len(walk.ends))))


def best_by_value(
    engine: Engine,
    web: Web,
    walker: Walker,
    order: Sequence[int],
    target: Target,
    most: int,
    cancel: Cancel | None = None,
) -> tuple[list[OptionSet], int]:
    """Return the combinations that make a number smallest or largest, and the rows it took.

    Raises
    ------
    BadValueError
        The limit is exceeded: the number depends on too many decisions.
    CancelledError
        It was stopped.
    """
    scope = web.quantities.get(target.quantity, frozenset())
    key = engine.programme.at(target.quantity, Quantity).key
    what = f"{key} depends on {web.names(sorted(scope))}"
    walk = walker.walk(order, what, keep=scope)
    values = _values(engine, web, target, walk, cancel)
    ends = np.argsort(-values if target.largest else values, kind="stable")  # unknown comes last
    listed = walk.combinations(ends.tolist())
    found = [
        _found(each, walker.tables, None if np.isnan(values[end]) else float(values[end]))
        for end, each in islice(listed, most)
    ]
    return found, len(walk.ends)


def _values(
    engine: Engine, web: Web, target: Target, walk: Walk, cancel: Cancel | None
) -> NDArray[np.float64]:
    """Return the number at every end of a walk; NaN where it is unknown."""
    slot = engine.graph.index[target.quantity, ""]
    decisions = [web.decisions[each] for each in walk.kept]
    found = [np.zeros(0)]
    for first in range(0, len(walk.ends), _BATCH):
        batch: Codes = walk.ends[first : first + _BATCH]
        column = assessed(engine, decisions, batch, cancel).column(slot)
        if (column.status != KNOWN).all():
            found.append(np.full(len(batch), np.nan))
            continue
        held = column.values[:, axis_of(target.part)] if target.part else column.values
        found.append(np.where(column.status == KNOWN, held.astype(np.float64), np.nan))
    return np.concatenate(found)


def _found(each: Combination, tables: Sequence[Table], value: float | None = None) -> OptionSet:
    margin, closest = np.inf, None
    for table in tables:
        place = int(table.places(np.array([[each[one] for one in table.scope]]))[0])
        if table.margin[place] < margin:
            margin, closest = float(table.margin[place]), int(table.closest[place])
    options = tuple(option for _, option in sorted(each.items()))
    return OptionSet(options, float(margin), closest, value)
