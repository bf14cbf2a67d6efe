"""Traces of earlier runs in a file of the user's cache folder.

The file is a convenience: it may be deleted at any time, and whatever is wrong with it means no
more than that checks run once more. Each trace carries a SHA-256 over its key and its body and
counts only where that holds.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from tracker.host.trace_base import (
    ForeignFileError,
    OutdatedFileError,
    damaged,
    open_base,
    throw_away,
    write,
)

__all__ = ["FILE_NAME", "TraceFile", "trace_folder"]

FILE_NAME = "traces.sqlite3"
_LIMIT = 32 * 2**20
_DAY = 86_400
_SUM = 32
_Result = TypeVar("_Result")


def trace_folder(variables: Mapping[str, str]) -> Path | None:
    """Return where traces are kept.

    Parameters
    ----------
    variables : mapping of str to str
        Environment variables. `WHYBONE_TRACES` names the folder; empty or `off` means nowhere.
        Without it, it is `whybone` in the user's cache folder.

    Returns
    -------
    Path or None
        None when no traces are kept.
    """
    told = variables.get("WHYBONE_TRACES")
    if told is not None:
        return None if told.strip() in ("", "off") else Path(told)
    cache = Path(variables.get("XDG_CACHE_HOME", ""))
    if cache.is_absolute():  # XDG Base Directory Specification 0.8: a relative one is ignored
        return cache / "whybone"
    try:
        return Path.home() / ".cache" / "whybone"
    except RuntimeError:  # nobody is at home
        return None


class TraceFile:
    """Implements `tracker.evaluate.tracing.Traces`. Belongs to one thread.

    Parameters
    ----------
    folder : Path
        Where the file is or will be.
    environment : callable
        Gives what traces depend on besides their keys, asked once, at the first need; empty where
        nobody can tell, and then there are no traces.
    code_holds : callable
        Tells whether the code on disk is still the code whose results are kept. Asked before
        anything is written: what newer code gave must not count as the older code's.
    limit : int
        Bytes the file may take before the traces unused for longest are dropped.
    """

    def __init__(
        self,
        folder: Path,
        environment: Callable[[], bytes],
        code_holds: Callable[[], bool],
        limit: int = _LIMIT,
    ) -> None:
        self._path = folder / FILE_NAME
        self._environment = environment
        self._code_holds = code_holds
        self._limit = limit
        self._salt: bytes | None = None
        self._base: sqlite3.Connection | None = None
        self._given_up = False
        self._renewed = False
        self._fresh: dict[bytes, bytes] = {}
        self._used: set[bytes] = set()

    def recall(self, key: bytes) -> bytes | None:
        """Return what was kept under a key; None where there is nothing that verifies."""
        place = self._place(key)
        if not place or place in self._fresh:
            return self._fresh.get(place)
        row = self._trying(lambda base: _row(base, place))
        if row is None:
            return None
        whole, used = row
        if not isinstance(whole, bytes) or whole[:_SUM] != _sum(place, whole[_SUM:]):
            return None
        if not isinstance(used, int) or abs(time.time() - used) > _DAY:
            self._used.add(place)  # once a day is often enough to know what is out of use
        return whole[_SUM:]

    def keep(self, key: bytes, body: bytes) -> None:
        """Take in a trace; it is written at the next `flush`."""
        place = self._place(key)
        if place:
            self._fresh[place] = body

    def flush(self) -> None:
        """Write what was taken in, and which traces were of use, in one transaction."""
        fresh = {place: _sum(place, body) + body for place, body in self._fresh.items()}
        used, now = self._used, int(time.time())
        self._fresh, self._used = {}, set()
        if (fresh or used) and self._code_holds():
            self._trying(lambda base: write(base, fresh, used, now, self._limit))

    def close(self) -> None:
        """Release the file; the next recall opens it again."""
        base, self._base = self._base, None
        if base is not None:
            with suppress(sqlite3.Error):
                base.close()

    def _place(self, key: bytes) -> bytes:
        if self._salt is None:
            self._salt = self._environment()
        return sha256(self._salt + key).digest() if self._salt else b""

    def _trying(self, action: Callable[[sqlite3.Connection], _Result]) -> _Result | None:
        """Do something with the file, or without it where that cannot be."""
        if self._given_up:
            return None
        try:
            self._base = self._base or open_base(self._path)
            return action(self._base)
        except (sqlite3.Error, OSError, ForeignFileError, OutdatedFileError) as error:
            self.close()
            self._given_up = not self._renew(error)
            return None

    def _renew(self, error: Exception) -> bool:
        """Throw a damaged file away, once; tell whether a new one may take its place."""
        if self._renewed or not damaged(error):
            return False
        self._renewed = True
        try:
            throw_away(self._path)
        except OSError:
            return False
        return True


def _row(base: sqlite3.Connection, place: bytes) -> tuple[object, object] | None:
    row: tuple[object, object] | None = base.execute(
        "SELECT body, used FROM trace WHERE key = ?", (place,)
    ).fetchone()
    return row


def _sum(place: bytes, body: bytes) -> bytes:
    return sha256(place + body).digest()
