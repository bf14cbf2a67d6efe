"""What an item is called in a line: its statement, question or title."""

from __future__ import annotations

from tracker.model.records import Baseline, Decision, Deviation, Record, Requirement
from tracker.services.wording import visible

__all__ = ["title_of"]


def title_of(record: Record) -> str:
    """Return what a record is about, in one line."""
    match record:
        case Requirement():
            return visible(record.statement)
        case Decision():
            return visible(record.question)
        case Deviation():
            return visible(record.extent)
        case Baseline():
            return f"revision {record.revision}"
        case _:
            return visible(record.title)
