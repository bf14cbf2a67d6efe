"""The projection of the head revision: the `head` and `record` tables and the readable ones.

The head row carries the number of records and the exclusive-or of one SHA-256 per row of `record`,
so that reading the records notices a row that was changed, lost or added behind the journal's back.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import NamedTuple

from sqlalchemy import Connection, Table, Text, bindparam, delete, func, select, update

from tracker.errors import StaleChangeError, StoreDamagedError
from tracker.model.records import Record
from tracker.services.ports import Head
from tracker.store import tables
from tracker.store.canonical import NO_HASH
from tracker.store.faults import AUDIT
from tracker.store.frames import Sealed
from tracker.store.journal import as_stored
from tracker.store.projection import Row, rows_of
from tracker.store.replay import RecordRow, digest_of, is_before, row_after
from tracker.store.shapes import read_record
from tracker.store.statements import Statement, execute, insert_rows

__all__ = ["HeadRow", "Move", "plan_move", "read_head", "read_records", "write_move"]


class HeadRow(NamedTuple):
    """The row of `head`; `digest` is 64 hex digits."""

    revision: int
    hash: str
    records: int
    digest: str


_change, _head, _record = tables.journal_change, tables.head, tables.record
_LAST = select(func.max(_change.c.revision)).scalar_subquery()
_READ_HEAD: Statement = (
    select(_head, _change.c.revision, _change.c.hash).outerjoin_from(
        _head, _change, _change.c.revision == _LAST
    ),
    (),
)
_READ_ALL: Statement = (as_stored(_record), ())
_READ_SOME = as_stored(_record).where(_record.c.id.in_(bindparam("ids", expanding=True)))
_READ_ONE: Statement = (
    select(_record).where(_record.c.id == bindparam("wanted", type_=Text)),
    ("wanted",),
)
_DROP: Statement = (delete(_record).where(_record.c.id == bindparam("gone", type_=Text)), ("gone",))
_MOVE_HEAD: Statement = (update(_head), ("revision", "hash", "records", "digest"))
_DIGEST = re.compile("[0-9a-f]{64}")
_MANY = 500  # bound parameters of one statement: every SQLite takes 999


def read_head(connection: Connection) -> HeadRow:
    """Read the head, and see that the journal ends there.

    Raises
    ------
    StoreDamagedError
        It does not.
    """
    rows = execute(connection, _READ_HEAD)
    if len(rows) != 1:
        raise _damaged("it has no head")
    _, *values, revision, hash_ = rows[0]
    head = HeadRow(*values)
    if head.revision != (revision or 0):
        raise _damaged(f"it stands at revision {head.revision}, the journal at {revision or 0}")
    if head.hash != (hash_ or NO_HASH):
        raise _damaged(f"its hash of revision {head.revision} is not the journal's")
    if not isinstance(head.records, int) or not _DIGEST.fullmatch(str(head.digest)):
        raise _damaged("its head cannot be read")
    return head


def _damaged(message: str) -> StoreDamagedError:
    return StoreDamagedError(message, item="the projection", remedy=AUDIT)


def read_records(connection: Connection, head: HeadRow) -> list[Record]:
    """Read the present records, in the order they were added.

    Raises
    ------
    StoreDamagedError
        They are not what the journal put there, or cannot be read.
    """
    rows = [RecordRow._make(row) for row in execute(connection, _READ_ALL)]
    if (len(rows), digest_of(rows)) != (head.records, head.digest):
        raise _damaged("its records are not those the journal put there")
    rows.sort(key=attrgetter("added_revision", "added_entry"))  # SQLite would carry the bodies
    return [read_record(row.kind, row.shape, row.body) for row in rows]


@dataclass(frozen=True, slots=True)
class Move:
    """What a change does to the `record` table: rows that go and rows that come, by id."""

    old: Mapping[str, RecordRow]
    new: Mapping[str, RecordRow]

    def head(self, before: HeadRow, after: Head) -> HeadRow:
        """Return the head row after the move."""
        digest = digest_of(self.new.values(), digest_of(self.old.values(), before.digest))
        count = before.records - len(self.old) + len(self.new)
        return HeadRow(after.revision, after.hash, count, digest)


def plan_move(connection: Connection, sealed: Sequence[Sealed], revision: int) -> Move:
    """Work out what the entries of a change do to the records.

    Raises
    ------
    StaleChangeError
        A record is not what its entry says it was before; nothing was written.
    """
    old = _read_some(connection, [each.id for each in sealed])
    new = dict(old)
    for position, each in enumerate(sealed, 1):
        row = new.pop(each.id, None)
        if not is_before(row, each):
            raise StaleChangeError("the record is not what it was", item=each.key)
        row = row_after(row, each, revision, position)
        if row is not None:
            new[each.id] = row
    return Move(old, new)


def _read_some(connection: Connection, ids: Sequence[str]) -> dict[str, RecordRow]:
    if len(ids) == 1:
        found = [RecordRow(*row) for row in execute(connection, _READ_ONE, [(ids[0],)])]
    else:
        parts = (ids[start : start + _MANY] for start in range(0, len(ids), _MANY))
        found = [
            RecordRow(*row)
            for part in parts
            for row in connection.execute(_READ_SOME, {"ids": part})
        ]
    return {row.id: row for row in found}


def write_move(
    connection: Connection, move: Move, records: Mapping[str, Record], head: HeadRow
) -> None:
    """Rewrite the rows of the touched records and the head.

    Parameters
    ----------
    records : mapping of str to Record
        The records that come, by id.
    """
    if move.old:
        execute(connection, _DROP, [(record_id,) for record_id in move.old])
    rows: defaultdict[Table, list[Row]] = defaultdict(list)
    rows[_record] = list(move.new.values())
    for record_id in move.new:
        for table, row in rows_of(records[record_id]):
            rows[table].append(row)
    for table, those in rows.items():
        insert_rows(connection, table, those)
    execute(connection, _MOVE_HEAD, [head])
