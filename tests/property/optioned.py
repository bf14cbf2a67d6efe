"""Random programmes full of open decisions, and every combination of their options one by one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import networkx as nx

from tests.property.programmes import Seeded
from tests.property.sweeping import ROW_TRUE
from tests.property.toy_checks import GRADES, METRE, Shelf
from tests.unit.small_world import GATE, INFO, decision, deviation, quantity, requirement, use
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Absent, Unknown
from tracker.evaluate.standing import Finding
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, DecisionState, Quantity, Record, Requirement
from tracker.model.values import Kind

__all__ = ["Tried", "brute_force", "optioned", "reaches"]

_NUMBERS = (-2.0, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0)
_STATES = (
    *[DecisionState.OPEN] * 16,
    *[DecisionState.LEANING] * 4,
    *[DecisionState.SETTLED] * 2,
    DecisionState.WITHDRAWN,
)
_SHAPES = (*["add"] * 16, *["step", "pick"] * 2, "halve", "grade", "inverse", "moody", "norm")


class _Maker:
    """Makes the records of one programme."""

    def __init__(self, seed: int) -> None:
        self._dice = Seeded(seed)
        self.records: list[Record] = []
        self._reals = ["given"]
        self._grades: list[str] = []
        self._points: list[str] = []
        self._decisions: list[str] = []

    def make(self) -> list[Record]:
        self.records.append(quantity("given", 1.0))
        for number in range(self._dice.whole(1, 5)):
            self._decide(f"D{number}")
        for number in range(self._dice.whole(2, 7)):
            self._check(f"C{number}")
        for number in range(self._dice.whole(2, 6)):
            self._require(f"R{number}")
        for number in range(self._dice.whole(0, 4)):
            self._join(f"J{number}")
        return self.records

    def _decide(self, key: str) -> None:
        owned = [self._owned(f"{key}q{place}") for place in range(self._dice.pick((0, 1, 1, 1, 2)))]
        names = "abc"[: self._dice.whole(1, 3)]
        options = {name: {each.key: self._value(each) for each in owned} for name in names}
        made = replace(decision(key, options), owns=tuple(each.id for each in owned))
        state = self._dice.pick(_STATES)
        if state in (DecisionState.LEANING, DecisionState.SETTLED):
            made = replace(made, chosen=self._dice.pick(made.options).id)
        self.records.append(replace(made, state=state))
        self._decisions.append(key)

    def _owned(self, key: str) -> Quantity:
        kind = self._dice.pick((*[Kind.REAL] * 8, Kind.CHOICE, Kind.POINT))
        made = quantity(key, kind=kind)
        if kind is Kind.REAL:
            self._reals.append(key)
        elif kind is Kind.CHOICE:
            made = replace(made, choices=GRADES)
            self._grades.append(key)
        else:
            made = replace(made, unit=METRE)
            self._points.append(key)
        self.records.append(made)
        return made

    def _value(self, made: Quantity) -> Any:  # noqa: ANN401 - a Value of its kind
        if self._dice.whole(1, 60) == 1:
            return None
        if made.kind is Kind.CHOICE:
            return self._dice.pick(GRADES)
        if made.kind is Kind.POINT:
            return (self._dice.pick(_NUMBERS), self._dice.pick(_NUMBERS), 0.0)
        return self._dice.pick(_NUMBERS)

    def _check(self, key: str) -> None:
        shape = self._dice.pick(_SHAPES)
        real = self._dice.pick(self._reals)
        inputs = {"a": real}
        if shape == "add" and self._dice.whole(1, 4) > 1:
            inputs["b"] = self._dice.pick(self._reals[-6:])
        if shape == "pick":
            if not self._grades:
                return
            inputs["grade"] = self._dice.pick(self._grades)
        if shape == "norm":
            if not self._points:
                return
            inputs = {"p": self._dice.pick(self._points)}
        outputs = {
            each.key: f"{key}{each.key}" for each in ROW_TRUE[shape].outputs if each.key != "good"
        }
        for port, name in outputs.items():
            self._output(port, name)
        plugin = "missing" if self._dice.whole(1, 80) == 1 else shape
        carrier = self._dice.pick(self._decisions)
        self.records.append(use(key, plugin, inputs, outputs, decision=carrier))

    def _join(self, key: str) -> None:
        """Have two values share a requirement."""
        inputs = {"a": self._dice.pick(self._reals[1:] or self._reals)}
        inputs["b"] = self._dice.pick(self._reals[1:] or self._reals)
        out, carrier = f"{key}out", self._dice.pick(self._decisions)
        self.records += [
            quantity(out),
            use(key, "add", inputs, {"out": out}, decision=carrier),
            requirement(f"{key}R", out, self._dice.pick((None, -2.0, 1.0)), 6.0),
        ]

    def _output(self, port: str, name: str) -> None:
        if port == "grade":
            self.records.append(quantity(name, kind=Kind.CHOICE, choices=GRADES))
            self._grades.append(name)
        else:
            self.records.append(quantity(name))
            self._reals.append(name)

    def _require(self, key: str) -> None:
        if self._points and self._dice.whole(1, 6) == 1:
            judged = f"{self._dice.pick(self._points)}|x"
            self.records.append(requirement(key, judged, lower=0.5, guard=0.25))
        elif self._grades and self._dice.whole(1, 4) == 1:
            judged = self._dice.pick(self._grades)
            self.records.append(requirement(key, judged, allowed=("low", "mid")))
        else:
            low = self._dice.pick((None, -3.0, 0.5, 1.0))
            high = self._dice.pick((None, 4.0, 5.0, 8.0))
            high = 4.0 if low is None and high is None else high
            judged = self._dice.pick(self._reals[-4:])  # mostly what the checks give
            self.records.append(requirement(key, judged, low, high))
        if self._dice.whole(1, 4) == 1:
            self._accept(f"V{key}", key)

    def _accept(self, key: str, missed: str) -> None:
        """Accept the miss of a requirement, some way or all the way."""
        made = self.records[-1]
        assert isinstance(made, Requirement)
        low = None if made.allowed else self._dice.pick((None, -6.0, 0.0))
        high = None if made.allowed else self._dice.pick((None, 6.0, 9.0))
        self.records.append(deviation(key, missed, low, high))


def optioned(seed: int) -> Engine:
    """Return an engine whose programme has a few decisions, checks and requirements."""
    return Engine(Shelf(ROW_TRUE), Programme([INFO, GATE, *_Maker(seed).make()]))


def reaches(engine: Engine, decisions: Sequence[Decision]) -> dict[int, frozenset[int]]:
    """Return position of a judge → the decisions it depends on, from the records alone."""
    web: nx.DiGraph[Any] = nx.DiGraph()
    for number, each in enumerate(decisions):
        web.add_edges_from((number, owned) for owned in each.owns)
    for check in engine.programme.of(CheckUse):
        web.add_edges_from((ref.id, check.id) for ref in check.inputs.values())
        web.add_edges_from((check.id, each) for each in check.outputs.values())
    found = {}
    for place, judge in enumerate(engine.graph.judges):
        record = engine.programme.get(judge.id)
        target = record.quantity if isinstance(record, Requirement) else judge.id
        if isinstance(record, CheckUse):
            carrier = engine.programme.at(record.decision, Decision)
            if carrier.state is DecisionState.WITHDRAWN:
                continue
        if target in web:
            above = frozenset(each for each in nx.ancestors(web, target) if isinstance(each, int))
            if above:
                found[place] = above
    return found


@dataclass
class Tried:
    """What one combination came to in a trial."""

    options: tuple[int, ...]
    findings: dict[int, Finding]
    slots: list[Any]

    def fails(self, place: int) -> bool:
        held = self.findings[place]
        failing = held.judgement.verdict in ("missed", "unknown")
        return failing and not held.moot and not held.deviation

    @property
    def alive(self) -> bool:
        return not any(self.fails(place) for place in self.findings)

    @property
    def margin(self) -> float:
        margins = [held.judgement.margin for held in self.findings.values()]
        return min((each for each in margins if each is not None), default=float("inf"))

    def number(self, slot: int) -> float | None:
        held = self.slots[slot]
        return None if isinstance(held, Unknown | Absent) else float(held[0])


def brute_force(engine: Engine, decisions: Sequence[Decision]) -> Iterator[Tried]:
    """Try every combination in the engine, one by one."""
    judges = reaches(engine, decisions)
    for picked in itertools.product(*(range(len(each.options)) for each in decisions)):
        entries = [
            Entry(each, _leaning(each, option))
            for each, option in zip(decisions, picked, strict=True)
        ]
        with engine.trial([each for each in entries if each.before != each.after]):
            held = engine.state.findings
            findings = {place: found for place in judges if (found := held[place]) is not None}
            yield Tried(picked, findings, list(engine.state.slots))


def _leaning(made: Decision, option: int) -> Decision:
    chosen = made.options[option].id
    return replace(made, state=DecisionState.LEANING, chosen=chosen, footing=None)
