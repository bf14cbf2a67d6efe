"""What the services need from outside: a store, unit texts, a clock, ids, installed checks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol

from tracker.evaluate.plugin import Loader
from tracker.model.changes import Change, Draft
from tracker.model.programme import Programme
from tracker.model.units import Unit

__all__ = [
    "AuditReport",
    "Catalogue",
    "Clock",
    "Files",
    "Head",
    "Ids",
    "Store",
    "UnitReader",
    "Writer",
]


@dataclass(frozen=True, slots=True)
class Head:
    """Where the journal ends.

    Parameters
    ----------
    revision : int
        Number of changes; 0 in an empty store.
    hash : str
        Hash of the last change, hex; 64 zeros in an empty store.
    """

    revision: int
    hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditReport:
    """What an audit found.

    Parameters
    ----------
    revisions : int
        Changes found in the journal.
    head : str
        Head hash the journal ends with.
    problems : tuple of str
        One sentence each, with the revision and entry it is about; empty when all holds.
    """

    revisions: int
    head: str
    problems: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing was found."""
        return not self.problems


class Writer(Protocol):
    """A held write lock. Leaving its context commits durably, or rolls back on an error."""

    head: Head

    def changes_since(self, revision: int) -> Sequence[Change]:
        """Return the changes after a revision, oldest first."""
        ...

    def append(self, draft: Draft, contents: Mapping[str, bytes] = ...) -> Change:
        """Add a change at the head and bring the projection up to date.

        Parameters
        ----------
        draft : Draft
            The change.
        contents : mapping of str to bytes, optional
            SHA-256 → what a baseline of the change froze, one for each it adds.

        Raises
        ------
        tracker.errors.StoreWriteError
            The write failed; nothing is stored.
        """
        ...


class Store(Protocol):
    """A programme's journal and its projection. Used from one thread."""

    name: str
    """What the store is called in messages: a path or a URL without its password."""

    def head(self) -> Head:
        """Return the present head."""
        ...

    def load(self) -> tuple[Head, Programme]:
        """Return the present records, from the projection."""
        ...

    def changes(self, after: int = 0, upto: int | None = None) -> Iterator[Change]:
        """Iterate over stored changes with `after < revision ≤ upto`, oldest first.

        Raises
        ------
        tracker.errors.StoreDamagedError
            An entry cannot be read.
        """
        ...

    def touching(self, record_id: str) -> Iterator[Change]:
        """Iterate over the stored changes that touch a record, oldest first.

        Each change comes with only its entries on that record, and its hash is checked against its
        header alone: how much else it changed costs next to nothing. `changes` gives whole ones.

        Raises
        ------
        tracker.errors.StoreDamagedError
            A header, or an entry on the record, cannot be read.
        """
        ...

    def content(self, sha256: str) -> bytes:
        """Return what a baseline froze, by its hash.

        Raises
        ------
        tracker.errors.StoreDamagedError
            It is not there, or its bytes do not have that hash.
        """
        ...

    def writing(self) -> AbstractContextManager[Writer]:
        """Take the write lock.

        Raises
        ------
        tracker.errors.StoreUnreachableError
            The lock cannot be had in time, or the store is read-only.
        """
        ...

    def audit(self, expect: str = "") -> AuditReport:
        """Replay the journal from empty and compare every byte and every projected row.

        Parameters
        ----------
        expect : str
            A head hash known from elsewhere that the journal must contain.
        """
        ...

    def close(self) -> None:
        """Release the store."""
        ...


class UnitReader(Protocol):
    """Reads unit texts."""

    def read(self, text: str) -> Unit:
        """Return the unit of a text; an empty text is the pure number.

        Raises
        ------
        tracker.errors.BadUnitError
            The text is no unit.
        """
        ...


class Catalogue(Loader, Protocol):
    """Lists the installed checks as well as loading them."""

    def keys(self) -> tuple[str, ...]:
        """Return the keys of the installed checks, sorted, without importing them."""
        ...


class Files(Protocol):
    """Looks at files of the programme's folder; never leaves the machine."""

    def digest(self, place: str) -> str | None:
        """Return the SHA-256 of a file, hex; None where there is no such file to read.

        Parameters
        ----------
        place : str
            Path; a relative one starts at the programme's folder.
        """
        ...


Clock = Callable[[], str]
"""Returns the present UTC time, RFC 3339 with seconds."""

Ids = Callable[[], str]
"""Returns a new record id, never used before."""
