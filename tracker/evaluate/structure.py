"""Which changes reshape the graph, and which only move values in it."""

from __future__ import annotations

from tracker.model.changes import Entry
from tracker.model.records import (
    CheckUse,
    Decision,
    Gate,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
)

__all__ = ["is_structural"]


def is_structural(entry: Entry) -> bool:
    """Tell whether an entry changes more than values, words and states."""
    if isinstance(entry.record, Gate):
        return False
    if entry.before is None or entry.after is None:
        return True
    return _structure(entry.before) != _structure(entry.after)


def _structure(record: Record) -> tuple[object, ...]:
    match record:
        case ProgrammeInfo():
            return (record.currency,)
        case Gate():
            return ()
        case Quantity():
            return (record.kind, record.unit, record.choices, record.columns)
        case Requirement():
            return (record.quantity, record.part)
        case Decision():
            return (record.owns, record.serves, record.rests_on)
        case CheckUse():
            return (
                record.plugin,
                record.decision,
                record.config,
                record.inputs,
                record.literals,
                record.outputs,
            )
