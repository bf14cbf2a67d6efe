"""Cases whose flip points are known beforehand, all in one programme.

Every case is one quantity, one check, one requirement and one decision. The flips follow from the
formula by hand; the random draws are seeded.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.property.toy_checks import Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.contract.check import Array, Config, Outputs, Problem
from tracker.evaluate.engine import Engine

__all__ = ["Case", "Trendy", "engine_with", "planted"]

Function = Callable[[Array], Any]


@dataclass
class Trendy(Toy):
    """A toy that declares trends: (output, input) → sign."""

    trends: Mapping[tuple[str, str], int] = field(default_factory=dict)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002 - the contract's
        return self.trends.get((output, input))


@dataclass(frozen=True)
class Case:
    """A planted case.

    Parameters
    ----------
    low, high : float or None
        Known flips on both sides of the present value; None where nothing breaks.
    range : tuple of float
        Where it may move.
    scale : float
        Size of the quantity.
    trend : int or None
        Declared sign; None leaves it to sampling.
    within : float
        How close the flip must be found, as a share of the scale.
    """

    name: str
    function: Function
    now: float
    lower: float | None
    upper: float | None
    low: float | None
    high: float | None
    range: tuple[float, float]
    scale: float
    trend: int | None = None
    within: float = 1e-9


def _linear(dice: random.Random, number: int) -> Case:
    scale, slope = 10 ** dice.uniform(-6, 6), dice.choice((-1, 1)) * 10 ** dice.uniform(-3, 3)
    low, high = -dice.uniform(0.1, 0.9) * scale, dice.uniform(0.1, 0.9) * scale
    lower, upper = sorted((slope * low, slope * high))
    trend = (1 if slope > 0 else -1) if number % 2 else None
    return Case(
        "linear",
        lambda x: slope * x,
        0.01 * scale,
        lower,
        upper,
        low,
        high,
        (-scale, scale),
        scale,
        trend,
    )


def _quadratic(dice: random.Random, number: int) -> Case:
    scale = 10 ** dice.uniform(-4, 4)
    a, r = dice.uniform(-0.4, 0.4) * scale, dice.uniform(0.05, 0.5) * scale

    def function(x: Array) -> Array:
        return x * x - 2 * a * x if number % 2 else (x - a) ** 2 - a * a

    return Case(
        "quadratic",
        function,
        a + 0.3 * r,
        None,
        r * r - a * a,
        a - r,
        a + r,
        (-scale, scale),
        scale,
    )


def _trigonometric(dice: random.Random, number: int) -> Case:
    k, s = 10 ** dice.uniform(-3, 3), dice.uniform(0.1, 0.9)
    low, high = math.asin(s) / k, (math.pi - math.asin(s)) / k
    reach = math.pi / k
    return Case(
        "trigonometric",
        lambda x: np.sin(k * x),
        dice.uniform(low, high),
        s,
        None,
        low,
        high,
        (0.0, reach * (1 + number % 3)),  # further humps, where it stands again
        reach,
    )


def _step(dice: random.Random, number: int) -> Case:
    width, n = 10 ** dice.uniform(-3, 3), dice.randint(3, 20)
    declared = 1 if number % 2 else None
    return Case(
        "step",
        lambda x: np.floor(x / width),
        (n + dice.uniform(0.1, 0.9)) * width,
        n - 1.0,
        n + 1.0,
        (n - 1) * width,
        (n + 2) * width,
        (0.0, 30 * width),
        30 * width,
        declared,
    )


def _double_root(dice: random.Random, number: int) -> Case:
    scale = 10 ** dice.uniform(-3, 3)
    a, depth = dice.uniform(-0.5, 0.5) * scale, 10 ** dice.uniform(-13, -4) * scale**2
    right = dice.random() < 0.5
    now = a + (0.4 if right else -0.4) * scale
    flip = a + (1 if right else -1) * math.sqrt(depth)
    if number % 5 == 0:  # nothing stands but the very root
        return Case(
            "double root",
            lambda x: -((x - a) ** 2),
            a,
            0.0,
            None,
            a,
            a,
            (-scale, scale),
            scale,
            within=1e-7,
        )
    return Case(
        "double root",
        lambda x: (x - a) ** 2 - depth,
        now,
        0.0,
        None,
        flip if right else None,
        None if right else flip,
        (-scale, scale),
        scale,
        within=1e-7,
    )


def _two_intervals(dice: random.Random, number: int) -> Case:
    scale = 10 ** dice.uniform(-3, 3)
    ends = sorted(dice.uniform(-0.9, 0.9) for _ in range(4))
    while min(b - a for a, b in itertools.pairwise(ends)) < 0.06:
        ends = sorted(dice.uniform(-0.9, 0.9) for _ in range(4))
    a, b, c, d = (each * scale for each in ends)
    first = number % 2 == 0
    now = (a + b) / 2 if first else (c + d) / 2

    def function(x: Array) -> Array:
        return (x - a) * (x - b) * (x - c) * (x - d) / scale**4

    low, high = (a, b) if first else (c, d)
    return Case("two intervals", function, now, None, 0.0, low, high, (-scale, scale), scale)


def _no_value(dice: random.Random, number: int) -> Case:
    """Give a root that ends where its argument turns negative, or a value that ends at a pole."""
    scale = 10 ** dice.uniform(-3, 3)
    a = dice.uniform(-0.8, -0.1) * scale

    def root(x: Array) -> Outputs:
        return Outputs({"out": np.sqrt(x - a)}, [Problem(x < a, "the root of a negative number")])

    def hole(x: Array) -> Outputs:
        inside = (x > a - 0.1 * scale) & (x < a)
        return Outputs({"out": x * 0 + 1}, [Problem(inside, "no answer here")])

    return Case(
        "no value",
        root if number % 2 else hole,
        0.0,
        None,
        9.0 * math.sqrt(scale) + 9,
        a,
        None,
        (-scale, scale),
        scale,
    )


def _flat(dice: random.Random, number: int) -> Case:
    a = dice.uniform(-1, 1)
    return Case("flat", lambda x: x * 0 + a, 0.3, None, a, None, None, (-1.0, 1.0), 1.0)


def _wavy(dice: random.Random, number: int) -> Case:
    """Give a cubic that turns twice inside its range: x³ − x against a bound above its hump."""
    bound = dice.uniform(0.4, 2.0)  # the hump at −1/√3 is 0.385 high
    roots = np.roots([1.0, 0.0, -1.0, -bound])
    high = float(roots[np.isreal(roots)].real[0])
    return Case("wavy", lambda x: x**3 - x, 0.0, None, bound, None, high, (-2.0, 2.0), 2.0)


_MAKERS: tuple[tuple[Callable[[random.Random, int], Case], int], ...] = (
    (_linear, 60),
    (_quadratic, 60),
    (_trigonometric, 60),
    (_step, 60),
    (_double_root, 60),
    (_two_intervals, 60),
    (_no_value, 20),
    (_flat, 5),
    (_wavy, 15),
)


def planted(seed: int = 20_310_501) -> list[Case]:
    """Return the corpus."""
    dice = random.Random(seed)
    return [maker(dice, number) for maker, count in _MAKERS for number in range(count)]


def engine_with(cases: list[Case]) -> Engine:
    """Return one programme with all the cases; the quantities are q0, q1 …."""
    toys: dict[str, Toy] = {}
    records: list[Any] = []
    for number, case in enumerate(cases):
        records += _records(number, case)
        toys[f"t{number}"] = _toy(number, case)
    return engine_of(*records, shelf=Shelf(toys))


def _toy(number: int, case: Case) -> Toy:
    def function(x: Array) -> Any:  # noqa: ANN401 - Outputs or values
        made = case.function(x)
        return made if isinstance(made, Outputs) else {"out": made}

    trends = {} if case.trend is None else {("out", "x"): case.trend}
    return Trendy(f"t{number}", (port("x"),), (port("out"),), function, trends=trends)


def _records(number: int, case: Case) -> Iterator[Any]:
    low, high = case.range
    yield decision(f"D{number}", serves=(f"R{number}",))
    yield quantity(f"q{number}", case.now, low=low, high=high)
    yield quantity(f"y{number}")
    yield requirement(f"R{number}", f"y{number}", case.lower, case.upper)
    inputs, outputs = {"x": f"q{number}"}, {"out": f"y{number}"}
    yield use(f"C{number}", f"t{number}", inputs, outputs, decision=f"D{number}")
