"""Records by their present keys, wherever they are told about."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tracker.model.records import Record

__all__ = ["Namer", "names_of"]

Namer = Callable[[str], Record | None]
"""Finds a record by id."""


def names_of(ids: Iterable[str], namer: Namer) -> str:
    """List records by key; an id stands for one that is gone."""
    found = ((each, namer(each)) for each in ids)
    return ", ".join(record.key if record else each for each, record in found) or "nothing"
