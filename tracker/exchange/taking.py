"""Taking a file in: what it holds, what that would do, and doing it."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.errors import FileFormatError
from tracker.evaluate.engine import Cancel
from tracker.exchange.item_files import ItemFile, read_items
from tracker.exchange.table_files import TableStyle, read_table
from tracker.services.actions import add_items, try_items, try_update, update_items
from tracker.services.change_views import Committed, Ripple
from tracker.services.session import Reading, Session

__all__ = ["TAKEN", "format_of", "read_file", "take_in", "try_file"]

TAKEN = ("csv", "json")
"""Formats of files that are taken in."""


def format_of(file: str, named: str, known: Sequence[str]) -> str:
    """Return the format of a file: as named, else by the end of its name.

    Raises
    ------
    FileFormatError
        Neither says.
    """
    ends = (each for each in sorted(known, key=len) if file.lower().endswith(f".{each}"))
    found = named or next(reversed(list(ends)), "")
    if not found:
        raise FileFormatError(
            "its name does not say what it holds",
            item=file,
            field="--format",
            remedy="Say --format " + " or ".join(known),
        )
    return found


def read_file(data: bytes, name: str, form: str, reading: Reading, style: TableStyle) -> ItemFile:
    """Read a file of items or a table.

    Parameters
    ----------
    data : bytes
        What the file holds.
    name : str
        What it is called in errors.
    form : str
        One of `TAKEN`.

    Raises
    ------
    InputError
        It is not such a file.
    """
    if form == "csv":
        return read_table(data, name, reading, style)
    if style != TableStyle():
        raise FileFormatError(
            "a file of items is no table", item=name, remedy="Leave out what is said about tables"
        )
    return read_items(data, name, reading)


def try_file(
    reading: Reading, found: ItemFile, into: str = "", cancel: Cancel | None = None
) -> Ripple:
    """Show what taking a file in would do; nothing is stored.

    Parameters
    ----------
    into : str, optional
        `DECISION/option` that is to state the values.

    Raises
    ------
    InputError
        It cannot be taken in; every problem is named with its place.
    """
    _check_into(found, into)
    with found.naming_places():
        if found.updates:
            return try_update(reading, found.documents, found.places, into, cancel)
        return try_items(reading, found.documents, found.places, cancel)


def take_in(session: Session, found: ItemFile, reason: str, into: str = "") -> Committed:
    """Take a file in, all of it or nothing; arguments and errors as for `try_file`."""
    _check_into(found, into)
    with found.naming_places():
        if found.updates:
            return update_items(session, found.documents, reason, found.places, into)
        return add_items(session, found.documents, reason, found.places)


def _check_into(found: ItemFile, into: str) -> None:
    if into and not found.updates:
        raise FileFormatError(
            "only points, quantities and tables go into an option", item="", field="--into"
        )
