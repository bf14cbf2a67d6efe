"""Completing a path: what a folder holds that begins as typed."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from tracker.services.wording import visible

__all__ = ["MOST", "Entries", "PathEntry", "look", "path_typed"]

MOST = 500
"""Most entries of a folder that are shown; typing more of the name finds the others."""


@dataclass(frozen=True, slots=True)
class PathEntry:
    """Something in a folder.

    Parameters
    ----------
    text : str
        The path as it is typed: nothing invisible in it.
    raw : str
        The path as the system knows it.
    name : str
        What the list calls it.
    folder : bool
        Whether it is a folder.
    """

    text: str
    raw: str
    name: str
    folder: bool


@dataclass(frozen=True, slots=True)
class Entries:
    """What a folder holds that begins as typed.

    Parameters
    ----------
    more : int
        How many entries beyond those listed.
    trouble : str
        Why the folder cannot be read; empty where it can.
    """

    folder: str
    entries: tuple[PathEntry, ...] = ()
    more: int = 0
    trouble: str = ""


def path_typed(text: str) -> Path:
    """Return the path that was typed; `~` is the home folder."""
    try:
        return Path(text).expanduser()
    except RuntimeError:  # a home folder nobody knows
        return Path(text)


def look(raw: str, suffixes: Iterable[str] = (), *, folders: bool = False) -> Entries:
    """List what begins as typed, folders first.

    Parameters
    ----------
    raw : str
        The path so far, as the system knows it.
    suffixes : iterable of str
        Ends of the names of files to list; all files when empty.
    folders : bool
        List folders alone.
    """
    lead, begun = os.path.split(raw)
    lead = lead if not lead or lead.endswith(os.sep) else f"{lead}{os.sep}"
    folder = path_typed(lead or ".")
    ends = tuple(suffixes)
    try:
        with os.scandir(folder) as scanned:
            found = [(each.name, each.is_dir()) for each in scanned]
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is no path"
        return Entries(visible(str(folder)), trouble=str(reason))
    kept = [
        (name, is_folder)
        for name, is_folder in found
        if name.casefold().startswith(begun.casefold())
        and (begun.startswith(".") or not name.startswith("."))
        and (is_folder or (not folders and (not ends or name.casefold().endswith(ends))))
    ]
    kept.sort(key=lambda each: (not each[1], each[0].casefold(), each[0]))
    entries = tuple(_entry(lead, name, folder=is_folder) for name, is_folder in kept[:MOST])
    return Entries(visible(str(folder)), entries, max(len(kept) - MOST, 0))


def _entry(lead: str, name: str, *, folder: bool) -> PathEntry:
    tail = os.sep if folder else ""
    raw = f"{lead}{name}{tail}"
    text = visible(raw).replace("\n", "<U+000A>").replace("\t", "<U+0009>")
    return PathEntry(text, raw, visible(name) + tail, folder)
