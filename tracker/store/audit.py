"""The audit: replay the journal from empty and compare everything with what the store holds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial

from sqlalchemy import Connection
from sqlalchemy.exc import SQLAlchemyError

from tracker.errors import WhyboneError
from tracker.model.records import Baseline
from tracker.services.ports import AuditReport, Head
from tracker.store.audit_projection import Replayed, Touched, projection_faults
from tracker.store.canonical import NO_HASH
from tracker.store.contents import content_faults, stray_contents
from tracker.store.examine import Stored, examine
from tracker.store.faults import cause
from tracker.store.frames import Sealed
from tracker.store.guards import missing_guards
from tracker.store.journal import FIRST, LAST, count_entries, read_batch, walk
from tracker.store.replay import is_before, row_after
from tracker.store.shapes import read_record

__all__ = ["audit"]


@dataclass(slots=True)
class _Pass:
    """A pass over the journal: how far it got and what came of it.

    Parameters
    ----------
    frozen : dict of str to str
        SHA-256 of a baseline's content → where the baseline was frozen, in words.
    """

    changes: int = 0
    entries: int = 0
    head: Head = field(default_factory=lambda: Head(0, NO_HASH))
    chain: set[str] = field(default_factory=lambda: {NO_HASH})
    replayed: Replayed = field(default_factory=dict)
    frozen: dict[str, str] = field(default_factory=dict)


def audit(
    connection: Connection, check_pages: Callable[[Connection], list[str]], expect: str
) -> AuditReport:
    """Check a store.

    Parameters
    ----------
    connection : Connection
        In a transaction that sees one revision.
    check_pages : callable
        Asks the database what is wrong with its own file.
    expect : str
        A head hash that the journal must contain; empty for none.
    """
    done = _Pass()
    problems = [
        *_tried(lambda: (f"the file: {each}" for each in check_pages(connection)), done),
        *_tried(
            lambda: (f"the guard {each} is missing" for each in missing_guards(connection)), done
        ),
        *_tried(lambda: _journal(connection, done), done),
        *_tried(lambda: projection_faults(connection, done.replayed, done.head), done),
        *_tried(lambda: _contents(connection, done), done),
    ]
    if expect and expect.strip().lower() not in done.chain:
        problems.append(
            f"revision {done.head.revision} ends the journal, and no hash up to there is {expect}"
        )
    return AuditReport(revisions=done.changes, head=done.head.hash, problems=tuple(problems))


def _tried(step: Callable[[], Iterator[str]], done: _Pass) -> Iterator[str]:
    """Run a step to its end, or to where the database cannot read on."""
    try:
        yield from step()
    except SQLAlchemyError as error:
        yield f"after revision {done.head.revision}: cannot be read on ({cause(error)})"


def _journal(connection: Connection, done: _Pass) -> Iterator[str]:
    for stored in walk(partial(read_batch, connection), FIRST, LAST):
        yield from _change(stored, done)
    stray = count_entries(connection) - done.entries
    if stray:
        yield f"after revision {done.head.revision}: {stray} entries belong to no change"


def _change(stored: Stored, done: _Pass) -> Iterator[str]:
    revision, hash_ = stored.change[:2]
    before = done.head
    if revision != before.revision + 1:
        yield f"revision {before.revision + 1}: it is missing, revision {revision} comes next"
    problems, entries, _ = examine(stored, before.hash if revision == before.revision + 1 else None)
    yield from problems
    for position, sealed in entries:
        for fault in _replay(sealed, revision, position, done):
            yield f"revision {revision}, entry {position}: {fault}"
    done.changes += 1
    done.entries += len(stored.entries)
    done.head = Head(revision, str(hash_))
    done.chain.add(done.head.hash)


def _contents(connection: Connection, done: _Pass) -> Iterator[str]:
    for name, where in done.frozen.items():
        for fault in content_faults(connection, name):
            yield f"{where}: {fault}"
    for name in stray_contents(connection, set(done.frozen)):
        yield f"after revision {done.head.revision}: the content {name[:64]!r} is of no baseline"


def _replay(sealed: Sealed, revision: int, position: int, done: _Pass) -> Iterator[str]:
    """Move the replayed records by an entry, whether or not it fits; say what does not."""
    replayed = done.replayed
    row = replayed[sealed.id].row if sealed.id in replayed else None
    try:
        if not is_before(row, sealed):
            yield f"{sealed.key} was not before what the entry says"
        if sealed.after is not None:
            record = read_record(sealed.kind, sealed.shape, sealed.after)
            if isinstance(record, Baseline):
                where = f"revision {revision}, entry {position}, baseline {record.key}"
                done.frozen.setdefault(record.content, where)
        if sealed.kind == "baseline" and sealed.before is not None:
            yield f"baseline {sealed.key} was changed, which nothing may do"
    except WhyboneError as error:
        yield error.message
    replayed[sealed.id] = Touched(row_after(row, sealed, revision, position), revision, position)
