"""The two databases a programme can live in, and what differs between them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy import Connection, Engine, QueuePool, create_engine, event
from sqlalchemy.engine import URL
from sqlalchemy.exc import SQLAlchemyError

__all__ = ["Backend", "PostgresBackend", "SqliteBackend"]


class Backend(Protocol):
    """What the store asks of a database beyond common SQL."""

    name: str
    engine: Engine

    def snapshot(self, connection: Connection) -> None:
        """Begin a transaction that sees one revision and writes nothing."""
        ...

    def lock(self, connection: Connection) -> None:
        """Begin a transaction that holds the write lock."""
        ...

    def lock_schema(self, connection: Connection) -> None:
        """Begin a transaction in which the tables may be made or rebuilt."""
        ...

    def take_back(self, connection: Connection) -> bool:
        """Make sure that a commit that failed does not come back; tell whether that is sure."""
        ...

    def check_pages(self, connection: Connection) -> list[str]:
        """Return what the database itself finds wrong with its file."""
        ...

    def undecoded(self, connection: Connection) -> AbstractContextManager[None]:
        """Let texts that are no UTF-8 be read, with stand-ins for the broken bytes."""
        ...


class SqliteBackend:
    """A programme in an SQLite file.

    Parameters
    ----------
    path : Path
        The file, which must exist.
    patience : float
        Seconds to wait for another program's lock.
    """

    def __init__(self, path: Path, patience: float) -> None:
        self.name = str(path)
        self._seen_writable = False
        uri = f"{path.absolute().as_uri()}?mode=rw"

        def connect() -> sqlite3.Connection:
            return sqlite3.connect(
                uri, uri=True, timeout=patience, isolation_level=None, check_same_thread=False
            )

        self.engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool, pool_size=1)
        event.listen(self.engine, "connect", _prepare)

    def snapshot(self, connection: Connection) -> None:
        """Begin a read transaction."""
        connection.exec_driver_sql("BEGIN")

    def lock(self, connection: Connection) -> None:
        """Take the write lock; on a read-only file SQLite would begin to read instead."""
        if not self._seen_writable:
            connection.exec_driver_sql("PRAGMA journal_mode = WAL")
            connection.exec_driver_sql("DELETE FROM head WHERE 0")
            self._seen_writable = True
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    def lock_schema(self, connection: Connection) -> None:
        """Take the write lock, with foreign keys off: rebuilding a table drops it first."""
        connection.exec_driver_sql("PRAGMA journal_mode = WAL")
        connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    def take_back(self, connection: Connection) -> bool:
        """Overwrite what the failed commit left in the write-ahead log.

        When only the sync failed, the log holds the whole refused transaction, and the next
        program to open the file after a crash would find it complete. The next commit takes its
        place in the log, so one is made that changes nothing but SQLite's spare number. It needs
        no sync, which may still fail: it only has to be what other programs read.
        """
        try:
            connection.rollback()
            connection.exec_driver_sql("PRAGMA synchronous = OFF")
            spare = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
            connection.exec_driver_sql(f"PRAGMA user_version = {(spare + 1) % 1000}")
            connection.exec_driver_sql("PRAGMA synchronous = FULL")
        except SQLAlchemyError:
            connection.invalidate()
            return False
        return True

    def check_pages(self, connection: Connection) -> list[str]:
        """Run SQLite's own check."""
        rows = connection.exec_driver_sql("PRAGMA integrity_check").scalars()
        return [str(row) for row in rows if row != "ok"]

    @contextmanager
    def undecoded(self, connection: Connection) -> Iterator[None]:
        """Replace bytes that are no UTF-8."""
        raw: Any = connection.connection.driver_connection
        raw.text_factory = _decode_anything
        try:
            yield
        finally:
            raw.text_factory = str


def _prepare(raw: sqlite3.Connection, _record: object) -> None:
    for pragma in ("foreign_keys = ON", "synchronous = FULL", "trusted_schema = OFF"):
        raw.execute(f"PRAGMA {pragma}")


def _decode_anything(data: bytes) -> str:
    return data.decode("utf-8", "replace")


class PostgresBackend:
    """A programme in a PostgreSQL database.

    Parameters
    ----------
    url : URL
        SQLAlchemy URL with the psycopg driver.
    patience : float
        Seconds to wait for another program's lock.
    """

    def __init__(self, url: URL, patience: float) -> None:
        self.name = url.set(query={}).render_as_string(hide_password=True)
        self._patience = f"{patience:.3f}s"
        self.engine = create_engine(url, pool_size=1, pool_pre_ping=True)

    def snapshot(self, connection: Connection) -> None:
        """Begin a read transaction on one snapshot."""
        connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)

    def lock(self, connection: Connection) -> None:
        """Take the write lock: everybody may read, nobody else may write."""
        connection.execution_options(isolation_level="READ COMMITTED")
        connection.exec_driver_sql(
            "SELECT set_config('lock_timeout', %s, true), "
            "set_config('synchronous_commit', 'on', true)",
            (self._patience,),
        )
        connection.exec_driver_sql("LOCK TABLE head IN EXCLUSIVE MODE")

    def lock_schema(self, connection: Connection) -> None:
        """Keep others from making or rebuilding the tables at the same time."""
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(hashtext('whybone'), hashtext(current_schema()))"
        )

    def take_back(self, connection: Connection) -> bool:
        """Tell whether the server was there to refuse the commit itself."""
        return not connection.invalidated

    def check_pages(self, connection: Connection) -> list[str]:  # noqa: ARG002 - the server's own task
        """Return nothing: the server looks after its files."""
        return []

    def undecoded(self, connection: Connection) -> AbstractContextManager[None]:  # noqa: ARG002 - nothing to do
        """Do nothing: the server keeps only valid text."""
        return nullcontext()
