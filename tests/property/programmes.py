"""What random programmes are made of: dice, values, and which edits are let through.

Every choice is asked of some `Dice`: seeded ones for long runs, drawn ones for Hypothesis. An edit
may be one that a programme refuses; `allowed` filters as a session does.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeVar

from hypothesis import strategies as st

from tracker.errors import CycleError, InputError, StaleChangeError
from tracker.evaluate.engine import Engine
from tracker.model.changes import Entry
from tracker.model.invariants import check_entries
from tracker.model.programme import Programme
from tracker.model.records import (
    Bound,
    CheckUse,
    Decision,
    Gate,
    Option,
    ProgrammeInfo,
    Quantity,
    Record,
    Setting,
)
from tracker.model.values import AXES, CellKind, Column, Kind

__all__ = ["Chooser", "Dice", "Drawn", "Seeded", "allowed", "binds_badly", "first_records"]

T = TypeVar("T")


class Dice(Protocol):
    """Where every random choice comes from."""

    def whole(self, low: int, high: int) -> int: ...

    def pick(self, things: Sequence[T]) -> T: ...


class Seeded:
    """Dice that repeat for a seed."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def whole(self, low: int, high: int) -> int:
        return self._random.randint(low, high)

    def pick(self, things: Sequence[T]) -> T:
        return self._random.choice(things)


class Drawn:
    """Dice that Hypothesis shrinks."""

    def __init__(self, draw: Callable[[st.SearchStrategy[int]], int]) -> None:
        self._draw = draw

    def whole(self, low: int, high: int) -> int:
        return self._draw(st.integers(low, high))

    def pick(self, things: Sequence[T]) -> T:
        return things[self.whole(0, len(things) - 1)]


def allowed(programme: Programme, entries: Sequence[Entry]) -> bool:
    """Tell whether a session would let entries through to the engine."""
    try:
        programme.apply(entries)
    except StaleChangeError:
        return False
    try:
        check_entries(programme, entries)
    except InputError:
        return False
    finally:
        programme.take_back(entries)
    return bool(entries)


def binds_badly(engine: Engine, entries: Sequence[Entry]) -> bool:
    """Tell whether entries put a check with a binding that does not hold: sessions refuse it."""
    if not any(isinstance(each.after, CheckUse) for each in entries):
        return False
    try:
        with engine.trial(entries):
            graph = engine.graph
            put = (each.id for each in entries if isinstance(each.after, CheckUse))
            return any(graph.nodes[graph.position[each]].fault is not None for each in put)
    except CycleError:
        return False


def first_records() -> list[Record]:
    """Return what every programme starts from."""
    return [
        ProgrammeInfo(id="P", key="P", title="Toy", currency="EUR"),
        Decision(
            id="D", key="D", question="Which?", options=(Option(id="D-a", key="a", title=""),)
        ),
        Gate(id="G", key="G", title="First", date="2031-01-31"),
        Gate(id="H", key="H", title="Last", date="2033-01-31"),
    ]


class Chooser:
    """Chooses among what the programme of an engine holds, and values to put into it.

    Parameters
    ----------
    first : str
        What new ids begin with, where another chooser has named records before.
    """

    def __init__(self, dice: Dice, engine: Engine, first: str = "") -> None:
        self.dice = dice
        self.engine = engine
        self._first = first
        self.history: list[tuple[Entry, ...]] = []
        self._count = 0

    def some(self, cls: type[Any], wanted: Callable[[Any], bool] = lambda _: True) -> Any | None:  # noqa: ANN401 - a record of that type
        """Return some record of a type, or None."""
        found = [each for each in self.engine.programme.of(cls) if wanted(each)]
        return self.dice.pick(found) if found else None

    def several(self, cls: type[Any], most: int) -> tuple[str, ...]:
        """Return the ids of a few records of a type."""
        ids = [each.id for each in self.engine.programme.of(cls)]
        count = min(self.dice.whole(0, most), len(ids))
        return tuple(dict.fromkeys(self.dice.pick(ids) for _ in range(count)))

    def new_id(self, kind: str) -> str:
        self._count += 1
        return f"{self._first}{kind}{self._count}"

    def chance(self, percent: int) -> bool:
        return self.dice.whole(1, 100) <= percent

    def number(self) -> float:
        return self.dice.pick((-2.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.25, 1e3))

    def value(self, quantity: Quantity) -> Any:  # noqa: ANN401 - a Value of its kind
        """Return a value of a quantity's kind."""
        match quantity.kind:
            case Kind.REAL:
                return self.number()
            case Kind.INTEGER:
                return self.dice.whole(-2, 4)
            case Kind.FLAG:
                return self.chance(50)
            case Kind.CHOICE:
                return self.dice.pick(quantity.choices)
            case Kind.POINT:
                return tuple(self.dice.pick((0.0, 1.0, 2.5)) for _ in AXES)
            case Kind.TABLE:
                names = ("first", "second", "third")[: self.dice.whole(0, 3)]
                return tuple(self._row(name, quantity.columns) for name in names)

    def _row(self, name: str, columns: Sequence[Column]) -> tuple[object, ...]:
        cells: dict[CellKind, Callable[[], object]] = {
            CellKind.TEXT: lambda: name,
            CellKind.REAL: self.number,
            CellKind.INTEGER: lambda: self.dice.whole(0, 3),
            CellKind.FLAG: lambda: self.chance(60),
        }
        return tuple(cells[column.kind]() for column in columns)

    def setting(self, quantity: Quantity) -> Setting:
        if self.chance(6):
            return Setting(reason=self.dice.pick(("nobody knows", "not measured yet")))
        return Setting(value=self.value(quantity))

    def bound(self) -> Bound | None:
        return Bound(value=self.number()) if self.chance(70) else None
