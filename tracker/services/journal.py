"""The journal: reading it, undoing from it, comparing two of its revisions."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.errors import UndoConflictError, UnknownRevisionError
from tracker.model.changes import Change, Entry, inverse
from tracker.model.records import Baseline, Gate
from tracker.services.change_views import (
    Comparison,
    JournalLine,
    JournalPage,
)
from tracker.services.comparing import finding_changes, newly_shifted, standing_changes
from tracker.services.gates.order import latest_baseline
from tracker.services.item_changes import item_changes
from tracker.services.packs.trace import Trace
from tracker.services.session import Reading, Session, past
from tracker.services.wording import CAUTION, visible
from tracker.services.words import describe

__all__ = ["compare", "journal_page", "revision_named", "undo_entries"]

_CHUNK = 100
_LONGEST = 10  # digits of a revision


def journal_page(reading: Reading, limit: int = 50, before: int | None = None) -> JournalPage:
    """Return a stretch of the journal, newest first.

    Parameters
    ----------
    limit : int
        How many changes at most.
    before : int, optional
        Only changes before this revision.
    """
    top = reading.head.revision if before is None else min(before - 1, reading.head.revision)
    changes = list(reading.store.changes(max(0, top - limit), max(0, top)))
    return JournalPage(
        revision=reading.head.revision,
        head=reading.head.hash,
        lines=tuple(_line(reading, each) for each in reversed(changes)),
    )


def _line(reading: Reading, change: Change) -> JournalLine:
    return JournalLine(
        revision=change.revision,
        hash=change.hash,
        at=change.at,
        author=visible(change.author),
        reason=visible(change.reason),
        undoes=change.undoes,
        what=tuple(_words(reading, change)),
    )


def _words(reading: Reading, change: Change) -> Iterator[str]:
    own = {each.id: each.record for each in change.entries}
    for entry in change.entries:
        yield from describe(entry, lambda each: reading.programme.get(each) or own.get(each))


def _newest_first(reading: Reading) -> Iterator[Change]:
    top = reading.head.revision
    while top > 0:
        low = max(0, top - _CHUNK)
        yield from reversed(list(reading.store.changes(low, top)))
        top = low


def undo_entries(session: Session, revision: int | None) -> tuple[int, tuple[Entry, ...]]:
    """Return the entries that take a change back, and its revision.

    Parameters
    ----------
    revision : int, optional
        Which change; the author's latest not yet undone when not told.

    Raises
    ------
    UnknownRevisionError
        There is no such change, or nothing to undo.
    UndoConflictError
        Later changes touched the same records; they are named.
    """
    change = _wanted(session, revision)
    touched = {each.id for each in change.entries if session.programme.get(each.id) != each.after}
    if touched:
        later = [
            str(each.revision)
            for each in session.store.changes(change.revision)
            if touched & {entry.id for entry in each.entries}
        ]
        raise UndoConflictError(
            f"revision {change.revision} cannot be undone: later changes touched the same items",
            item="revision " + ", ".join(later),
            remedy="Undo those first, or set the values you want",
        )
    return change.revision, inverse(change.entries)


def _wanted(session: Session, revision: int | None) -> Change:
    if revision is None:
        return _latest_own(session)
    if not 1 <= revision <= session.head.revision:
        raise UnknownRevisionError(
            f"there is no revision {revision}",
            remedy=f"The journal has revisions 1 to {session.head.revision}",
        )
    return next(session.store.changes(revision - 1, revision))


def _latest_own(session: Session) -> Change:
    """Return the author's latest change that is not undone and undoes nothing."""
    undone: set[int] = set()
    for change in _newest_first(session):
        if change.revision in undone:
            continue
        if change.undoes:
            undone.add(change.undoes)
        elif change.author == session.author:
            return change
    raise UnknownRevisionError(
        f"{session.author} has no change left to undo", remedy="`whybone log` shows the journal"
    )


def compare(reading: Reading, earlier: int, later: int) -> Comparison:
    """Compare two revisions in engineering words, worst first.

    Raises
    ------
    UnknownRevisionError
        The journal has no such revision.
    """
    old, new = past(reading, earlier), past(reading, later)
    further = new if later >= earlier else old
    return Comparison(
        earlier=earlier,
        later=later,
        standings=standing_changes(old, new),
        look=newly_shifted(old, new),
        findings=finding_changes(old, new),
        items=item_changes(old, new, Trace(further, since=min(earlier, later))),
        caution=CAUTION,
    )


def revision_named(reading: Reading, name: str) -> int:
    """Return the revision a text means: its number, a baseline, or a gate's latest baseline.

    Raises
    ------
    UnknownRevisionError
        It means none.
    """
    if name.isascii() and name.isdigit() and len(name) < _LONGEST:
        return int(name)
    record = reading.programme.find(name)
    if isinstance(record, Gate):
        record = latest_baseline(reading.programme, record)
        if record is None:
            raise UnknownRevisionError(
                "nothing was frozen at this gate yet",
                item=name,
                remedy=f"`whybone gate freeze {name} --why TEXT` freezes it",
            )
    if isinstance(record, Baseline):
        return record.revision
    raise UnknownRevisionError(
        f"{name[:40]!r} is no revision, baseline or gate",
        remedy="`whybone log` shows the revisions, `whybone gate list` the gates",
    )
