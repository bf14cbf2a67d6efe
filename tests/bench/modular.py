"""Large programmes from a seed: modules of checks that read each other a little, and a dense one.

A module is one decision with its given quantities, its checks in levels and requirements on what
the last level gives. A check reads one or two values of the level above. A share of all inputs
reads from a check of an earlier module instead.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tests.bench.programmes import Shelf
from tracker.contract.check import Check, Config, Inputs, Manifest, Outputs, Port
from tracker.evaluate.engine import Engine
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import (
    Bound,
    CheckUse,
    Decision,
    Quantity,
    Record,
    Ref,
    Requirement,
    Setting,
)
from tracker.model.values import Kind

__all__ = ["DENSE", "SEED", "Modules", "dense", "given_to", "shelf"]

SEED = 20_261
GIVENS = 20
LEVELS = 5
JUDGED = 10
DENSE = 10
"""Checks of the dense programme: how far back in the order a check reads."""


class Mixed:
    """A trivial check: a mean of its inputs, weighted, and a little more."""

    def __init__(self, ports: str) -> None:
        self._ports = ports

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key=f"mixed-{self._ports}",
            version="1",
            title="Mixed",
            purpose="Costs next to nothing.",
            inputs=tuple(Port(key=each, title=each, doc=each) for each in self._ports),
            outputs=(Port(key="out", title="out", doc="out"),),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        out = 0.5 * inputs["a"] + 1.0
        if "b" in inputs:
            out = out + 0.5 * inputs["b"]
        return Outputs({"out": out})


def shelf() -> Shelf:
    """Return the checks these programmes use."""
    checks: dict[str, Check] = {f"mixed-{ports}": Mixed(ports) for ports in ("a", "ab")}
    return Shelf(checks)


@dataclass(frozen=True)
class Modules:
    """A programme of modules.

    Parameters
    ----------
    modules : int
        How many.
    checks : int
        In each, a multiple of the number of levels.
    cross : float
        Share of all inputs that read from an earlier module.
    seed : int
        The first modules do not depend on how many follow.
    """

    modules: int
    checks: int = 100
    cross: float = 0.02
    seed: int = SEED

    @property
    def nodes(self) -> int:
        """Checks in all."""
        return self.modules * self.checks

    def programme(self) -> Programme:
        """Build it."""
        return Programme(self.records())

    def records(self) -> Iterator[Record]:
        """Iterate over its records, module by module."""
        dice = random.Random(self.seed)
        earlier: list[str] = []
        for module in range(self.modules):
            made = list(self._module(dice, module, earlier))
            earlier += [each.id for each in made if isinstance(each, Quantity) and not each.given]
            yield from made

    def givens(self) -> Iterator[str]:
        """Iterate over the ids of the given quantities."""
        for module in range(self.modules):
            yield from (f"g{module}-{place}" for place in range(GIVENS))

    def _module(self, dice: random.Random, module: int, earlier: Sequence[str]) -> Iterator[Record]:
        above = [f"g{module}-{place}" for place in range(GIVENS)]
        yield from (_given(each, dice.random()) for each in above)
        width = self.checks // LEVELS
        for level in range(LEVELS):
            out = [f"q{module}-{level * width + place}" for place in range(width)]
            for each in out:
                sources = [self._source(dice, above, earlier) for _ in range(dice.randint(1, 2))]
                yield from _check(each, sources, f"d{module}")
            above = out
        judged = above[:JUDGED]
        yield from (_requirement(each) for each in judged)
        serves = tuple(f"r{each}" for each in judged)
        yield Decision(id=f"d{module}", key=f"d{module}", question="?", serves=serves)

    def _source(self, dice: random.Random, above: Sequence[str], earlier: Sequence[str]) -> str:
        crosses = dice.random() < self.cross
        return dice.choice(earlier if crosses and earlier else above)


def dense(checks: int, seed: int = SEED) -> Programme:
    """Build a programme in which nearly all is downstream of the quantity `g0`.

    Every check reads two different values out of the few before it.
    """
    return Programme(_dense(checks, random.Random(seed)))


def _dense(checks: int, dice: random.Random) -> Iterator[Record]:
    before = [f"g{place}" for place in range(DENSE)]
    yield from (_given(each, dice.random()) for each in before)
    yield Decision(id="d", key="d", question="?")
    for number in range(checks):
        out = f"q{number}"
        sources = ["g0" if number < DENSE else before[-1], dice.choice(before[:-1])]
        yield from _check(out, sources, "d")
        before = [*before[1:], out]


def _given(key: str, value: float) -> Quantity:
    setting = Setting(value=value, typed=repr(value))
    return Quantity(id=key, key=key, title="", kind=Kind.REAL, given=setting)


def _check(out: str, sources: Sequence[str], decision: str) -> Iterator[Record]:
    ports = "ab"[: len(sources)]
    yield Quantity(id=out, key=out, title="", kind=Kind.REAL)
    yield CheckUse(
        id=f"c{out}",
        key=f"c{out}",
        title="",
        plugin=f"mixed-{ports}",
        decision=decision,
        inputs={port: Ref(id=each) for port, each in zip(ports, sources, strict=True)},
        outputs={"out": out},
    )


def _requirement(judged: str) -> Requirement:
    key = f"r{judged}"
    upper = Bound(value=3.0, typed="3.0")
    return Requirement(id=key, key=key, statement="It stays low", quantity=judged, upper=upper)


def given_to(engine: Engine, quantity: str, value: float) -> Entry:
    """Return the entry that gives a quantity another value."""
    before = engine.programme.at(quantity, Quantity)
    return Entry(before, replace(before, given=Setting(value=value, typed=repr(value))))
