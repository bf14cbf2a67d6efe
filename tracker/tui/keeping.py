"""Keeping what is typed on disk: one small file for each thing, replaced whole.

A file that cannot be read as what it should be is set aside under another name, never deleted.
Writing happens on a thread of its own, so that no key waits for the disk.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

__all__ = ["Keeper", "Thing", "state_folder"]

_SHAPE = 1
_LONGEST = 16 * 1024 * 1024
_MOST = 2000
_ASIDE = ".unreadable"

Body = dict[str, Any]


def state_folder(environ: Mapping[str, str], home: Path) -> Path:
    """Return where the program may keep what a user has under way.

    Parameters
    ----------
    environ : mapping of str to str
        The environment.
    home : Path
        The user's home folder.

    Notes
    -----
    After the XDG Base Directory Specification 0.8: a relative `XDG_STATE_HOME` is ignored.
    """
    named = environ.get("XDG_STATE_HOME", "")
    base = Path(named) if named and Path(named).is_absolute() else home / ".local" / "state"
    return base / "whybone"


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that was kept.

    Parameters
    ----------
    kind : str
        What sort of thing it is.
    name : str
        Its name among its sort.
    body : dict
        JSON data; whoever knows the sort checks it.
    """

    kind: str
    name: str
    body: Body


class Keeper:
    """Keeps things in a folder.

    Parameters
    ----------
    folder : Path
        Made when it is first needed, readable by nobody else.
    trouble : callable
        Told in words what could not be written; called on the writing thread.
    """

    def __init__(self, folder: Path, trouble: Callable[[str], object]) -> None:
        self._folder = folder
        self._trouble = trouble
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="keeper")
        self._lock = Lock()
        self._waiting: dict[Path, Thing | None] = {}
        self._told = False

    def things(self) -> tuple[tuple[Thing, ...], tuple[str, ...]]:
        """Read what is kept, oldest first; return with it the names of files set aside."""
        found, aside = [], []
        for path in self._files():
            thing = _read(path)
            if thing is None:
                aside.append(self._set_aside(path))
            else:
                found.append(thing)
        return tuple(found), tuple(aside)

    def _files(self) -> list[Path]:
        dated = []
        with suppress(OSError):
            for each in self._folder.glob("*.json"):
                with suppress(OSError):
                    dated.append((each.stat().st_mtime_ns, each.name, each))
        return [path for *_, path in sorted(dated)[-_MOST:]]

    def set_aside(self, thing: Thing) -> str:
        """Set a thing aside whose body is not what it should be; return the file's new name."""
        return self._set_aside(self._path(thing.kind, thing.name))

    def _set_aside(self, path: Path) -> str:
        number, aside = 1, path.with_suffix(_ASIDE)
        while aside.exists():
            number += 1
            aside = path.with_suffix(f".{number}{_ASIDE}")
        with suppress(OSError):
            path.rename(aside)
        return aside.name

    def keep(self, thing: Thing) -> None:
        """Keep a thing, in place of what had its name."""
        self._later(self._path(thing.kind, thing.name), thing)

    def drop(self, kind: str, name: str) -> None:
        """Keep a thing no longer."""
        self._later(self._path(kind, name), None)

    def close(self) -> None:
        """Finish writing."""
        self._pool.shutdown(wait=True)

    def _path(self, kind: str, name: str) -> Path:
        return self._folder / f"{_stem(kind, name)}.json"

    def _later(self, path: Path, thing: Thing | None) -> None:
        """Write in a moment; what is asked for until then replaces it."""
        with self._lock:
            asked = path in self._waiting
            self._waiting[path] = thing
        if not asked:
            self._pool.submit(self._write, path)

    def _write(self, path: Path) -> None:
        with self._lock:
            thing = self._waiting.pop(path)
        try:
            if thing is None:
                path.unlink(missing_ok=True)
            else:
                self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                _replace(path, _text(thing))
        except OSError as error:
            if not self._told:
                self._trouble(f"What is typed is not kept on disk: {error.strerror or error}")
            self._told = True


def _stem(kind: str, name: str) -> str:
    return hashlib.sha256(f"{kind}\0{name}".encode("utf-8", "surrogatepass")).hexdigest()[:40]


def _text(thing: Thing) -> bytes:
    data = {"shape": _SHAPE, "kind": thing.kind, "name": thing.name, "body": thing.body}
    return json.dumps(data).encode()


def _replace(path: Path, data: bytes) -> None:
    """Put a file in place of another, or leave the other whole."""
    beside = path.with_name(f"{path.name}.{os.getpid()}.new")
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _read(path: Path) -> Thing | None:
    """Read a file that may hold anything; None where it is not one of ours."""
    try:
        if not path.is_file() or path.stat().st_size > _LONGEST:
            return None
        data = json.loads(path.read_bytes())
        json.dumps(data, ensure_ascii=False).encode()  # no half of a surrogate pair
    except (OSError, ValueError, RecursionError):
        return None
    match data:
        case {"shape": 1, "kind": str(kind), "name": str(name), "body": dict(body)}:
            return Thing(kind, name, body) if _stem(kind, name) == path.stem else None
        case _:
            return None
