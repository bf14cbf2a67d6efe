"""What screens ask of the engine thread, beyond single services."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.evaluate.engine import Cancel
from tracker.services.actions import try_values, undo
from tracker.services.change_views import Committed, Ripple
from tracker.services.intake import Document, intake_entries
from tracker.services.item import item_page
from tracker.services.journal import journal_page
from tracker.services.overview import KINDS, listing
from tracker.services.session import Session
from tracker.services.views import ListLine
from tracker.tui.plain import plain
from tracker.tui.settable import settables

__all__ = [
    "Found",
    "Tried",
    "Undone",
    "everything",
    "now_at",
    "try_edits",
    "try_item",
    "undo_named",
]


@dataclass(frozen=True, slots=True)
class Found:
    """An item that can be found by key or words."""

    kind: str
    line: ListLine


def everything(session: Session) -> tuple[Found, ...]:
    """Return every item of the programme."""
    return tuple(Found(kind, line) for kind in KINDS for line in listing(session, kind).lines)


@dataclass(frozen=True, slots=True)
class Tried:
    """What a trial came to.

    Parameters
    ----------
    edits : mapping of str to str
        The edits tried.
    ripple : Ripple or None
        What they would do; None where they do not hold.
    errors : mapping of str to str
        What is wrong, by address; by the empty text what no single edit is to blame for.
    """

    edits: Mapping[str, str]
    ripple: Ripple | None
    errors: Mapping[str, str]


def try_edits(session: Session, edits: Mapping[str, str], cancel: Cancel | None = None) -> Tried:
    """Try edits together; where that fails, find out which of them is to blame."""
    try:
        return Tried(edits, try_values(session, edits, cancel) if edits else None, {})
    except InputError as error:
        blamed = {}
        for address, typed in edits.items():
            try:
                try_values(session, {address: typed}, cancel)
            except InputError as own:
                blamed[address] = plain(own, named=False)
        return Tried(edits, None, blamed or {"": plain(error)})


def try_item(session: Session, document: Document) -> InputError | None:
    """Tell whether a new item would be taken; nothing is stored."""
    try:
        with session.trying(intake_entries(session, [document])):
            return None
    except InputError as error:
        return error


def now_at(session: Session, addresses: tuple[str, ...]) -> dict[str, str]:
    """Return the present texts at addresses, where there is something to set."""
    wanted, texts = set(addresses), {}
    for key in dict.fromkeys(_item_of(each) for each in addresses):
        try:
            page = item_page(session, key)
        except InputError:
            continue
        texts.update({each.address: each.now for each in settables(page) if each.address in wanted})
    return texts


def _item_of(address: str) -> str:
    for mark in ("/", "[", "."):
        address = address.partition(mark)[0]
    return address


@dataclass(frozen=True, slots=True)
class Undone:
    """An undo and what it undid."""

    committed: Committed
    revision: int
    reason: str


def undo_named(session: Session, revision: int | None = None) -> Undone:
    """Undo a change and name it."""
    committed = undo(session, revision)
    undid = journal_page(session, limit=1).lines[0].undoes
    reason = journal_page(session, limit=1, before=undid + 1).lines[0].reason
    return Undone(committed, undid, reason)
