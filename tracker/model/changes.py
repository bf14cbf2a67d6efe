"""Changes: what the journal is made of.

An entry puts or removes one record and carries it before and after, so that it can be inverted and
compared without looking anywhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracker.model.records import Record, kind_of

__all__ = ["Change", "Draft", "Entry", "inverse", "merged"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One record before and after; `before` None adds it, `after` None removes it."""

    before: Record | None
    after: Record | None

    @property
    def record(self) -> Record:
        """The record, after if there is one."""
        record = self.after if self.after is not None else self.before
        assert record is not None  # noqa: S101 - an entry without any record cannot be built by a caller
        return record

    @property
    def id(self) -> str:
        """Id of the record."""
        return self.record.id

    @property
    def kind(self) -> str:
        """Kind of the record."""
        return kind_of(self.record)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A change that is not stored yet.

    Parameters
    ----------
    based_on : int
        Revision the author saw.
    undoes : int
        Revision this change inverts; 0 when it is no undo.
    """

    author: str
    at: str
    reason: str
    based_on: int
    entries: tuple[Entry, ...]
    undoes: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A stored change.

    Parameters
    ----------
    revision : int
        Counted from 1.
    at : str
        UTC time, RFC 3339.
    hash : str
        SHA-256 over the canonical bytes, the previous hash included; hex.
    """

    revision: int
    hash: str
    author: str
    at: str
    reason: str
    based_on: int
    entries: tuple[Entry, ...]
    undoes: int = 0


def inverse(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries that take these back, last first."""
    return tuple(Entry(each.after, each.before) for each in reversed(entries))


def merged(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Fold several entries on one record into one, and drop those that change nothing."""
    folded: dict[str, Entry] = {}
    for each in entries:
        seen = folded.get(each.id)
        folded[each.id] = each if seen is None else Entry(seen.before, each.after)
    return tuple(each for each in folded.values() if each.before != each.after)
