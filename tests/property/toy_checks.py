"""Small synthetic checks that do everything a check may do, and some things it may not."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

import numpy as np

from tracker.contract.check import (
    MONEY,
    Absence,
    Array,
    Config,
    Inputs,
    Manifest,
    Outputs,
    Port,
    PortColumn,
    Problem,
    Rule,
    Table,
)
from tracker.errors import BindingError
from tracker.evaluate.plugin import Loaded
from tracker.model.units import ONE, Unit
from tracker.model.values import CellKind, Kind

__all__ = [
    "DEG_C",
    "EUR",
    "GRADES",
    "KELVIN",
    "METRE",
    "MM",
    "TOYS",
    "UNITS",
    "USD",
    "Shelf",
    "Toy",
    "port",
]

_LENGTH = (("length", Fraction(1)),)
_WARMTH = (("temperature", Fraction(1)),)
MM = Unit("mm", _LENGTH, 0.001)
METRE = Unit("m", _LENGTH)
KELVIN = Unit("K", _WARMTH)
DEG_C = Unit("°C", _WARMTH, 1.0, 273.15)
EUR = Unit("EUR", (("money:EUR", Fraction(1)),))
USD = Unit("USD", (("money:USD", Fraction(1)),))
UNITS = {each.text: each for each in (ONE, MM, METRE, KELVIN, DEG_C, EUR, USD)}
GRADES = ("low", "mid", "high")
Results = Mapping[str, Array]


def port(key: str, kind: Kind = Kind.REAL, unit: str = "", **more: Any) -> Port:  # noqa: ANN401 - fields of Port
    """Return a port with the texts filled in."""
    return Port(key=key, title=key, doc=f"the {key}", kind=kind, unit=unit, **more)


@dataclass
class Toy:
    """A check made of a function; it counts how often it is called."""

    key: str
    inputs: tuple[Port, ...]
    outputs: tuple[Port, ...]
    function: Callable[..., Any]
    rules: tuple[Rule, ...] = ()
    version: str = "1"
    calls: int = field(default=0, compare=False)

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key=self.key,
            version=self.version,
            title=self.key,
            purpose="Tries the engine",
            inputs=self.inputs,
            outputs=self.outputs,
            rules=self.rules,
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        self.calls += 1
        made = self.function(**inputs)
        return made if isinstance(made, Outputs) else Outputs(made)


class Shelf:
    """A loader of toys. Takes one off, or puts another version in its place, between engines."""

    def __init__(self, toys: Mapping[str, Toy]) -> None:
        self._toys = dict(toys)
        self._loaded: dict[tuple[str, str], Loaded] = {}

    def load(self, plugin: str, config: Config, currency: str) -> Loaded:
        toy = self._toys.get(plugin)
        if toy is None:
            raise BindingError("no such check is installed", item=plugin)
        if (plugin, currency) not in self._loaded:
            self._loaded[plugin, currency] = _loaded(toy, currency)
        return self._loaded[plugin, currency]

    def without(self, plugin: str) -> Shelf:
        """Return a shelf on which a toy is missing."""
        return Shelf({key: toy for key, toy in self._toys.items() if key != plugin})

    def with_version(self, plugin: str, version: str) -> Shelf:
        """Return a shelf with another version of a toy."""
        return Shelf({**self._toys, plugin: replace(self._toys[plugin], version=version)})


def _loaded(toy: Toy, currency: str) -> Loaded:
    manifest = toy.manifest({})
    units = {}
    for each in (*manifest.inputs, *manifest.outputs):
        units[each.key] = UNITS[each.unit.replace(MONEY, currency)]
        for column in each.columns:
            units[f"{each.key}.{column.name}"] = UNITS[column.unit]
    return Loaded(
        check=toy,
        config={},
        manifest=manifest,
        inputs={each.key: each for each in manifest.inputs},
        outputs={each.key: each for each in manifest.outputs},
        units=units,
    )


def _add(a: Array, b: Array | None = None) -> Results:
    return {"out": a if b is None else a + b}


def _halve(a: Array) -> Outputs:
    problems = [Problem(a < 0, "a is negative")] if (a < 0).any() else []
    return Outputs({"out": a / 2}, problems)


def _pick(grade: Array, a: Array) -> Results:
    return {"out": np.array([1.0, 2.0, -1.0])[grade] * a}


def _grade(a: Array) -> Results:
    return {"grade": np.clip(np.floor(a), 0, 2).astype(np.int64), "good": a > 0}


def _count(n: Array, m: Array) -> Results:
    return {"out": n * m, "whole": n + m}


def _norm(p: Array) -> Results:
    return {"out": np.abs(p).max(axis=-1)}


def _move(p: Array, d: Array) -> Results:
    return {"out": p + d[:, np.newaxis] * np.array([1.0, 0.0, 0.0])}


def _total(t: Table, on: Array) -> Results:
    amounts = t.reals("amount") * t.reals("times")
    return {"out": np.where(on, np.array([amounts[t.flags("counted")].sum()]), 0.0)}


def _inverse(a: Array) -> Outputs:
    zero = a == 0
    absences = [Absence("inverse", zero, "a is zero")] if zero.any() else []
    return Outputs({"inverse": 1 / a, "twice": 2 * a}, absences=absences)


def _moody(a: Array) -> Results:
    mood = int(a[0]) % 6
    if mood == 1:
        raise ArithmeticError("not today")
    strange = {2: np.array([np.nan]), 3: np.array([1.0, 2.0]), 4: np.array([1]), 5: -0.0 * a}
    return {"out": strange.get(mood, a), "other": np.floor(a / 4)}


def _partly(a: Array) -> Outputs:
    odd = a % 2 == 1
    return Outputs({"one": a, "two": a + 1}, [Problem(odd, "a is odd", ("two",))])


def _price(a: Array, rate: Array) -> Results:
    return {"out": a * rate}


_TABLE = (
    PortColumn("name", "row", CellKind.TEXT),
    PortColumn("amount", "amount", CellKind.REAL, "m"),
    PortColumn("times", "times", CellKind.INTEGER, default=1),
    PortColumn("counted", "counted", CellKind.FLAG, default=True),
)
_OUT = (port("out"),)


def _rule(output: str, **limits: Any) -> Rule:  # noqa: ANN401 - fields of Rule
    return Rule(output=output, reason="it must", source="common practice, no source", **limits)


TOYS: Mapping[str, Toy] = {
    each.key: each
    for each in (
        Toy("add", (port("a"), port("b", optional=True)), _OUT, _add),
        Toy("add-mm", (port("a", unit="mm"), port("b", unit="m")), (port("out", unit="m"),), _add),
        Toy("halve", (port("a"),), _OUT, _halve, (_rule("out", lower=0.5),)),
        Toy("step", (port("a"),), _OUT, lambda a: {"out": np.where(a > 1, 2.0, 1.0)}),
        Toy("pick", (port("grade", Kind.CHOICE, choices=GRADES), port("a")), _OUT, _pick),
        Toy(
            "grade",
            (port("a", optional=True, default=1.0),),
            (port("grade", Kind.CHOICE, choices=GRADES), port("good", Kind.FLAG)),
            _grade,
            (_rule("grade", allowed=("mid", "high")), _rule("good", allowed=("yes",))),
        ),
        Toy(
            "count",
            (port("n", Kind.INTEGER), port("m", Kind.INTEGER)),
            (port("out", Kind.INTEGER), port("whole", Kind.INTEGER)),
            _count,
            (_rule("whole", lower=-1, scale=2.0), _rule("whole", upper=9, guard=0.2)),
        ),
        Toy("norm", (port("p", Kind.POINT, "m"),), (port("out", unit="mm"),), _norm),
        Toy(
            "move",
            (port("p", Kind.POINT, "m"), port("d", unit="m")),
            (port("out", Kind.POINT, "m"),),
            _move,
        ),
        Toy(
            "total",
            (port("t", Kind.TABLE, columns=_TABLE), port("on", Kind.FLAG)),
            (port("out", unit="m"),),
            _total,
        ),
        Toy(
            "inverse",
            (port("a"),),
            (port("inverse", optional=True), port("twice")),
            _inverse,
            (_rule("inverse", lower=0.5, guard=0.1),),
        ),
        Toy("moody", (port("a"),), (port("out"), port("other")), _moody),
        Toy("partly", (port("a"),), (port("one"), port("two")), _partly),
        Toy("price", (port("a"), port("rate", unit="money")), (port("out", unit="money"),), _price),
    )
}
