"""Random programmes and random edits of them, as journal entries.

Every choice is asked of some `Dice`: seeded ones for long runs, drawn ones for Hypothesis. An edit
may be one that a programme refuses; `allowed` filters as a session does.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Protocol, TypeVar

from hypothesis import strategies as st

from tests.property.toy_checks import DEG_C, EUR, GRADES, KELVIN, METRE, MM, TOYS, USD
from tracker.contract.check import Port
from tracker.errors import InputError, StaleChangeError
from tracker.evaluate.engine import Engine
from tracker.evaluate.footing import take_footing
from tracker.model.changes import Entry, inverse, merged
from tracker.model.invariants import check_entries
from tracker.model.programme import Programme
from tracker.model.records import (
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Gate,
    Literal,
    Option,
    ProgrammeInfo,
    Quantity,
    Record,
    Ref,
    Requirement,
    Setting,
)
from tracker.model.units import ONE
from tracker.model.values import AXES, CellKind, Column, Kind

__all__ = ["Dice", "Drawn", "Editor", "Seeded", "allowed", "first_records"]

T = TypeVar("T")
Entries = tuple[Entry, ...]
_MOST = 70  # records; above this, removing is likelier than adding


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


def first_records() -> list[Record]:
    """Return what every programme starts from."""
    return [
        ProgrammeInfo(id="P", key="P", title="Toy", currency="EUR"),
        Decision(id="D", key="D", question="Which?", options=(Option(id="D-a", key="a", title=""),)),
        Gate(id="G", key="G", title="First", date="2031-01-31"),
    ]


_COLUMNS = (
    (Column("name", CellKind.TEXT), Column("amount", CellKind.REAL, METRE)),
    (
        Column("name", CellKind.TEXT),
        Column("amount", CellKind.REAL, MM),
        Column("times", CellKind.INTEGER),
        Column("counted", CellKind.FLAG),
    ),
    (Column("times", CellKind.INTEGER), Column("amount", CellKind.INTEGER)),
)
_UNITS = (ONE, ONE, ONE, ONE, MM, METRE, METRE, EUR, USD, DEG_C, KELVIN)
_CHOICES = (GRADES, GRADES, ("high", "low"), ("low", "other"))
_CELLS = ("[first].amount", "[2].amount", "[1].times", "[third].counted", "[9].amount")


class Editor:
    """Makes edits for the programme of an engine."""

    def __init__(self, dice: Dice, engine: Engine) -> None:
        self.dice = dice
        self.engine = engine
        self.history: list[Entries] = []
        self._count = 0

    def edit(self) -> Entries:
        """Return an edit, possibly empty or one that is not allowed."""
        if self.dice.whole(1, 8) > 1:
            return merged(self._one())
        return merged((*self._one(), *self._one()))

    def _one(self) -> Entries:
        full = len(self.engine.programme) > _MOST
        return self.dice.pick(_SHRINKING if full else _EDITS)(self)

    # -- choosing --------------------------------------------------------------------------------

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
        return f"{kind}{self._count}"

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

    def _row(self, name: str, columns: Sequence[Column]) -> tuple[Any, ...]:
        cells = {
            CellKind.TEXT: lambda: name,
            CellKind.REAL: self.number,
            CellKind.INTEGER: lambda: self.dice.whole(0, 3),
            CellKind.FLAG: lambda: self.chance(60),
        }
        return tuple(cells[column.kind]() for column in columns)

    def setting(self, quantity: Quantity) -> Setting:
        if self.chance(12):
            return Setting(reason=self.dice.pick(("nobody knows", "not measured yet")))
        return Setting(value=self.value(quantity))

    def bound(self) -> Bound | None:
        return Bound(value=self.number()) if self.chance(70) else None

    # -- adding ----------------------------------------------------------------------------------

    def new_quantity(self, kind: Kind | None = None, unit: Any = None) -> Quantity:  # noqa: ANN401 - Unit or None
        each = self.new_id("q")
        kind = kind or self.dice.pick((*Kind, Kind.REAL, Kind.REAL, Kind.REAL))
        units = _UNITS if kind in (Kind.REAL, Kind.POINT) else (ONE,)
        return Quantity(
            id=each,
            key=each,
            title="",
            kind=kind,
            unit=unit or self.dice.pick(units),
            choices=self.dice.pick(_CHOICES) if kind is Kind.CHOICE else (),
            columns=self.dice.pick(_COLUMNS) if kind is Kind.TABLE else (),
        )

    def add_quantity(self) -> Entries:
        quantity = self.new_quantity()
        if self.chance(85):
            quantity = replace(quantity, given=self.setting(quantity))
        return (Entry(None, quantity),)

    def add_decision(self) -> Entries:
        each = self.new_id("d")
        owned = [self.new_quantity() for _ in range(self.dice.whole(0, 2))]
        options = tuple(
            Option(id=f"{each}-{name}", key=name, title="", settings=self._settings(owned))
            for name in ("a", "b", "c")[: self.dice.whole(1, 3)]
        )
        decision = Decision(
            id=each,
            key=each,
            question="Which?",
            options=options,
            owns=tuple(one.id for one in owned),
            serves=self.several(Requirement, 2),
            rests_on=self.several(Decision, 2),
        )
        return (*(Entry(None, one) for one in owned), Entry(None, decision))

    def _settings(self, owned: Sequence[Quantity]) -> dict[str, Setting]:
        return {each.id: self.setting(each) for each in owned if self.chance(85)}

    def add_requirement(self) -> Entries:
        quantity = self.some(Quantity)
        if quantity is None:
            return ()
        each = self.new_id("r")
        requirement = Requirement(
            id=each, key=each, statement="It must", quantity=quantity.id, part=self.part(quantity)
        )
        after = self._banded(requirement, quantity)
        entries: Entries = (Entry(None, after),)
        decision = self.some(Decision)
        if decision is not None and self.chance(60):
            served = replace(decision, serves=(*decision.serves, each))
            entries = (*entries, Entry(decision, served))
        return entries

    def _banded(self, requirement: Requirement, quantity: Quantity) -> Requirement:
        if quantity.kind in (Kind.CHOICE, Kind.FLAG):
            pool = quantity.choices or ("yes", "no")
            return replace(requirement, allowed=(self.dice.pick(pool),))
        lower, upper = self.bound(), self.bound()
        if lower and upper and lower.value > upper.value:
            lower, upper = upper, lower
        return replace(
            requirement,
            lower=lower,
            upper=upper,
            target=self.bound(),
            scale=Bound(value=2.0) if self.chance(50) else None,
            guard=self.dice.pick((0.0, 0.1, 0.5)),
        )

    def part(self, quantity: Quantity) -> str:
        if quantity.kind is Kind.POINT:
            return self.dice.pick(AXES)
        return self.dice.pick(_CELLS) if quantity.kind is Kind.TABLE else ""

    def add_check(self) -> Entries:
        toy, each = TOYS[self.dice.pick(sorted(TOYS))], self.new_id("c")
        made = [
            (out.key, self.new_quantity(out.kind, _unit_of(out)))
            for out in toy.outputs
            if self.chance(75)
        ]
        made = [(key, replace(one, choices=GRADES if one.choices else ())) for key, one in made]
        inputs, literals = self._bindings(toy.inputs)
        decision = self.some(Decision)
        if decision is None:
            return ()
        use = CheckUse(
            id=each,
            key=each,
            title="",
            plugin=toy.key,
            decision=decision.id,
            inputs=inputs,
            literals=literals,
            outputs={key: one.id for key, one in made},
        )
        return (*(Entry(None, one) for _, one in made), Entry(None, use))

    def _bindings(self, ports: Sequence[Port]) -> tuple[dict[str, Ref], dict[str, Literal]]:
        inputs: dict[str, Ref] = {}
        literals: dict[str, Literal] = {}
        for port in ports:
            ref = self._ref(port)
            if port.kind is Kind.REAL and self.chance(12):
                literals[port.key] = Literal(value=self.number())
            elif ref is not None and not (port.optional and self.chance(30)):
                inputs[port.key] = ref
        return inputs, literals

    def _ref(self, port: Port) -> Ref | None:
        fits = [ref for ref in self._refs() if self._fits(ref, port)]
        return self.dice.pick(fits) if fits else None

    def _refs(self) -> Iterator[tuple[Ref, Kind, str]]:
        """Give everything an input can come from, with its kind and its unit's dimension."""
        for each in self.engine.programme.of(Quantity):
            dimension = str(each.unit.dimension)
            yield Ref(id=each.id), each.kind, dimension
            if each.kind is Kind.POINT:
                yield Ref(id=each.id, part=self.dice.pick(AXES)), Kind.REAL, dimension
            if each.kind is Kind.TABLE:
                yield Ref(id=each.id, part=self.dice.pick(_CELLS)), Kind.REAL, "?"
        for one in self.engine.programme.of(Requirement):
            part = self.dice.pick(("lower", "upper", "target", "guard"))
            yield Ref(id=one.id, part=part), Kind.REAL, "?"
