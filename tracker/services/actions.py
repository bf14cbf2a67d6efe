"""Everything a user can do to a programme, one function each.

Each stores exactly one change and returns its receipt with the ripple, or raises and leaves store
and session as they were. `based_on` is the revision the user looked at, where the session may have
gone on since: what others changed after it is not overwritten unseen.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tracker.errors import DecisionError
from tracker.evaluate.engine import Cancel
from tracker.model.changes import Entry
from tracker.model.records import Basis, Outcome, Review
from tracker.model.texts import check_text
from tracker.services.change_views import Committed, Ripple
from tracker.services.deciding import (
    lean_entries,
    reopen_entries,
    review_entries,
    settle_entries,
    supersede_entries,
    withdraw_entries,
)
from tracker.services.edits import value_entries
from tracker.services.intake import Document, amend_entries, intake_entries
from tracker.services.journal import undo_entries
from tracker.services.ripple import ripple_of, ripple_view
from tracker.services.session import Reading, Session
from tracker.services.trying import trial_entries
from tracker.services.updating import update_entries

__all__ = [
    "add_items",
    "adopt",
    "amend_item",
    "lean",
    "reopen",
    "review",
    "set_values",
    "settle",
    "supersede",
    "try_items",
    "try_trial",
    "try_update",
    "try_values",
    "undo",
    "update_items",
    "withdraw",
]


def try_values(
    reading: Reading, edits: Mapping[str, object], cancel: Cancel | None = None
) -> Ripple:
    """Show what edits would do; nothing is stored.

    Parameters
    ----------
    edits : mapping of str to object
        Address → value as typed.
    """
    return ripple_of(reading, value_entries(reading, edits), cancel)


def try_trial(
    reading: Reading,
    edits: Mapping[str, object],
    documents: Sequence[Document] = (),
    cancel: Cancel | None = None,
) -> Ripple:
    """Show what values, options leaned to and new items would do together; nothing is stored.

    Parameters
    ----------
    edits : mapping of str to object
        Address → value as typed; decision → key of the option to lean to.
    """
    return ripple_of(reading, trial_entries(reading, edits, documents), cancel)


def try_items(
    reading: Reading,
    documents: Sequence[Document],
    places: Sequence[str] = (),
    cancel: Cancel | None = None,
) -> Ripple:
    """Show what adding items would do; nothing is stored."""
    return ripple_of(reading, intake_entries(reading, documents, places), cancel)


def try_update(
    reading: Reading,
    documents: Sequence[Document],
    places: Sequence[str] = (),
    into: str = "",
    cancel: Cancel | None = None,
) -> Ripple:
    """Show what adding or updating quantities would do; nothing is stored."""
    return ripple_of(reading, update_entries(reading, documents, places, into), cancel)


def set_values(
    session: Session,
    edits: Mapping[str, object],
    why: str,
    basis: Basis | None = None,
    *,
    based_on: int | None = None,
) -> Committed:
    """Set quantities, bounds or option values, with a reason.

    Raises
    ------
    DecisionError
        No reason given.
    """
    return _store(
        session, value_entries(session, edits, basis), _reason(why, "set"), based_on=based_on
    )


def adopt(
    session: Session,
    edits: Mapping[str, object],
    why: str,
    basis: Basis | None = None,
    documents: Sequence[Document] = (),
    *,
    based_on: int | None = None,
) -> Committed:
    """Store a trial as one change, with a reason; what it means is worked out on what stands now.

    Raises
    ------
    DecisionError
        No reason given.
    """
    entries = trial_entries(session, edits, documents, basis)
    return _store(session, entries, _reason(why, "store this"), based_on=based_on)


def lean(
    session: Session, decision: str, option: str, why: str = "", *, based_on: int | None = None
) -> Committed:
    """Apply an option provisionally."""
    return _store(
        session,
        lean_entries(session, decision, option),
        why or f"lean to {option} for now",
        based_on=based_on,
    )


def settle(
    session: Session,
    decision: str,
    option: str,
    why: str,
    against: Mapping[str, str],
    *,
    based_on: int | None = None,
) -> Committed:
    """Settle a decision with its rationale and the reasons against the other options."""
    entries = settle_entries(session, decision, option, why, against)
    return _store(session, entries, why, based_on=based_on)


def reopen(session: Session, decision: str, why: str, *, based_on: int | None = None) -> Committed:
    """Open a settled or withdrawn decision again."""
    return _store(
        session, reopen_entries(session, decision), _reason(why, "reopen"), based_on=based_on
    )


def review(
    session: Session,
    decision: str,
    why: str,
    *,
    outcome: Outcome = Outcome.CONFIRMED,
    based_on: int | None = None,
) -> Committed:
    """Say that a settled decision holds on the ground it now has, or that it must be reopened."""
    made = Review(
        by=session.author, outcome=outcome, reason=_reason(why, "review"), on=session.tools.clock()
    )
    return _store(session, review_entries(session, decision, made), why, based_on=based_on)


def withdraw(
    session: Session, decision: str, why: str, *, based_on: int | None = None
) -> Committed:
    """Take a decision out of play."""
    return _store(
        session, withdraw_entries(session, decision), _reason(why, "withdraw"), based_on=based_on
    )


def supersede(
    session: Session, old: str, new: str, why: str, *, based_on: int | None = None
) -> Committed:
    """Let a decision take the place of another, which is withdrawn for that."""
    entries = supersede_entries(session, old, new)
    return _store(session, entries, _reason(why, "supersede"), based_on=based_on)


def add_items(
    session: Session, documents: Sequence[Document], why: str, places: Sequence[str] = ()
) -> Committed:
    """Add items described by documents, all or nothing."""
    entries = intake_entries(session, documents, places)
    return _store(session, entries, _reason(why, "add"))


def update_items(
    session: Session,
    documents: Sequence[Document],
    why: str,
    places: Sequence[str] = (),
    into: str = "",
) -> Committed:
    """Add quantities, and give those there are what the documents state, all or nothing.

    Parameters
    ----------
    documents : sequence of Document
        Quantities by key; a field that is missing or empty leaves what there is.
    places : sequence of str, optional
        Where each document came from, named in errors.
    into : str, optional
        `DECISION/option` that is to state the values.
    """
    entries = update_entries(session, documents, places, into)
    return _store(session, entries, _reason(why, "update"))


def amend_item(
    session: Session,
    key: str,
    fields: Mapping[str, Any],
    why: str,
    *,
    based_on: int | None = None,
) -> Committed:
    """Change the described fields of an item."""
    return _store(
        session, amend_entries(session, key, fields), _reason(why, "amend"), based_on=based_on
    )


def undo(session: Session, revision: int | None = None) -> Committed:
    """Take a change back: the named one, or the author's latest not yet undone."""
    session.refresh()
    undone, entries = undo_entries(session, revision)
    return _store(session, entries, f"undo revision {undone}", undoes=undone)


def _reason(why: str, verb: str) -> str:
    if why.strip():
        return why
    raise DecisionError(
        f"to {verb} needs a reason", field="why", remedy="Say why in one sentence with --why"
    )


def _store(
    session: Session,
    entries: Sequence[Entry],
    reason: str,
    *,
    undoes: int = 0,
    based_on: int | None = None,
) -> Committed:
    check_text(reason, item="change", field="why", long=True)
    stored = session.commit(entries, reason, undoes=undoes, based_on=based_on)
    ripple = ripple_view(session, stored.report, stored.change.entries)
    return Committed(
        revision=stored.change.revision,
        hash=stored.change.hash,
        what=ripple.edits,
        ripple=ripple,
    )
