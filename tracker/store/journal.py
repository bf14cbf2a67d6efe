"""The journal tables: read in batches, written change by change."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeAlias

from sqlalchemy import (
    BigInteger,
    BindParameter,
    Connection,
    Select,
    Table,
    bindparam,
    func,
    select,
    type_coerce,
)
from sqlalchemy.types import NullType

from tracker.errors import StoreDamagedError
from tracker.model.changes import Change, Draft
from tracker.services.ports import Head
from tracker.store import tables
from tracker.store.canonical import NO_HASH, sha256
from tracker.store.examine import EntryRow, Stored, read_change
from tracker.store.faults import AUDIT
from tracker.store.frames import Sealed, seal_header
from tracker.store.statements import insert_rows

__all__ = [
    "BATCH",
    "FIRST",
    "LAST",
    "as_stored",
    "count_entries",
    "read_batch",
    "read_changes",
    "read_own",
    "revisions_touching",
    "walk",
    "write_change",
]

FIRST = -(2**63)
LAST = 2**63 - 1
"""Bounds of the revisions a damaged table could hold."""

Fetch: TypeAlias = Callable[[int, int], list[Stored]]
"""Reads the next few stored changes after one revision, up to another."""

BATCH = 256
"""How many changes are read at a time."""


def as_stored(table: Table) -> Select[*tuple[Any, ...]]:
    """Select all columns as the driver gives them: a damaged row must not upset a type."""
    return select(*(type_coerce(column, NullType()) for column in table.c))


def _number(name: str) -> BindParameter[int]:
    return bindparam(name, type_=BigInteger)


_change, _entry = tables.journal_change, tables.journal_entry
_CHANGES = (
    as_stored(_change)
    .where(_change.c.revision > _number("after"), _change.c.revision <= _number("upto"))
    .order_by(_change.c.revision)
    .limit(BATCH)
)
_ENTRIES = (
    as_stored(_entry)
    .where(_entry.c.revision.between(_number("first"), _number("last")))
    .order_by(_entry.c.revision, _entry.c.position)
)
_TOUCHING = (
    select(_entry.c.revision)
    .where(_entry.c.record_id == bindparam("record_id"))
    .distinct()
    .order_by(_entry.c.revision)
)
_THOSE = as_stored(_change).where(_change.c.revision.in_(bindparam("revisions", expanding=True)))
_OWN = (
    as_stored(_entry)
    .where(
        _entry.c.record_id == bindparam("record_id"),
        _entry.c.revision.between(_number("first"), _number("last")),
    )
    .order_by(_entry.c.revision, _entry.c.position)
)
_COUNT = select(func.count()).select_from(_entry)


def read_batch(connection: Connection, after: int, upto: int) -> list[Stored]:
    """Read the next few stored changes, oldest first; none when there are no more."""
    changes = connection.execute(_CHANGES, {"after": after, "upto": upto}).all()
    if not changes:
        return []
    span = {"first": changes[0][0], "last": changes[-1][0]}
    entries: defaultdict[int, list[EntryRow]] = defaultdict(list)
    for row in connection.execute(_ENTRIES, span):
        entries[row[0]].append(tuple(row))
    return [Stored(tuple(row), entries[row[0]]) for row in changes]


def revisions_touching(connection: Connection, record_id: str) -> list[int]:
    """Return the revisions that touch a record, oldest first."""
    return list(connection.execute(_TOUCHING, {"record_id": record_id}).scalars())


def read_own(connection: Connection, record_id: str, revisions: Sequence[int]) -> list[Change]:
    """Read changes that touch a record, with only the entries on it.

    Parameters
    ----------
    revisions : sequence of int
        Some of `revisions_touching`, one after the other, at most `BATCH`.

    Raises
    ------
    StoreDamagedError
        The header of one of them, or an entry on the record, is missing or does not hold.
    """
    span = {"record_id": record_id, "first": revisions[0], "last": revisions[-1]}
    entries: defaultdict[int, list[EntryRow]] = defaultdict(list)
    for row in connection.execute(_OWN, span):
        entries[row[0]].append(tuple(row))
    rows = connection.execute(_THOSE, {"revisions": revisions})
    changes = {row[0]: Stored(tuple(row), entries[row[0]], whole=False) for row in rows}
    for each in revisions:
        if each not in changes:
            raise _missing(each)
    return [read_change(changes[each], NO_HASH if each == 1 else None) for each in revisions]


def count_entries(connection: Connection) -> int:
    """Count all entries, whatever they belong to."""
    return connection.execute(_COUNT).scalar_one()


def walk(fetch: Fetch, after: int, upto: int) -> Iterator[Stored]:
    """Iterate over stored changes in order, whether or not they hold."""
    while batch := fetch(after, upto):
        yield from batch
        after = max(after + 1, batch[-1].change[0])


def read_changes(fetch: Fetch, after: int, upto: int) -> Iterator[Change]:
    """Iterate over the changes after a revision, up to one that the journal must reach.

    Raises
    ------
    StoreDamagedError
        A change is missing or does not hold.
    """
    previous = None if after else NO_HASH
    for stored in walk(fetch, after, upto):
        if stored.change[0] != after + 1:
            break
        change = read_change(stored, previous)
        after, previous = change.revision, change.hash
        yield change
    if after < upto:
        raise _missing(after + 1)


def _missing(revision: int) -> StoreDamagedError:
    return StoreDamagedError(f"revision {revision} is missing", item="the journal", remedy=AUDIT)


def write_change(
    connection: Connection, before: Head, draft: Draft, sealed: Sequence[Sealed]
) -> Head:
    """Write a change after a head, and return the head it makes.

    Raises
    ------
    BadValueError, BadTextError
        Author, time or reason cannot be stored; nothing was written.
    """
    bodies = [each.body for each in sealed]
    header = seal_header(draft, before, [sha256(body) for body in bodies])
    after = Head(before.revision + 1, sha256(header))
    row = (after.revision, after.hash, draft.at, draft.author, draft.reason, header)
    insert_rows(connection, _change, [row])
    rows = [
        (after.revision, position, each.kind, each.id, each.shape, body)
        for position, (each, body) in enumerate(zip(sealed, bodies, strict=True), 1)
    ]
    insert_rows(connection, _entry, rows)
    return after
