"""Trials: values, options to lean to and new items, tried together.

An edit is an address with what is typed there. The address of a decision names the option to lean
to; a settled decision is reopened for that, so that its other options can be tried at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

from tracker.model.changes import Entry, merged
from tracker.model.records import Basis, Decision, DecisionState
from tracker.services.deciding import lean_entries, reopen_entries
from tracker.services.edits import value_entries
from tracker.services.intake import Document, intake_entries
from tracker.services.session import Reading

__all__ = ["trial_entries"]


def trial_entries(
    reading: Reading,
    edits: Mapping[str, object],
    documents: Sequence[Document] = (),
    basis: Basis | None = None,
) -> tuple[Entry, ...]:
    """Turn a trial into journal entries, one per record.

    Parameters
    ----------
    reading : Reading
        The programme it is about.
    edits : mapping of str to object
        Address → value as typed; decision → key of the option to lean to.
    documents : sequence of Document
        New items; they may refer to each other and to what the edits change.
    basis : Basis, optional
        Basis of the new values; a guess when not told.

    Raises
    ------
    InputError
        An edit or an item does not hold; item and field are named.
    """
    values = dict(edits)
    leans = [each for each in edits if isinstance(reading.programme.find(each), Decision)]
    entries: list[Entry] = []
    for key in leans:
        entries += _leaning(reading, key, str(values.pop(key)))
    with _in_force(reading, entries):
        entries += value_entries(reading, values, basis)
    if documents:
        with reading.trying(entries):
            added = intake_entries(reading, documents)
        entries += added
    return merged(entries)


def _leaning(reading: Reading, key: str, option: str) -> tuple[Entry, ...]:
    """Lean to an option; a settled decision is reopened first."""
    settled = reading.programme.named(key, Decision).state is DecisionState.SETTLED
    reopened = reopen_entries(reading, key) if settled else ()
    with _in_force(reading, reopened):
        return merged((*reopened, *lean_entries(reading, key, option)))


@contextmanager
def _in_force(reading: Reading, entries: Sequence[Entry]) -> Iterator[None]:
    """Let the records, and nothing computed from them, be as entries have them."""
    held = tuple(entries)
    reading.programme.apply(held)
    try:
        yield
    finally:
        reading.programme.take_back(held)
