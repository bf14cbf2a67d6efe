"""What screens ask of the engine thread, beyond single services."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tracker.errors import InputError, UnknownRevisionError
from tracker.evaluate.engine import Cancel
from tracker.services.actions import try_trial, undo
from tracker.services.change_views import Committed, JournalLine, Ripple
from tracker.services.intake import Document, intake_entries
from tracker.services.item import item_page
from tracker.services.journal import journal_page
from tracker.services.overview import KINDS, listing
from tracker.services.session import Session
from tracker.services.views import ListLine
from tracker.services.wording import visible
from tracker.tui.plain import plain
from tracker.tui.settable import Settable, settables

__all__ = [
    "Found",
    "Tried",
    "Undone",
    "everything",
    "newest",
    "now_at",
    "programme_identity",
    "redo_named",
    "settables_at",
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


def try_edits(
    session: Session,
    edits: Mapping[str, str],
    cancel: Cancel | None = None,
    documents: Sequence[Document] = (),
) -> Tried:
    """Try edits together; where that fails, find out which of them is to blame."""
    tries = bool(edits or documents)
    try:
        return Tried(edits, try_trial(session, edits, documents, cancel) if tries else None, {})
    except InputError as error:
        blamed = {}
        for address, typed in edits.items():
            try:
                try_trial(session, {address: typed}, (), cancel)
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


def settables_at(session: Session, addresses: Iterable[str]) -> dict[str, Settable]:
    """Return what there is to set at addresses, as far as there is something."""
    wanted, found = list(addresses), {}
    for key in dict.fromkeys(map(_item_of, wanted)):
        try:
            page = item_page(session, key)
        except InputError:
            continue
        found.update({each.address: each for each in settables(page) if each.address in wanted})
    return found


def now_at(session: Session, addresses: tuple[str, ...]) -> dict[str, str]:
    """Return the present texts at addresses, where there is something to set."""
    return {at: each.now for at, each in settables_at(session, addresses).items()}


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


def redo_named(session: Session) -> Undone:
    """Take back the author's latest undo that still holds, and name it.

    Raises
    ------
    UnknownRevisionError
        Nothing was undone since the author's last other change.
    """
    session.refresh()
    revision = _undone_last(session)
    if revision is None:
        raise UnknownRevisionError(
            f"{session.author} has undone nothing since their last other change"
        )
    return undo_named(session, revision)


def _undone_last(session: Session) -> int | None:
    """Walk back over the author's undos and redos to an undo that no redo has taken back."""
    taken: set[int] = set()
    author = visible(session.author)
    for line in _newest_first(session):
        if line.author == author and not line.undoes:
            return None
        if line.undoes and _undoes_an_undo(session, line):
            taken.add(line.undoes)
        elif line.author == author and line.revision not in taken:
            return line.revision
    return None


def _undoes_an_undo(session: Session, line: JournalLine) -> bool:
    return bool(journal_page(session, limit=1, before=line.undoes + 1).lines[0].undoes)


def _newest_first(session: Session) -> Iterator[JournalLine]:
    before: int | None = None
    while lines := journal_page(session, before=before).lines:
        yield from lines
        before = lines[-1].revision


def programme_identity(session: Session) -> str:
    """Return what a programme keeps wherever its store goes: the hash of its first change."""
    return next(iter(session.store.changes(0, 1))).hash


def newest(session: Session) -> int:
    """Take in what others stored and return the revision that makes."""
    session.refresh()
    return session.head.revision
