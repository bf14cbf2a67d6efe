"""Finding an item by the key somebody typed."""

from __future__ import annotations

from tracker.errors import UnknownKeyError
from tracker.model.records import Record
from tracker.services.session import Reading

__all__ = ["found"]


def found(reading: Reading, key: str) -> Record:
    """Return an item by its key.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = reading.programme.find(key)
    if record is None:
        raise UnknownKeyError(
            f"nothing is called {key[:80]!r}", remedy="`whybone list KIND` shows the keys there are"
        )
    return record
