"""Reading stored changes that may have been damaged: what holds, what does not, and where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from tracker.errors import StoreDamagedError
from tracker.model.changes import Change, Entry
from tracker.store.canonical import sha256
from tracker.store.faults import AUDIT
from tracker.store.frames import Sealed, decoded, parse_header, unseal
from tracker.store.shapes import read_record

__all__ = ["ChangeRow", "EntryRow", "Stored", "examine", "read_change"]

ChangeRow: TypeAlias = tuple[Any, ...]
"""revision, hash, at, author, reason, body: whatever the database holds there."""
EntryRow: TypeAlias = tuple[Any, ...]
"""revision, position, kind, record id, shape, body: whatever the database holds there."""


@dataclass(frozen=True, slots=True)
class Stored:
    """One change as the database gives it: nothing about it is known to hold.

    Parameters
    ----------
    whole : bool
        Whether `entries` are all that the change has, not just those asked for.
    """

    change: ChangeRow
    entries: Sequence[EntryRow]
    whole: bool = True


def examine(
    stored: Stored, previous: str | None
) -> tuple[list[str], list[tuple[int, Sealed]], dict[str, Any]]:
    """Check one stored change by itself and against the hash before it.

    Parameters
    ----------
    stored : Stored
        The change as the database gives it.
    previous : str or None
        Hash of the change before it; None when that is not known.

    Returns
    -------
    problems : list of str
        One sentence each, with revision and entry.
    entries : list of (int, Sealed)
        Position and content of the entries that can be read, in order.
    header : dict
        Fields of the header; empty when it cannot be read.
    """
    revision, _, _, _, _, body = stored.change
    try:
        header = parse_header(decoded(body))
    except ValueError as error:
        return [f"revision {revision}: the header cannot be read ({error})"], [], {}
    problems = [f"revision {revision}: {each}" for each in _header_faults(stored, header, previous)]
    entries = []
    digests = dict(enumerate(header["entries"], 1))
    for row in stored.entries:
        where = f"revision {revision}, entry {row[1]}"
        sealed, faults = _examine_entry(row, digests.pop(row[1], None))
        problems += [f"{where}: {each}" for each in faults]
        if sealed is not None:
            entries.append((row[1], sealed))
    if stored.whole:
        problems += [f"revision {revision}, entry {each}: it is missing" for each in digests]
    return problems, entries, header


def _header_faults(stored: Stored, header: dict[str, Any], previous: str | None) -> Iterator[str]:
    revision, digest, at, author, reason, body = stored.change
    if sha256(body) != digest:
        yield "the header does not have the hash stored beside it"
    if previous is not None and header["previous"] != previous:
        yield "it does not follow the change before it (another hash before it)"
    columns = {"revision": revision, "at": at, "author": author, "reason": reason}
    for name, value in columns.items():
        if header[name] != value:
            yield f"the column {name} differs from the header"


def _examine_entry(row: EntryRow, digest: object) -> tuple[Sealed | None, list[str]]:
    _, _, kind, record_id, shape, body = row
    faults = []
    if digest is None:
        faults.append("the header knows no such entry")
    elif not isinstance(body, bytes) or sha256(body) != digest:
        faults.append("its bytes do not have the digest in the header")
    try:
        sealed = unseal(body)
    except ValueError as error:
        return None, [*faults, f"it cannot be read ({error})"]
    columns = {"kind": kind, "record_id": record_id, "shape": shape}
    written = {"kind": sealed.kind, "record_id": sealed.id, "shape": sealed.shape}
    faults += [
        f"the column {name} differs from its bytes"
        for name, value in columns.items()
        if value != written[name]
    ]
    return sealed, faults


def read_change(stored: Stored, previous: str | None) -> Change:
    """Read a stored change whose bytes hold, with the entries that are there.

    Raises
    ------
    StoreDamagedError
        They do not, or a record cannot be read.
    """
    problems, entries, header = examine(stored, previous)
    if problems:
        raise StoreDamagedError(problems[0], item="the journal", remedy=AUDIT)
    return Change(
        revision=header["revision"],
        hash=stored.change[1],
        author=header["author"],
        at=header["at"],
        reason=header["reason"],
        based_on=header["based_on"],
        undoes=header["undoes"],
        entries=tuple(_entry(header["revision"], *each) for each in entries),
    )


def _entry(revision: int, position: int, sealed: Sealed) -> Entry:
    kind, shape = sealed.kind, sealed.shape
    try:
        before = None if sealed.before is None else read_record(kind, shape, sealed.before)
        after = None if sealed.after is None else read_record(kind, shape, sealed.after)
    except StoreDamagedError as error:
        where = f"revision {revision}, entry {position}"
        raise StoreDamagedError(error.message, item=where, remedy=AUDIT) from error
    return Entry(before, after)
