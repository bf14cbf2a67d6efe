"""Which change of the journal a figure comes from.

A record comes from the last change that put it. A computed value comes from the latest change among
its check and everything that check reads: the programme opened at that revision shows the same.
"""

from __future__ import annotations

from tracker.model.records import CheckUse, Decision
from tracker.services.session import Reading
from tracker.services.views import HistoryLine
from tracker.services.wording import visible
from tracker.services.words import describe

__all__ = ["Trace"]


class Trace:
    """Revisions behind the records and values of a reading.

    Parameters
    ----------
    reading : Reading
        A programme at a revision.
    since : int
        Changes after this revision are kept for every item, earlier ones for decisions alone.
    """

    def __init__(self, reading: Reading, since: int = 0) -> None:
        self._reading = reading
        self._last: dict[str, int] = {}
        self._lines: dict[str, list[HistoryLine]] = {}
        self._read(since)
        self._slots: dict[int, int] = {}
        self._follow()

    def _read(self, since: int) -> None:
        namer = self._reading.programme.get
        for change in self._reading.store.changes(0, self._reading.head.revision):
            author, reason = visible(change.author), visible(change.reason)
            for entry in change.entries:
                self._last[entry.id] = change.revision
                if change.revision > since or isinstance(entry.record, Decision):
                    line = HistoryLine(
                        revision=change.revision,
                        at=change.at,
                        author=author,
                        reason=reason,
                        what=describe(entry, namer),
                    )
                    self._lines.setdefault(entry.id, []).append(line)

    def _follow(self) -> None:
        graph, programme = self._reading.engine.graph, self._reading.programme
        for node in graph.nodes:  # in topological order: what a check reads is done already
            use = programme.at(node.id, CheckUse)
            ids = [use.id, *(ref.id for ref in use.inputs.values())]
            revision = max(self.value(each) for each in ids)
            for slot in node.outputs:
                self._slots[slot] = max(revision, self.record(graph.keys[slot][0]))

    def record(self, record_id: str) -> int:
        """Return the last change that put a record."""
        return self._last.get(record_id, 0)

    def value(self, record_id: str) -> int:
        """Return the revision the value of a quantity comes from, or a bound of a requirement."""
        graph = self._reading.engine.graph
        slot = graph.index.get((record_id, ""))
        if slot is not None and slot in self._slots:
            return self._slots[slot]
        owner = graph.owner.get(record_id)
        return max(self.record(record_id), self.record(owner) if owner else 0)

    def slot(self, slot: int) -> int:
        """Return the revision what a slot holds comes from."""
        return self._slots.get(slot) or self.value(self._reading.engine.graph.keys[slot][0])

    def judged(self, place: int) -> int:
        """Return the revision a finding comes from: its value and its band."""
        judge = self._reading.engine.graph.judges[place]
        return max(self.slot(judge.slot), self.record(judge.id))

    def lines(self, record_id: str, after: int = 0) -> tuple[HistoryLine, ...]:
        """Return the kept changes that touched a record, oldest first."""
        return tuple(each for each in self._lines.get(record_id, ()) if each.revision > after)
