"""Database errors in whybone's own terms."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, OperationalError, SQLAlchemyError

from tracker.errors import StoreDamagedError, StoreError, StoreUnreachableError

__all__ = ["AUDIT", "cause", "reading", "unreachable"]

AUDIT = "Run `whybone audit` to see what still holds"
"""What to do about a damaged store."""

_OUT_OF_REACH = {
    sqlite3.SQLITE_BUSY: "another program holds its lock",
    sqlite3.SQLITE_LOCKED: "another program holds its lock",
    sqlite3.SQLITE_CANTOPEN: "the file, or one beside it in its folder, cannot be opened",
    sqlite3.SQLITE_READONLY: "the file is read-only",
    sqlite3.SQLITE_PERM: "the file may not be used",
    sqlite3.SQLITE_AUTH: "the file may not be used",
    sqlite3.SQLITE_IOERR: "the disk reports an error",
    sqlite3.SQLITE_FULL: "the disk is full",
}
_PRIMARY = 0xFF  # SQLite's extended result codes carry the primary code in their low byte


def cause(error: Exception) -> str:
    """Say in one line what the database complains about."""
    origin = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    code = getattr(origin, "sqlite_errorcode", None)
    known = None if code is None else _OUT_OF_REACH.get(code & _PRIMARY)
    first = str(origin).strip().partition("\n")[0]
    return f"{known} ({first})" if known else first


def _out_of_reach(error: Exception) -> bool:
    origin = error.orig if isinstance(error, DBAPIError) else error
    if isinstance(origin, sqlite3.Error):
        code = getattr(origin, "sqlite_errorcode", None)
        return code is not None and code & _PRIMARY in _OUT_OF_REACH
    return isinstance(error, OperationalError) or not isinstance(error, DBAPIError)


def unreachable(name: str, error: Exception) -> StoreUnreachableError:
    """Make the error for a store that cannot be opened or locked."""
    return StoreUnreachableError(
        cause(error),
        item=name,
        remedy="Check the path and its permissions, close other programs on it, then try again",
    )


@contextmanager
def reading(name: str) -> Iterator[None]:
    """Raise what goes wrong while reading as out of reach or as damage.

    Raises
    ------
    StoreUnreachableError, StoreDamagedError
        According to what the database says.
    """
    try:
        yield
    except SQLAlchemyError as error:
        raise _fault(name, error) from error


def _fault(name: str, error: Exception) -> StoreError:
    if _out_of_reach(error):
        return unreachable(name, error)
    return StoreDamagedError(cause(error), item=name, remedy=AUDIT)
