"""A store in memory that can be told to fail."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from tracker.errors import StoreWriteError
from tracker.model.changes import Change, Draft
from tracker.model.programme import Programme
from tracker.services.ports import AuditReport, Head

EMPTY = Head(0, "0" * 64)


class MemoryStore:
    """Journal in a list. `failing` names the step of the next write that fails."""

    def __init__(self) -> None:
        self.name = "memory"
        self.journal: list[Change] = []
        self.failing = ""
        self.closed = False

    def head(self) -> Head:
        return Head(self.journal[-1].revision, self.journal[-1].hash) if self.journal else EMPTY

    def load(self) -> tuple[Head, Programme]:
        programme = Programme()
        for change in self.journal:
            programme.apply(change.entries)
        return self.head(), programme

    def changes(self, after: int = 0, upto: int | None = None) -> Iterator[Change]:
        assert after >= 0
        yield from self.journal[after:upto]

    def touching(self, record_id: str) -> Iterator[Change]:
        for change in self.journal:
            own = tuple(entry for entry in change.entries if entry.id == record_id)
            if own:
                yield dataclasses.replace(change, entries=own)

    @contextmanager
    def writing(self) -> Iterator[MemoryWriter]:
        writer = MemoryWriter(self)
        yield writer
        if self.failing == "commit":
            raise StoreWriteError("the sync failed")
        self.journal = writer.journal

    def audit(self, expect: str = "") -> AuditReport:
        missing = [] if not expect or expect == self.head().hash else ["another head"]
        return AuditReport(
            revisions=len(self.journal), head=self.head().hash, problems=tuple(missing)
        )

    def close(self) -> None:
        self.closed = True


class MemoryWriter:
    """Appends to a copy, which replaces the journal when the write is committed."""

    def __init__(self, store: MemoryStore) -> None:
        self.head = store.head()
        self.journal = list(store.journal)
        self._store = store

    def changes_since(self, revision: int) -> Sequence[Change]:
        return self.journal[revision:]

    def append(self, draft: Draft) -> Change:
        if self._store.failing == "append":
            raise StoreWriteError("the disk is full")
        revision = len(self.journal) + 1
        change = Change(
            revision=revision,
            hash=f"{revision:064x}",
            author=draft.author,
            at=draft.at,
            reason=draft.reason,
            based_on=draft.based_on,
            entries=draft.entries,
            undoes=draft.undoes,
        )
        self.journal.append(change)
        return change
