"""Programmes the benches work on: chains of trivial checks, the demo, and many items."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from tracker.bootstrap import make_programme
from tracker.contract.check import Check, Config, Inputs, Manifest, Outputs, Port
from tracker.evaluate.plugin import Loaded
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, Quantity, Record, Ref, Setting
from tracker.model.units import ONE
from tracker.model.values import Kind
from tracker.services.actions import add_items
from tracker.services.session import Session

__all__ = ["AddOne", "Shelf", "chain", "many_items"]


class AddOne:
    """A trivial check: `b = a + 1`."""

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="add-one",
            version="1",
            title="Add one",
            purpose="Costs next to nothing.",
            inputs=(Port(key="a", title="a", doc="a"),),
            outputs=(Port(key="b", title="b", doc="b"),),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        return Outputs({"b": inputs["a"] + 1.0})


class Shelf:
    """A loader of checks held in memory, all in pure numbers."""

    def __init__(self, checks: Mapping[str, Check]) -> None:
        self._loaded = {key: self._prepare(check) for key, check in checks.items()}

    def load(self, plugin: str, config: Config, currency: str) -> Loaded:
        return self._loaded[plugin]

    @staticmethod
    def _prepare(check: Check) -> Loaded:
        manifest = check.manifest({})
        inputs = {port.key: port for port in manifest.inputs}
        outputs = {port.key: port for port in manifest.outputs}
        units = dict.fromkeys([*inputs, *outputs], ONE)
        return Loaded(check, {}, manifest, inputs, outputs, units)


def chain(length: int) -> Programme:
    """Return a programme in which `length` trivial checks follow each other."""
    return Programme(_chain(length))


def _chain(length: int) -> Iterator[Record]:
    yield Decision(id="d", key="D", question="?")
    given = Setting(value=1.0, typed="1")
    yield Quantity(id="q0", key="q0", title="", kind=Kind.REAL, given=given)
    for number in range(length):
        yield Quantity(id=f"q{number + 1}", key=f"q{number + 1}", title="", kind=Kind.REAL)
        yield CheckUse(
            id=f"c{number}",
            key=f"c{number}",
            title="",
            plugin="add-one",
            decision="d",
            inputs={"a": Ref(id=f"q{number}")},
            outputs={"b": f"q{number + 1}"},
        )


def many_items(folder: Path, count: int) -> Session:
    """Make a stored programme of `count` quantities, requirements and decisions."""
    session = make_programme(folder / f"many-{count}.db", f"{count} items", "EUR", who="bench")
    documents: list[dict[str, object]] = []
    for number in range(count // 5):
        documents += _group(number)
    add_items(session, documents, "many items for the bench")
    return session


def _group(number: int) -> list[dict[str, object]]:
    keys = [f"m{number}-{letter}" for letter in "abc"]
    quantities: list[dict[str, object]] = [
        {
            "kind": "quantity",
            "key": key,
            "title": f"Mass {key}",
            "unit": "kg",
            "value": f"{9 + i} kg",
        }
        for i, key in enumerate(keys)
    ]
    requirement: dict[str, object] = {
        "kind": "requirement",
        "key": f"R{number}",
        "statement": f"The mass {keys[0]} stays low",
        "quantity": keys[0],
        "upper": "9.5 kg" if number % 3 else "8 kg",
    }
    decision: dict[str, object] = {
        "kind": "decision",
        "key": f"D{number}",
        "question": f"Which casting for place {number}?",
        "options": [{"key": "sand", "title": "Sand cast"}, {"key": "die", "title": "Die cast"}],
        "serves": [f"R{number}"],
    }
    return [*quantities, requirement, decision]
