"""How well the stated values are known that something rests on."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.evaluate.sources import setting_in_force
from tracker.model.records import BasisKind, Decision, Quantity, Setting
from tracker.services.session import Reading

__all__ = ["KNOWN", "PoorGrounds", "direct_grounds", "setting_of"]

KNOWN = tuple(BasisKind)
"""How well a value is known, worst first."""

_MOST = 4  # culprits named of each value: the nearest ones


def setting_of(reading: Reading, quantity: Quantity) -> Setting | None:
    """Return the setting a quantity takes its value from; None where a check computes it."""
    graph = reading.engine.graph
    if graph.index[quantity.id, ""] in graph.writer:
        return None
    return setting_in_force(reading.programme, graph, quantity)[0]


def direct_grounds(reading: Reading, decision: Decision) -> Iterator[tuple[Quantity, Setting]]:
    """Return the stated values a decision directly rests on: what it sets, what its checks take."""
    graph = reading.engine.graph
    for each in dict.fromkeys(graph.keys[slot][0] for slot in graph.watch.get(decision.id, ())):
        quantity = reading.programme.get(each)
        if isinstance(quantity, Quantity):
            setting = setting_of(reading, quantity)
            if setting is not None and setting.value is not None:
                yield quantity, setting


class PoorGrounds:
    """Stated values known less well than wanted, and what is computed from them.

    Parameters
    ----------
    reading : Reading
        A programme.
    least : BasisKind
        The worst that is good enough.
    """

    def __init__(self, reading: Reading, least: BasisKind) -> None:
        self._graph = reading.engine.graph
        self._below: dict[int, tuple[str, ...]] = {}
        for quantity in reading.programme.of(Quantity):
            setting = setting_of(reading, quantity)
            known = setting is not None and setting.value is not None
            if setting and known and KNOWN.index(setting.basis.kind) < KNOWN.index(least):
                self._below[self._graph.index[quantity.id, ""]] = (quantity.id,)
        self._spread()

    def _spread(self) -> None:
        for node in self._graph.nodes:
            under = self.under([gather.slot for gather in node.gathers])
            if under:
                self._below.update(dict.fromkeys(node.outputs, under))

    def under(self, slots: list[int]) -> tuple[str, ...]:
        """Return the ids of the nearest such values under some slots."""
        found = (self._below.get(self._whole(slot), ()) for slot in slots)
        return tuple(dict.fromkeys(each for ids in found for each in ids))[:_MOST]

    def _whole(self, slot: int) -> int:
        """Return the slot of the whole value a component or cell belongs to."""
        record_id, part = self._graph.keys[slot]
        return self._graph.index.get((record_id, ""), slot) if part else slot

    def under_decision(self, decision: Decision) -> tuple[str, ...]:
        """Return those under what a decision sets, takes and is judged by."""
        graph = self._graph
        judged = [graph.judges[place].slot for place in graph.stakes.get(decision.id, ())]
        return self.under([*graph.watch.get(decision.id, ()), *judged])
