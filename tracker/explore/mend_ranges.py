"""What may be moved to mend something, how far, and at what price."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.columns import KNOWN
from tracker.evaluate.engine import Engine
from tracker.explore.assessing import Assessment
from tracker.explore.sources import Source, adjustables
from tracker.model.records import Decision, DecisionState, Requirement

__all__ = ["Mover", "Pricing", "movers"]

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Mover:
    """A number that may be moved on purpose.

    Parameters
    ----------
    source : Source
        What moves.
    low, high : float
        Where to, both closed: an open side of the range is closed as far from the present value as
        the value is large, or as the other end is away.
    """

    source: Source
    low: float
    high: float

    @property
    def width(self) -> float:
        """How far it may move altogether."""
        return self.high - self.low


def movers(engine: Engine) -> list[Mover]:
    """Return what may be moved: ranged numbers that are given or that a leaning decision sets."""
    return [
        mover for source in adjustables(engine) if _free(engine, source) for mover in _mover(source)
    ]


def _free(engine: Engine, source: Source) -> bool:
    """Tell whether its value can be set: what is settled is reopened first."""
    owner = engine.programme.get(engine.graph.owner.get(source.id, ""))
    return not isinstance(owner, Decision) or owner.state is DecisionState.LEANING


def _mover(source: Source) -> Iterator[Mover]:
    now = source.number
    ends = [each for each in (source.low, source.high) if each is not None]
    size = max(abs(now), *(abs(each - now) for each in ends))
    low = now - size if source.low is None else source.low
    high = now + size if source.high is None else source.high
    if isinstance(source.value, int):
        low, high = float(math.ceil(low)), float(math.floor(high))
    if low < high:
        yield Mover(source, low, high)


@dataclass(frozen=True, slots=True)
class Pricing:
    """What a mending costs, as a pure number.

    A move through a whole adjustable range costs 1, and so does another option; a source with a
    price costs that per unit instead. To this comes the money: the largest rise of a judged amount
    of money, as a share of its budget. Amounts that fall earn nothing.

    Parameters
    ----------
    prices : mapping of (str, str) to float
        (record id, part) → cost of a move by one unit.
    """

    prices: Mapping[tuple[str, str], float] = field(default_factory=dict)

    def of_move(self, mover: Mover, to: Reals) -> Reals:
        """Return what moving to some values costs, money aside."""
        source = mover.source
        price = self.prices.get((source.id, source.part), 1.0 / mover.width)
        return np.asarray(price * np.abs(to - source.number))

    def of_money(self, engine: Engine, found: Assessment) -> Reals:
        """Return the largest rise of a budgeted amount in every row, as a share of its budget."""
        worst: Reals = np.zeros(found.count)
        for place, budget in _budgets(engine):
            slot = engine.graph.judges[place].slot
            held = engine.state.slots[slot]
            column = found.column(slot)
            if isinstance(held, np.ndarray):
                after = column.values.astype(np.float64)
                rise = np.where(column.status == KNOWN, after - held[0], 0.0)
                worst = np.maximum(worst, rise / budget)
        return worst


def _budgets(engine: Engine) -> Sequence[tuple[int, float]]:
    """Return the judges that keep an amount of money below a bound, with the bound."""
    found = []
    for place, judge in enumerate(engine.graph.judges):
        record = engine.programme.get(judge.id)
        if isinstance(record, Requirement) and judge.measure.unit.money:
            bound = record.upper
            if bound is not None and bound.value > 0:
                found.append((place, bound.value))
    return found
