"""The audit's second half: the projected tables must hold exactly what the replay gives."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from sqlalchemy import Connection, Table
from sqlalchemy.exc import SQLAlchemyError

from tracker.errors import WhyboneError
from tracker.services.ports import Head
from tracker.store import tables
from tracker.store.faults import cause
from tracker.store.journal import as_stored
from tracker.store.projection import Row, rows_of
from tracker.store.replay import RecordRow, digest_of
from tracker.store.shapes import read_record

__all__ = ["Replayed", "Touched", "projection_faults"]


@dataclass(frozen=True, slots=True)
class Touched:
    """A record as the replay leaves it: its row, None when removed, and the last entry on it."""

    row: RecordRow | None
    revision: int
    position: int

    def __str__(self) -> str:
        return f"revision {self.revision}, entry {self.position}"


Replayed: TypeAlias = dict[str, Touched]


def projection_faults(connection: Connection, replayed: Replayed, head: Head) -> Iterator[str]:
    """Compare every projected row with the replay; one sentence per table and record."""
    rows = [each.row for each in replayed.values() if each.row is not None]
    yield from _head_faults(connection, rows, head)
    wanted = _wanted(rows)
    for table in (tables.record, *tables.READABLE):
        try:
            there = {tuple(row) for row in connection.execute(as_stored(table))}
        except SQLAlchemyError as error:
            yield f"after revision {head.revision}: the table {table.name}: {cause(error)}"
            continue
        for owner in sorted({str(row[0]) for row in there ^ wanted[table]}):
            yield _fault(table, owner, replayed.get(owner), head)


def _fault(table: Table, owner: str, touched: Touched | None, head: Head) -> str:
    if touched is None:
        return (
            f"after revision {head.revision}: the table {table.name} has rows of {owner!r}, "
            "which the journal does not know"
        )
    key = touched.row.key if touched.row else owner
    return f"{touched}: the table {table.name} does not hold what the journal says of {key}"


def _wanted(rows: list[RecordRow]) -> Mapping[Table, set[Row]]:
    wanted: defaultdict[Table, set[Row]] = defaultdict(set)
    wanted[tables.record].update(rows)
    for row in rows:
        try:
            for table, each in rows_of(read_record(row.kind, row.shape, row.body)):
                wanted[table].add(each)
        except WhyboneError:
            continue  # the replay has said that this record cannot be read
    return wanted


def _head_faults(connection: Connection, rows: list[RecordRow], head: Head) -> Iterator[str]:
    there = [tuple(row) for row in connection.execute(as_stored(tables.head))]
    if len(there) != 1:
        yield f"after revision {head.revision}: the projection has no head"
        return
    _, revision, hash_, records, digest = there[0]
    if (revision, hash_) != (head.revision, head.hash):
        yield (
            f"after revision {head.revision}: the journal ends here, "
            f"the projection says at revision {revision} with hash {hash_}"
        )
    if (records, digest) != (len(rows), digest_of(rows)):
        yield f"after revision {head.revision}: the head's count or digest of records is wrong"
