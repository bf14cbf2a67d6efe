"""The frozen content of baselines: written once, kept compressed under its own hash."""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Mapping, Sequence

from sqlalchemy import Connection, bindparam, select

from tracker.errors import BadValueError, StoreDamagedError
from tracker.model.changes import Entry
from tracker.model.records import Baseline
from tracker.store import tables
from tracker.store.canonical import sha256
from tracker.store.faults import AUDIT
from tracker.store.journal import as_stored
from tracker.store.statements import insert_rows

__all__ = ["content_faults", "read_content", "stray_contents", "write_contents"]

_LEVEL = 6
_table = tables.baseline_content
_ONE = as_stored(_table).where(_table.c.sha256 == bindparam("wanted"))
_KNOWN = select(_table.c.sha256).where(_table.c.sha256.in_(bindparam("wanted", expanding=True)))
_NAMES = as_stored(_table).with_only_columns(_table.c.sha256)


def write_contents(
    connection: Connection, entries: Sequence[Entry], contents: Mapping[str, bytes]
) -> None:
    """Store what the baselines of a change froze.

    Parameters
    ----------
    entries : sequence of Entry
        Those of the change.
    contents : mapping of str to bytes
        SHA-256 → the bytes; one for each baseline the change adds, and no other.

    Raises
    ------
    BadValueError
        A content is missing, has another hash or belongs to no baseline; nothing was written.
    """
    baselines = [each.after for each in entries if isinstance(each.after, Baseline)]
    if not baselines and not contents:
        return
    for each in baselines:
        data = contents.get(each.content)
        if data is None or sha256(data) != each.content:
            raise BadValueError(
                "the content it was frozen with is not there", item=each.key, field="content"
            )
    if set(contents) != {each.content for each in baselines}:
        raise BadValueError("a content belongs to no baseline", item="the change")
    known = set(connection.execute(_KNOWN, {"wanted": list(contents)}).scalars())
    rows = [
        (name, len(data), zlib.compress(data, _LEVEL))
        for name, data in contents.items()
        if name not in known
    ]
    insert_rows(connection, _table, rows)


def read_content(connection: Connection, name: str) -> bytes:
    """Return the content with a hash.

    Raises
    ------
    StoreDamagedError
        It is not there, or not what was frozen.
    """
    data, fault = _read(connection, name)
    if fault:
        raise StoreDamagedError(fault, item=f"baseline content {name[:64]}", remedy=AUDIT)
    return data


def _read(connection: Connection, name: str) -> tuple[bytes, str]:
    """Return a content and what is wrong with it."""
    row = connection.execute(_ONE, {"wanted": name}).one_or_none()
    if row is None:
        return b"", "it is missing"
    _, size, body = row
    try:
        data = zlib.decompress(body)
    except (zlib.error, TypeError) as error:
        return b"", f"it cannot be unpacked ({error})"
    if sha256(data) != name:
        return b"", "its bytes do not have their hash"
    return data, "" if len(data) == size else "the size beside it is wrong"


def content_faults(connection: Connection, name: str) -> Iterator[str]:
    """Say what is wrong with the content of a baseline, if anything."""
    _, fault = _read(connection, name)
    if fault:
        yield f"its content {name[:64]}: {fault}"


def stray_contents(connection: Connection, known: set[str]) -> list[str]:
    """Return the names of contents that belong to no baseline."""
    names = connection.execute(_NAMES).scalars()
    return sorted(str(each) for each in names if each not in known)
