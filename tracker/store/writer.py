"""Appending changes while holding the write lock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from types import MappingProxyType

from sqlalchemy import Connection
from sqlalchemy.exc import SQLAlchemyError

from tracker.errors import StoreWriteError
from tracker.model.changes import Change, Draft
from tracker.services.ports import Head
from tracker.store.contents import write_contents
from tracker.store.current import plan_move, read_head, write_move
from tracker.store.faults import cause, reading
from tracker.store.frames import seal
from tracker.store.journal import read_batch, read_changes, write_change

__all__ = ["SqlWriter"]

_NOTHING: Mapping[str, bytes] = MappingProxyType({})


class SqlWriter:
    """A held write lock on a store.

    Parameters
    ----------
    connection : Connection
        In a transaction that holds the lock.
    name : str
        What the store is called in messages.
    """

    def __init__(self, connection: Connection, name: str) -> None:
        self._connection = connection
        self._name = name
        self._row = read_head(connection)
        self.head = Head(self._row.revision, self._row.hash)
        self.failure: StoreWriteError | None = None
        """The failed write, after which this lock writes nothing more."""

    def changes_since(self, revision: int) -> Sequence[Change]:
        """Return the changes after a revision, oldest first."""
        if revision >= self.head.revision:  # as nearly always: nothing to ask the database for
            return []
        fetch = partial(read_batch, self._connection)
        with reading(self._name):
            return list(read_changes(fetch, revision, self.head.revision))

    def append(self, draft: Draft, contents: Mapping[str, bytes] = _NOTHING) -> Change:
        """Add a change at the head and bring the projection up to date.

        Parameters
        ----------
        draft : Draft
            The change.
        contents : mapping of str to bytes, optional
            SHA-256 → what a baseline of the change froze.

        Raises
        ------
        tracker.errors.StoreWriteError
            The write failed; nothing is stored, and the lock is of no more use.
        tracker.errors.StaleChangeError
            A record is not what its entry says it was before; nothing was written.
        tracker.errors.BadValueError, tracker.errors.BadTextError
            Something cannot be stored; nothing was written.
        """
        if self.failure is not None:
            raise self.failure
        try:
            return self._append(draft, contents)
        except SQLAlchemyError as error:
            self.failure = refused(self._name, error)
            raise self.failure from error

    def _append(self, draft: Draft, contents: Mapping[str, bytes]) -> Change:
        sealed = [seal(each) for each in draft.entries]
        move = plan_move(self._connection, sealed, self.head.revision + 1)
        write_contents(self._connection, draft.entries, contents)
        after = write_change(self._connection, self.head, draft, sealed)
        row = move.head(self._row, after)
        records = {each.id: each.after for each in draft.entries if each.after is not None}
        write_move(self._connection, move, records, row)
        self.head, self._row = after, row
        return Change(
            revision=after.revision,
            hash=after.hash,
            author=draft.author,
            at=draft.at,
            reason=draft.reason,
            based_on=draft.based_on,
            entries=draft.entries,
            undoes=draft.undoes,
        )


def refused(name: str, error: Exception) -> StoreWriteError:
    """Make the error for a write that failed."""
    return StoreWriteError(
        f"the change was refused: {cause(error)}; nothing of it was stored",
        item=name,
        remedy="Mend the cause, then commit again",
    )
