"""Which changed records stand behind a computed value, the nearest first."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tracker.model.records import CheckUse, Decision, Record
from tracker.services.session import Reading

__all__ = ["Causes"]

_MOST = 4  # causes kept of each value


class Causes:
    """Changed records behind the values of a reading.

    Parameters
    ----------
    reading : Reading
        A programme.
    touched : callable
        Tells of a record id whether the record changed.
    """

    def __init__(self, reading: Reading, touched: Callable[[str], bool]) -> None:
        self._graph = reading.engine.graph
        self._touched = touched
        self._behind: dict[int, tuple[str, ...]] = {}
        for node in self._graph.nodes:
            use = reading.programme.at(node.id, CheckUse)
            read = [(ref.id, self._graph.index.get((ref.id, ""))) for ref in use.inputs.values()]
            bounds = [each for each, slot in read if slot is None]  # bounds of requirements
            found = self._first([use.id, *bounds], [slot for _, slot in read if slot is not None])
            self._behind.update(dict.fromkeys(node.outputs, found))

    def _first(self, ids: Iterable[str], slots: Iterable[int]) -> tuple[str, ...]:
        """Return the touched ones among records and behind slots, nearest first, the first few."""
        found = dict.fromkeys(each for each in ids if self._touched(each))
        for slot in slots:
            found.update(dict.fromkeys(self._behind_slot(slot)))
        return tuple(found)[:_MOST]

    def _behind_slot(self, slot: int) -> tuple[str, ...]:
        record_id = self._graph.keys[slot][0]
        whole = self._graph.index.get((record_id, ""), slot)  # a component or cell follows it
        if whole in self._behind:
            return self._behind[whole]
        own = (record_id, self._graph.owner.get(record_id, ""))
        return tuple(each for each in own if each and self._touched(each))

    def of(self, record: Record) -> tuple[str, ...]:
        """Return the ids of the nearest changed records that a record's results come from."""
        graph = self._graph
        judged = [graph.judges[place].slot for place in graph.judges_of.get(record.id, ())]
        if isinstance(record, Decision):
            staked = [graph.judges[place].slot for place in graph.stakes.get(record.id, ())]
            ids = [*record.serves, *record.rests_on]
            return self._first(ids, [*staked, *graph.watch.get(record.id, ())])
        whole = graph.index.get((record.id, ""))
        return self._first((), judged if whole is None else [whole, *judged])
