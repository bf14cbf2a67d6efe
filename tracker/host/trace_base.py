"""The database file behind traces: opening it, writing to it, keeping it small.

A file that is no database, or was made by another version of this module, may be thrown away; one
that belongs to another user or another program is left alone.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Collection, Mapping
from pathlib import Path

__all__ = ["ForeignFileError", "OutdatedFileError", "damaged", "open_base", "throw_away", "write"]

_APPLICATION = 0x57425452  # says in the file's header that it is ours
_FORMAT = 1
_MODE = 0o600
_PATIENCE = 0.1  # seconds to wait for another process
_ROOM = 0.75  # share of the limit that is left in use after dropping
_TABLE = "CREATE TABLE trace (key BLOB PRIMARY KEY, body BLOB NOT NULL, used INTEGER NOT NULL)"
_DROP = """
DELETE FROM trace WHERE key IN (
    SELECT key FROM (
        SELECT key, sum(2 * length(key) + length(body) + 32) OVER (ORDER BY used DESC, key) AS size
        FROM trace
    ) WHERE size > ?
)
"""
_PASSING = {  # nothing is wrong with the file itself
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_NOMEM,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_READONLY,
}


class ForeignFileError(Exception):
    """The file belongs to another user or another program."""


class OutdatedFileError(Exception):
    """The file was made by another version of this module."""


def damaged(error: Exception) -> bool:
    """Tell whether an error means that the file can never be used again."""
    code = getattr(error, "sqlite_errorcode", None)  # only where the database itself complains
    broken = code is not None and code & 0xFF not in _PASSING  # the low byte is the kind
    return broken or isinstance(error, OutdatedFileError)


def open_base(path: Path) -> sqlite3.Connection:
    """Open the file, making it and its folder when they are not there.

    Raises
    ------
    ForeignFileError
        It belongs to another user or another program.
    OutdatedFileError
        Another version made it.
    OSError, sqlite3.Error
        It cannot be made, opened or read.
    """
    _make(path)
    base = sqlite3.connect(path, timeout=_PATIENCE, isolation_level=None)
    try:
        _prepare(base)
    except BaseException:
        base.close()
        raise
    return base


def _make(path: Path) -> None:
    """Make the file for this user alone, or see that it is this user's own."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, _MODE))
    except FileExistsError:
        state = path.lstat()
        own = not hasattr(os, "getuid") or state.st_uid == os.getuid()
        if not (stat.S_ISREG(state.st_mode) and own):
            raise ForeignFileError(path) from None
        if stat.S_IMODE(state.st_mode) != _MODE:
            path.chmod(_MODE)


def _prepare(base: sqlite3.Connection) -> None:
    if _mark(base) == (0, 0):
        _create(base)
    application, version = _mark(base)
    if application != _APPLICATION:
        raise ForeignFileError
    if version != _FORMAT:
        raise OutdatedFileError
    base.execute("PRAGMA journal_mode = WAL")
    base.execute("PRAGMA synchronous = OFF")  # what a power cut takes is computed again


def _mark(base: sqlite3.Connection) -> tuple[int, int]:
    (application,) = base.execute("PRAGMA application_id").fetchone()
    (version,) = base.execute("PRAGMA user_version").fetchone()
    return application, version


def _create(base: sqlite3.Connection) -> None:
    base.execute("BEGIN IMMEDIATE")
    with base:
        (things,) = base.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if things == 0:  # else another process was faster, or it is a stranger's
            base.execute(_TABLE)
            base.execute(f"PRAGMA application_id = {_APPLICATION}")
            base.execute(f"PRAGMA user_version = {_FORMAT}")


def write(
    base: sqlite3.Connection,
    fresh: Mapping[bytes, bytes],
    used: Collection[bytes],
    now: int,
    limit: int,
) -> None:
    """Write new traces and which old ones were of use, in one transaction.

    Parameters
    ----------
    fresh : mapping of bytes to bytes
        Key → body.
    used : collection of bytes
        Keys.
    now : int
        Seconds since the epoch.
    limit : int
        Bytes the file may take before the traces unused for longest are dropped.

    Raises
    ------
    sqlite3.Error
        It cannot be written.
    """
    base.execute("BEGIN IMMEDIATE")
    with base:
        base.executemany("UPDATE trace SET used = ? WHERE key = ?", ((now, each) for each in used))
        rows = ((key, body, now) for key, body in fresh.items())
        base.executemany("INSERT OR REPLACE INTO trace VALUES (?, ?, ?)", rows)
        full = _size(base) > limit
        if full:
            base.execute(_DROP, (int(limit * _ROOM),))
    if full:
        base.execute("VACUUM")  # the rest is spread over all pages of the file


def _size(base: sqlite3.Connection) -> int:
    (page,) = base.execute("PRAGMA page_size").fetchone()
    (pages,) = base.execute("PRAGMA page_count").fetchone()
    return int(page * pages)


def throw_away(path: Path) -> None:
    """Delete the file.

    Raises
    ------
    OSError
        It cannot be deleted.
    """
    for tail in ("", "-wal", "-shm"):
        Path(f"{path}{tail}").unlink(missing_ok=True)
