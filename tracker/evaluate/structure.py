"""Which changes reshape the graph, and which only move values in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.model.changes import Entry
from tracker.model.records import (
    CheckUse,
    Decision,
    Gate,
    ProgrammeInfo,
    Quantity,
    Requirement,
)

__all__ = ["is_structural", "resourced"]

_Shaped = ProgrammeInfo | Quantity | Requirement | Decision | CheckUse


def is_structural(entry: Entry) -> bool:
    """Tell whether an entry changes more than values, words and states."""
    before, after = entry.before, entry.after
    if isinstance(before, Gate) or isinstance(after, Gate):
        return False
    if before is None or after is None:
        return True
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


def _structure(record: _Shaped) -> tuple[object, ...]:
    match record:
        case ProgrammeInfo():
            return (record.currency,)
        case Quantity():
            return (record.kind, record.unit, record.choices, record.columns)
        case Requirement():
            return (record.quantity, record.part)
        case Decision():
            return (record.owns, record.serves, record.rests_on)
        case _:
            return (
                record.plugin,
                record.decision,
                record.config,
                record.inputs,
                record.literals,
                record.outputs,
            )
