"""A store in memory that can be told to fail."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

from tracker.errors import StoreDamagedError, StoreWriteError
from tracker.model.changes import Change, Draft
from tracker.model.programme import Programme
from tracker.services.ports import AuditReport, Head

EMPTY = Head(0, "0" * 64)


class MemoryStore:
    """Journal in a list. `failing` names the step of the next write that fails.

    `problems` is what an audit finds.
    """

    def __init__(self) -> None:
        self.name = "memory"
        self.journal: list[Change] = []
        self.contents: dict[str, bytes] = {}
        self.failing = ""
        self.problems: tuple[str, ...] = ()
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

    def content(self, sha256: str) -> bytes:
        if sha256 not in self.contents:
            raise StoreDamagedError("it is missing", item=f"baseline content {sha256}")
        return self.contents[sha256]

    @contextmanager
    def writing(self) -> Iterator[MemoryWriter]:
        writer = MemoryWriter(self)
        yield writer
        if self.failing == "commit":
            raise StoreWriteError("the sync failed")
        self.journal = writer.journal
        self.contents = writer.contents

    def audit(self, expect: str = "") -> AuditReport:
        strange = expect not in ("", self.head().hash)
        return AuditReport(
            revisions=len(self.journal),
            head=self.head().hash,
            problems=("another head",) if strange else self.problems,
        )

    def close(self) -> None:
        self.closed = True


class MemoryWriter:
    """Appends to a copy, which replaces the journal when the write is committed."""

    def __init__(self, store: MemoryStore) -> None:
        self.head = store.head()
        self.journal = list(store.journal)
        self.contents = dict(store.contents)
        self._store = store

    def changes_since(self, revision: int) -> Sequence[Change]:
        return self.journal[revision:]

    def append(self, draft: Draft, contents: Mapping[str, bytes] | None = None) -> Change:
        if self._store.failing == "append":
            raise StoreWriteError("the disk is full")
        self.contents.update(contents or {})
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
