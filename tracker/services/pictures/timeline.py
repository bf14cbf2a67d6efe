"""The journal over time: when was changed how much by whom, beside the gates.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.pictures.timeline import timeline

    session = open_session("programme.db")
    for month in timeline(session).months:
        print(month.month, dict(month.authors))
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from tracker.model.changes import Change
from tracker.model.records import Gate
from tracker.services.session import Reading
from tracker.services.wording import visible

__all__ = ["STRETCH", "GateMark", "Month", "TimelineView", "timeline"]

STRETCH = 500
"""Changes read at a time."""

_MONTH = len("2026-01")


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """The changes of a month.

    Parameters
    ----------
    month : str
        Year and month as ISO 8601 writes them: `2026-01`.
    authors : tuple of (name, changes)
        Who made how many, in the order of their names.
    first, last : int
        The lowest and the highest revision among them.
    """

    month: str
    authors: tuple[tuple[str, int], ...]
    first: int
    last: int

    @property
    def count(self) -> int:
        """All changes."""
        return sum(count for _, count in self.authors)


@dataclass(frozen=True, slots=True, kw_only=True)
class GateMark:
    """A gate and its date."""

    key: str
    title: str
    date: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineView:
    """The journal by month, as far as it has been read.

    Parameters
    ----------
    read : int
        The revision it has been read up to.
    months : tuple of Month
        Months with changes, oldest first.
    gates : tuple of GateMark
        By date.
    """

    revision: int
    read: int
    months: tuple[Month, ...]
    gates: tuple[GateMark, ...]


def timeline(
    reading: Reading, so_far: TimelineView | None = None, most: int | None = None
) -> TimelineView:
    """Count the changes of the journal by month and author.

    Parameters
    ----------
    so_far : TimelineView, optional
        What has been read already: the rest is added to it.
    most : int, optional
        How many changes to read now; all when not told.
    """
    start = so_far.read if so_far is not None else 0
    end = reading.head.revision if most is None else min(start + most, reading.head.revision)
    months = {each.month: each for each in (so_far.months if so_far is not None else ())}
    for month in _counted(reading.store.changes(start, end)):
        held = months.get(month.month)
        months[month.month] = month if held is None else _added(held, month)
    gates = [
        GateMark(key=each.key, title=visible(each.title), date=each.date)
        for each in reading.programme.of(Gate)
    ]
    return TimelineView(
        revision=reading.head.revision,
        read=end,
        months=tuple(months[each] for each in sorted(months)),
        gates=tuple(sorted(gates, key=lambda each: (each.date, each.key))),
    )


def _counted(changes: Iterable[Change]) -> list[Month]:
    counts: dict[str, Counter[str]] = {}
    ends: dict[str, tuple[int, int]] = {}
    for change in changes:
        month = change.at[:_MONTH]
        counts.setdefault(month, Counter())[visible(change.author)] += 1
        low, high = ends.get(month, (change.revision, change.revision))
        ends[month] = (min(low, change.revision), max(high, change.revision))
    return [
        Month(month=month, authors=tuple(sorted(found.items())), first=low, last=high)
        for month, found in counts.items()
        for low, high in [ends[month]]
    ]


def _added(one: Month, other: Month) -> Month:
    """Return a month read in two parts as one."""
    authors = Counter(dict(one.authors)) + Counter(dict(other.authors))
    return replace(
        one,
        authors=tuple(sorted(authors.items())),
        first=min(one.first, other.first),
        last=max(one.last, other.last),
    )
