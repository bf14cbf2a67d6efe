"""Making and opening the store of a programme, wherever it lives."""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from tracker.errors import StoreError, StoreUnreachableError
from tracker.store.backend import Backend, PostgresBackend, SqliteBackend
from tracker.store.faults import reading, unreachable
from tracker.store.schema import SCHEMA, migrate, version_of
from tracker.store.sql_store import SqlStore

__all__ = ["PATIENCE", "create_store", "open_store"]

PATIENCE = 5.0
"""Seconds to wait for another program's lock."""


def create_store(location: str | Path, *, patience: float = PATIENCE) -> SqlStore:
    """Make the store of a new, empty programme and open it.

    Parameters
    ----------
    location : str or Path
        A file that does not exist yet, or the URL of a PostgreSQL database without a programme.
    patience : float
        Seconds to wait for another program's lock.

    Raises
    ------
    StoreUnreachableError
        Something is there already, or nothing can be made there.
    """
    place = _place_of(location)
    if isinstance(place, URL):
        return _filled(_postgres(place, patience))
    _make_file(place)
    try:
        return _filled(SqliteBackend(place, patience))
    except BaseException:
        for tail in ("", "-wal", "-shm"):
            Path(f"{place}{tail}").unlink(missing_ok=True)
        raise


def open_store(location: str | Path, *, patience: float = PATIENCE) -> SqlStore:
    """Open the store of a programme; tables of an older version are brought up to date.

    Parameters
    ----------
    location : str or Path
        File, or URL of a PostgreSQL database.
    patience : float
        Seconds to wait for another program's lock.

    Raises
    ------
    StoreUnreachableError
        There is no such store, or it cannot be reached.
    StoreError
        It holds no programme, or one of a newer version.
    """
    place = _place_of(location)
    backend = _postgres(place, patience) if isinstance(place, URL) else _sqlite(place, patience)
    try:
        _bring_up_to_date(backend)
    except BaseException:
        backend.engine.dispose()
        raise
    return SqlStore(backend)


def _place_of(location: str | Path) -> Path | URL:
    if isinstance(location, Path) or "://" not in location:
        return Path(location)
    scheme = location.partition(":")[0]
    try:
        url = make_url(location)
    except (ArgumentError, ValueError) as error:
        raise StoreUnreachableError(f"the {scheme} URL cannot be read") from error
    if url.get_backend_name() == "sqlite" and url.database:
        return Path(url.database)
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    raise StoreUnreachableError(
        f"a programme cannot live under {scheme}:",
        remedy="Name a file, or a database as postgresql://USER@HOST/NAME",
    )


def _postgres(url: URL, patience: float) -> PostgresBackend:
    try:
        return PostgresBackend(url, patience)
    except ModuleNotFoundError as error:
        raise StoreUnreachableError(
            "the PostgreSQL driver is not installed", remedy="pip install 'whybone[postgres]'"
        ) from error


def _sqlite(path: Path, patience: float) -> SqliteBackend:
    if not path.is_file():
        raise StoreUnreachableError(
            "there is no such file", item=str(path), remedy="`whybone new` makes a programme"
        )
    return SqliteBackend(path, patience)


def _make_file(path: Path) -> None:
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o666))
    except FileExistsError as error:
        raise StoreUnreachableError(
            "there is a file of this name already",
            item=str(path),
            remedy="Choose another name: a programme never overwrites a file",
        ) from error
    except OSError as error:
        raise StoreUnreachableError(
            f"no file can be made there ({error.strerror})", item=str(path)
        ) from error


def _filled(backend: Backend) -> SqlStore:
    try:
        with backend.engine.connect() as connection:
            backend.lock_schema(connection)
            if version_of(connection):
                raise StoreUnreachableError(
                    "there is a programme already", item=backend.name, remedy="Open it instead"
                )
            migrate(connection)
            connection.commit()
    except SQLAlchemyError as error:
        raise unreachable(backend.name, error) from error
    finally:
        backend.engine.dispose()
    return SqlStore(backend)


def _bring_up_to_date(backend: Backend) -> None:
    with reading(backend.name), backend.engine.connect() as connection:
        version = version_of(connection)
    if version == SCHEMA:
        return
    if not version:
        raise StoreError(
            "it holds no programme", item=backend.name, remedy="`whybone new` makes one"
        )
    with reading(backend.name), backend.engine.connect() as connection:
        backend.lock_schema(connection)
        migrate(connection, item=backend.name)
        connection.commit()
    backend.engine.dispose()
