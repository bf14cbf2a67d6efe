"""Random small programmes and what mends them, worked out in plain Python without the engine."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import reduce
from operator import and_
from typing import Any

from tests.property.planted import Trendy
from tests.property.toy_checks import Shelf, Toy, port
from tests.unit.small_world import (
    GATE,
    decision,
    deviation,
    engine_of,
    quantity,
    requirement,
    use,
)
from tracker.evaluate.engine import Engine
from tracker.model.records import DecisionState
from tracker.model.values import Kind

__all__ = ["Small", "draw"]


@dataclass(frozen=True)
class Number:
    """A number that may move, or (`low` None) may not."""

    key: str
    now: float
    low: float | None
    high: float | None

    @property
    def whole(self) -> bool:
        return isinstance(self.now, int)


@dataclass(frozen=True)
class Formula:
    """A value computed from two others."""

    key: str
    inputs: tuple[str, str]
    function: Callable[[Any, Any], Any]
    signs: tuple[int | None, int | None]


@dataclass(frozen=True)
class Small:
    """A small programme.

    Parameters
    ----------
    options : dict of str to float
        What the options of decision `DO` state for `o`.
    bands : dict of str to (lower, upper)
        By the value judged: how far it may go.
    stated : dict of str to (lower, upper)
        What the requirement says, where it says less and a deviation accepts the rest.
    serves : dict of str to list of str
        Decision → values whose bands it serves.
    """

    numbers: list[Number] = field(default_factory=list)
    formulas: list[Formula] = field(default_factory=list)
    options: dict[str, float] = field(default_factory=dict)
    bands: dict[str, tuple[float | None, float | None]] = field(default_factory=dict)
    stated: dict[str, tuple[float | None, float | None]] = field(default_factory=dict)
    serves: dict[str, list[str]] = field(default_factory=dict)

    def now(self) -> dict[str, float]:
        return {each.key: each.now for each in self.numbers}

    def standings(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Tell which decisions stand, for numbers or for whole columns of them."""
        every = dict(values)
        for each in self.formulas:
            every[each.key] = each.function(*(every[name] for name in each.inputs))
        return {
            name: reduce(and_, (_within(every[each], *self.bands[each]) for each in served))
            for name, served in self.serves.items()
        }

    def mends(self, target: str, moves: Mapping[str, Any]) -> Any:  # noqa: ANN401 - bool or column
        """Tell whether moves make a decision stand and break no other."""
        before, after = self.standings(self.now()), self.standings({**self.now(), **moves})
        good = after[target]
        for name, stood in before.items():
            good = good & (after[name] | (not stood))  # columns as well as single verdicts
        return good

    def engine(self) -> Engine:
        toys = {each.key: _toy(each) for each in self.formulas}
        return engine_of(*self._records(), shelf=Shelf(toys))

    def _records(self) -> Iterator[Any]:
        yield GATE
        for name, served in self.serves.items():
            yield decision(name, serves=tuple(f"R{each}" for each in served))
        for each in self.numbers:
            kind = Kind.INTEGER if each.whole else Kind.REAL
            value = None if each.key == "o" else each.now
            yield quantity(each.key, value, kind, low=each.low, high=each.high)
        held = decision("DO", {name: {"o": value} for name, value in self.options.items()})
        yield replace(held, state=DecisionState.LEANING, chosen="DO-a")
        for key, (lower, upper) in self.bands.items():
            yield quantity(key)
            yield requirement(f"R{key}", key, *self.stated.get(key, (lower, upper)))
            if key in self.stated:
                yield deviation(f"V{key}", f"R{key}", lower, upper)
        for made in self.formulas:
            inputs = dict(zip(("a", "b"), made.inputs, strict=True))
            yield use(f"C{made.key}", made.key, inputs, {"out": made.key}, decision="DO")


def _within(value: Any, lower: float | None, upper: float | None) -> Any:  # noqa: ANN401 - bool or column
    above = True if lower is None else value - lower >= 0
    return above & (True if upper is None else upper - value >= 0)


def _toy(formula: Formula) -> Toy:
    signs = {
        ("out", name): sign
        for name, sign in zip(("a", "b"), formula.signs, strict=True)
        if sign is not None
    }
    ports = (port("a"), port("b")), (port("out"),)
    return Trendy(formula.key, *ports, lambda a, b: {"out": formula.function(a, b)}, trends=signs)


def draw(dice: random.Random) -> Small:
    """Draw a programme: two or three numbers, one set by options, up to three formulas."""
    small = Small()
    for number in range(dice.randint(2, 3)):
        small.numbers.append(_number(dice, f"q{number}"))
    free = dice.random() < 0.5
    first = dice.uniform(-3, 3)
    ends = (-4.0, 4.0) if free else (None, None)
    small.numbers.append(Number("o", first, *ends))
    small.options.update({"a": first, "b": dice.uniform(-3, 3), "c": dice.uniform(-3, 3)})
    names = [each.key for each in small.numbers]
    for number in range(dice.randint(1, 3)):
        made = _formula(dice, f"y{number}", names)
        small.formulas.append(made)
        names.append(made.key)
        small.bands[made.key] = lower, upper = _band(dice)
        if dice.random() < 0.3:
            span = 1.0 if lower is None or upper is None else upper - lower
            less = dice.uniform(0, 0.4) * span
            small.stated[made.key] = (
                None if lower is None else lower + less,
                None if upper is None else upper - less,
            )
    judged = list(small.bands)
    for name in ("D", "E"):
        small.serves[name] = dice.sample(judged, dice.randint(1, len(judged)))
    return small


def _number(dice: random.Random, key: str) -> Number:
    if dice.random() < 0.3:
        return Number(key, dice.randint(-5, 5), -5.0, 5.0)
    low = dice.uniform(-4, 0)
    high = low + dice.uniform(1, 6)
    outside = dice.random() < 0.15
    return Number(key, low - 0.5 if outside else dice.uniform(low, high), low, high)


def _formula(dice: random.Random, key: str, names: list[str]) -> Formula:
    a, b, c = (dice.choice((-1, 1)) * dice.uniform(0.2, 2) for _ in range(3))
    inputs = (dice.choice(names), dice.choice(names))
    kinds: tuple[tuple[Callable[[Any, Any], Any], tuple[int | None, int | None]], ...] = (
        (lambda x, z: a * x + b * z, (1 if a > 0 else -1, 1 if b > 0 else -1)),
        (lambda x, z: a * x + b * z, (None, None)),
        (lambda x, z: a * (x - c) * (x - c) + b * z, (None, None)),
        (lambda x, z: a * x * z + c * x, (None, None)),
        (lambda x, z: a * x * x * x + b * x + c * z, (None, None)),
        (lambda x, z: a * (x > c) + b * z, (1 if a > 0 else -1, 1 if b > 0 else -1)),
    )
    return Formula(key, inputs, *dice.choice(kinds))


def _band(dice: random.Random) -> tuple[float | None, float | None]:
    low = dice.uniform(-4, 3)
    width = dice.choice((0.01, 0.3, 2.0, 6.0))
    return dice.choice(((low, low + width), (low, low + width), (low, None), (None, low)))
