"""What an entry does to the records: the one rule that writing and auditing share."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import NamedTuple

from tracker.store.canonical import NO_HASH
from tracker.store.frames import Sealed
from tracker.store.shapes import in_present_shape

__all__ = ["RecordRow", "digest_of", "is_before", "row_after"]


class RecordRow(NamedTuple):
    """A row of the table `record`, columns in its order."""

    id: str
    kind: str
    shape: int
    key: str
    added_revision: int
    added_entry: int
    body: str


def is_before(row: RecordRow | None, sealed: Sealed) -> bool:
    """Tell whether a record is what an entry says it was before.

    Raises
    ------
    StoreDamagedError
        One of them is of an older shape and cannot be read.
    """
    if row is None or sealed.before is None:
        return row is None and sealed.before is None
    if row.kind != sealed.kind:
        return False
    if row.shape == sealed.shape:
        return row.body == sealed.before
    return in_present_shape(row.kind, row.shape, row.body) == in_present_shape(
        sealed.kind, sealed.shape, sealed.before
    )


def row_after(
    row: RecordRow | None, sealed: Sealed, revision: int, position: int
) -> RecordRow | None:
    """Return a record's row after an entry; a record keeps its place until it is removed."""
    if sealed.after is None:
        return None
    added = (revision, position) if row is None else (row.added_revision, row.added_entry)
    return RecordRow(sealed.id, sealed.kind, sealed.shape, sealed.key, *added, sealed.after)


_AS_TEXT = "\0".join(["%s"] * len(RecordRow._fields))


def digest_of(rows: Iterable[RecordRow], start: str = NO_HASH) -> str:
    """Fold rows into a digest of the table `record`, or, the second time, out of it."""
    total = int(start, 16)
    for row in rows:
        data = (_AS_TEXT % row).encode("utf-8", "surrogatepass")
        total ^= int.from_bytes(hashlib.sha256(data).digest(), "big")
    return f"{total:064x}"
