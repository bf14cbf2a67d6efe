"""Which changes reshape the graph, and which only move values in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from operator import attrgetter
from typing import Any

from tracker.model.changes import Entry
from tracker.model.records import (
    Baseline,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Gate,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
)

__all__ = ["is_structural", "resourced"]

_SHAPING = (ProgrammeInfo, Quantity, Requirement, Decision, CheckUse, Deviation, Baseline)
"""Records that bring something into the graph, or expire it, by being there."""


def is_structural(entry: Entry) -> bool:
    """Tell whether an entry changes more than values, words and states."""
    before, after = entry.before, entry.after
    if before is None or after is None:
        return isinstance(entry.record, _SHAPING)
    return _structure(before) != _structure(after)


def resourced(entries: Iterable[Entry]) -> Iterator[str]:
    """Iterate over the ids of the quantities that entries may give another source or value."""
    for each in entries:
        for record in (each.before, each.after):
            match record:
                case Quantity():
                    yield record.id
                case Decision():
                    yield from record.owns
                case CheckUse():
                    yield from record.outputs.values()


def _structure(record: Record) -> object:
    found = _STRUCTURE.get(type(record))
    return None if found is None else found(record)


def _decision(record: Decision) -> tuple[object, ...]:
    gone = record.state is DecisionState.WITHDRAWN
    return gone, record.owns, record.serves, record.rests_on


def _deviation(record: Deviation) -> tuple[object, ...]:
    far = (None if each is None else each.value for each in (record.lower, record.upper))
    return record.requirement, record.expires, *far


_STRUCTURE: Mapping[type[Record], Callable[[Any], object]] = {
    ProgrammeInfo: attrgetter("currency"),
    Quantity: attrgetter("kind", "unit", "choices", "columns"),
    Requirement: attrgetter("quantity", "part"),
    Decision: _decision,
    CheckUse: attrgetter("plugin", "decision", "config", "inputs", "literals", "outputs"),
    Deviation: _deviation,
    Gate: attrgetter("date"),
}
"""What of a record shapes the graph, or says which deviations are in force."""
