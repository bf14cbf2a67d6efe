"""A toy check that keeps what it is given."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tests.property.toy_checks import TOYS, Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, use
from tracker.contract.check import Array, Port, Rule
from tracker.evaluate.engine import Engine
from tracker.model.records import Record

__all__ = ["Probe", "fault"]


class Probe:
    """Binds one toy to some records and keeps what it was given."""

    def __init__(self, *ports: Port, out: Port | None = None, rules: tuple[Rule, ...] = ()) -> None:
        self.seen: dict[str, Any] = {}
        self.result: Array = np.array([1.0])
        toy = Toy("probe", ports, (out or port("out"),), self._keep, rules)
        self.shelf = Shelf({**TOYS, "probe": toy})

    def _keep(self, **inputs: Any) -> Mapping[str, Array]:  # noqa: ANN401 - arrays or a Table
        self.seen = inputs
        return {"out": self.result}

    def engine(self, *records: Record, **bound: Any) -> Engine:  # noqa: ANN401 - fields of CheckUse
        return engine_of(decision("D"), *records, use("C", "probe", **bound), shelf=self.shelf)


def fault(engine: Engine) -> str:
    found = engine.graph.nodes[engine.graph.position["C"]].fault
    assert found is not None
    assert found.item
    return str(found)
