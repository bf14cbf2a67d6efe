"""A programme in memory: its records by id and by key.

`Programme` is a working copy that one owner moves forward and back by entries; it keeps no history.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from tracker.errors import StaleChangeError, UnknownKeyError
from tracker.model.changes import Entry
from tracker.model.records import CheckUse, ProgrammeInfo, Record, kind_of

__all__ = ["Programme"]

R = TypeVar("R", bound=Record)


class Programme:
    """The records of one programme at one revision.

    Parameters
    ----------
    records : iterable of Record
        Records with distinct ids.
    """

    def __init__(self, records: Iterable[Record] = ()) -> None:
        self._records: dict[str, Record] = {}
        self._holders: dict[str, tuple[str, ...]] = {}
        self._ranks: dict[str, tuple[int, ...]] = {}
        self._added = 0
        self._by_type: dict[type, list[Record]] = {}  # as far as asked for since a change
        for each in records:
            self._hold(each)

    def __iter__(self) -> Iterator[Record]:
        return iter(self._records.values())

    def __len__(self) -> int:
        return len(self._records)

    def __contains__(self, record_id: object) -> bool:
        return record_id in self._records

    def get(self, record_id: str) -> Record | None:
        """Return the record with this id, or None."""
        return self._records.get(record_id)

    def find(self, key: str) -> Record | None:
        """Return the record with this key, or None."""
        holders = self._holders.get(key)
        return self._records[holders[-1]] if holders else None

    def holders(self, key: str) -> int:
        """Count the records with this key: more than one only while a change is being checked."""
        return len(self._holders.get(key, ()))

    def at(self, record_id: str, cls: type[R]) -> R:
        """Return the record with this id, known to be of this type.

        Raises
        ------
        UnknownKeyError
            No such record, or of another kind.
        """
        record = self._records.get(record_id)
        if isinstance(record, cls):
            return record
        raise UnknownKeyError(f"no {cls.__name__.lower()} has the id {record_id}")

    def named(self, key: str, cls: type[R]) -> R:
        """Return the record with this key, which must be of this type.

        Raises
        ------
        UnknownKeyError
            No such key, or the item is of another kind.
        """
        record = self.find(key)
        wanted = {CheckUse: "check", ProgrammeInfo: "programme"}.get(cls, cls.__name__.lower())
        if record is None:
            raise UnknownKeyError(
                f"no {wanted} is called {key[:80]!r}",
                remedy=f"`whybone list {wanted}` shows the keys there are",
            )
        if not isinstance(record, cls):
            raise UnknownKeyError(
                f"{key} is a {kind_of(record)}, not a {wanted}",
                item=key,
                remedy=f"`whybone list {wanted}` shows those there are",
            )
        return record

    def of(self, cls: type[R]) -> Iterator[R]:
        """Iterate over the records of one type, in the order they were added."""
        found = self._by_type.get(cls)
        if found is None:
            found = [each for each in self._records.values() if isinstance(each, cls)]
            self._by_type[cls] = found
        return iter(found)  # type: ignore[arg-type] # records of that type

    @property
    def info(self) -> ProgrammeInfo | None:
        """What the programme is called; None in an empty one."""
        return next(self.of(ProgrammeInfo), None)

    def apply(self, entries: Iterable[Entry]) -> None:
        """Move forward by entries, all or nothing.

        Raises
        ------
        StaleChangeError
            A record is not what an entry says it was before.
        """
        entries = tuple(entries)
        for done, each in enumerate(entries):
            if self._records.get(each.id) != each.before:
                self.take_back(entries[:done])
                raise StaleChangeError("the record is not what it was", item=each.record.key)
            self._put(each)

    def take_back(self, entries: Sequence[Entry]) -> None:
        """Take back the entries applied last: every record returns to its place in the order."""
        for each in reversed(entries):
            rank = self._ranks[each.id]
            self._put(Entry(each.after, each.before))
            self._ranks[each.id] = rank if each.before is not None else rank[:-1]
        if any(each.after is None for each in entries):
            self._records = dict(sorted(self._records.items(), key=self._rank))
            self._by_type.clear()

    def _rank(self, item: tuple[str, Record]) -> tuple[int, ...]:
        return self._ranks[item[0]][-1:]

    def _put(self, entry: Entry) -> None:
        if entry.before is not None:
            self._release(entry.before)
        if entry.after is not None:
            self._hold(entry.after)
        else:
            del self._records[entry.id]

    def _release(self, record: Record) -> None:
        self._by_type.pop(type(record), None)
        others = tuple(each for each in self._holders[record.key] if each != record.id)
        if others:
            self._holders[record.key] = others
        else:
            del self._holders[record.key]

    def _hold(self, record: Record) -> None:
        self._by_type.pop(type(record), None)
        if record.id not in self._records:
            self._added += 1
            self._ranks[record.id] = (*self._ranks.get(record.id, ()), self._added)
        self._records[record.id] = record
        self._holders[record.key] = (*self._holders.get(record.key, ()), record.id)

    def copy(self) -> Programme:
        """Return an independent copy (records are shared: they are frozen)."""
        twin = Programme()
        twin._records = dict(self._records)
        twin._holders = dict(self._holders)
        twin._ranks = dict(self._ranks)
        twin._added = self._added
        return twin
