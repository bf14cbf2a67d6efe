"""The store of a programme: a journal and its projection in SQLite or PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from tracker.errors import StoreWriteError
from tracker.model.changes import Change
from tracker.model.programme import Programme
from tracker.services.ports import AuditReport, Head
from tracker.store.audit import audit
from tracker.store.backend import Backend
from tracker.store.contents import read_content
from tracker.store.current import read_head, read_records
from tracker.store.examine import Stored
from tracker.store.faults import cause, reading, unreachable
from tracker.store.journal import (
    BATCH,
    read_batch,
    read_changes,
    read_own,
    revisions_touching,
)
from tracker.store.writer import SqlWriter, refused

__all__ = ["SqlStore"]


class SqlStore:
    """A programme's journal and its projection. Used from one thread.

    Parameters
    ----------
    backend : Backend
        Database whose schema is up to date.
    """

    def __init__(self, backend: Backend) -> None:
        self._backend = backend
        self.name = backend.name

    def head(self) -> Head:
        """Return the present head.

        Raises
        ------
        tracker.errors.StoreDamagedError
            The projection does not stand where the journal ends.
        """
        with self._reading() as connection:
            row = read_head(connection)
        return Head(row.revision, row.hash)

    def load(self) -> tuple[Head, Programme]:
        """Return the present records, from the projection, in the order they were added.

        Raises
        ------
        tracker.errors.StoreDamagedError
            The projection is not what the journal put there.
        """
        with self._reading() as connection:
            row = read_head(connection)
            records = read_records(connection, row)
        return Head(row.revision, row.hash), Programme(records)

    def changes(self, after: int = 0, upto: int | None = None) -> Iterator[Change]:
        """Iterate over stored changes with `after < revision ≤ upto`, oldest first.

        No lock is held between two changes; what is appended meanwhile is left out.

        Raises
        ------
        tracker.errors.StoreDamagedError
            A change is missing, its bytes do not hold, or a record cannot be read.
        """
        end = self.head().revision
        yield from read_changes(self._fetch, after, end if upto is None else min(upto, end))

    def touching(self, record_id: str) -> Iterator[Change]:
        """Iterate over the stored changes that touch a record, with its own entries, oldest first.

        What else a change holds is not read, so its size does not matter. No lock is held between
        two batches; what is appended meanwhile is left out.

        Raises
        ------
        tracker.errors.StoreDamagedError
            A change is missing, its header or an entry on the record does not hold, or the record
            cannot be read.
        """
        with self._reading() as connection:
            revisions = revisions_touching(connection, record_id)
        for start in range(0, len(revisions), BATCH):
            with self._reading() as connection:
                changes = read_own(connection, record_id, revisions[start : start + BATCH])
            yield from changes

    def content(self, sha256: str) -> bytes:
        """Return what a baseline froze.

        Parameters
        ----------
        sha256 : str
            Its hash, as the baseline names it.

        Raises
        ------
        tracker.errors.StoreDamagedError
            It is not there, or its bytes do not have that hash.
        """
        with self._reading() as connection:
            return read_content(connection, sha256)

    @contextmanager
    def writing(self) -> Iterator[SqlWriter]:
        """Take the write lock; leaving the context commits durably, or rolls back on an error.

        Raises
        ------
        tracker.errors.StoreUnreachableError
            The lock cannot be had in time, or the store is read-only.
        tracker.errors.StoreWriteError
            The commit or its sync failed; nothing is stored.
        """
        connection = self._locked()
        try:
            with reading(self.name):
                writer = SqlWriter(connection, self.name)
            yield writer
            self._commit(connection, writer)
        finally:
            connection.close()

    def audit(self, expect: str = "") -> AuditReport:
        """Replay the journal from empty and compare every byte and every projected row.

        Parameters
        ----------
        expect : str
            A head hash known from elsewhere that the journal must contain.

        Raises
        ------
        tracker.errors.StoreUnreachableError
            The database cannot be opened at all. Damage is reported, not raised.
        """
        with self._reading() as connection, self._backend.undecoded(connection):
            return audit(connection, self._backend.check_pages, expect)

    def close(self) -> None:
        """Release the store."""
        self._backend.engine.dispose()

    def _fetch(self, after: int, upto: int) -> list[Stored]:
        with self._reading() as connection:
            return read_batch(connection, after, upto)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with reading(self.name), self._backend.engine.connect() as connection:
            self._backend.snapshot(connection)
            yield connection

    def _locked(self) -> Connection:
        try:
            connection = self._backend.engine.connect()
        except SQLAlchemyError as error:
            raise unreachable(self.name, error) from error
        try:
            self._backend.lock(connection)
        except SQLAlchemyError as error:
            connection.close()
            raise unreachable(self.name, error) from error
        return connection

    def _commit(self, connection: Connection, writer: SqlWriter) -> None:
        if writer.failure is not None:
            raise writer.failure
        try:
            connection.commit()
        except DBAPIError as error:
            if self._backend.take_back(connection):
                raise refused(self.name, error) from error
            raise StoreWriteError(
                f"the commit of revision {writer.head.revision} failed ({cause(error)}), and "
                "whether it was stored is not sure",
                item=self.name,
                remedy="Look whether the journal ends with it before committing again",
            ) from error
