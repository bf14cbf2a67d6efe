"""Which items and which revisions a history is about."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tracker.errors import InputError, UnknownKeyError
from tracker.model.programme import Programme
from tracker.model.records import (
    Action,
    CheckUse,
    Decision,
    Deviation,
    Evidence,
    Record,
    Requirement,
    Risk,
)
from tracker.model.texts import check_date
from tracker.services.journal import revision_named
from tracker.services.session import Reading

__all__ = ["Period", "Scope", "area_of", "item_scope", "period_of", "whole"]

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True, slots=True)
class Scope:
    """The items a history is about.

    Parameters
    ----------
    words : str
        What it is, in words.
    ids : frozenset of str or None
        Ids of the items; None for all.
    lead : str
        Id of the item it is built around; empty for all.
    """

    words: str
    ids: frozenset[str] | None = None
    lead: str = ""

    def holds(self, record_id: str) -> bool:
        """Return whether an item belongs to it."""
        return self.ids is None or record_id in self.ids


@dataclass(frozen=True, slots=True)
class Period:
    """The first and the last revision of a history."""

    first: int
    last: int


def period_of(reading: Reading, first: str = "", last: str = "") -> Period:
    """Read a period: each end a revision, a date, a baseline or a gate; both are inclusive.

    Raises
    ------
    UnknownRevisionError
        An end means no revision.
    InputError
        There is no change in between.
    """
    found = Period(
        _end(reading, first, "from") if first else 1,
        _end(reading, last, "to") if last else reading.head.revision,
    )
    if not 0 < found.first <= found.last <= reading.head.revision:
        raise InputError(
            f"no change lies between revision {found.first} and revision {found.last}",
            field="--from",
            remedy=f"The journal has revisions 1 to {reading.head.revision}",
        )
    return found


def _end(reading: Reading, text: str, side: str) -> int:
    if not _DATE.fullmatch(text):
        return revision_named(reading, text)
    day = check_date(text, item="period", field=f"--{side}")
    days = [
        (each.revision, each.at[:10]) for each in reading.store.changes(0, reading.head.revision)
    ]
    if side == "from":
        return next((revision for revision, at in days if at >= day), reading.head.revision + 1)
    return max((revision for revision, at in days if at <= day), default=0)


def whole() -> Scope:
    """Take everything."""
    return Scope("the whole programme")


def item_scope(programme: Programme, key: str) -> Scope:
    """Take one item.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = _named(programme, key)
    return Scope(f"item {record.key}", frozenset({record.id}), record.id)


def area_of(programme: Programme, key: str) -> Scope:
    """Take an item with everything its value or choice comes from and goes to.

    Values are followed through quantities, checks, requirements and the decisions that set or carry
    them, upstream and downstream; what serves, accepts, shows or is about any of it belongs to it.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = _named(programme, key)
    down, up = defaultdict(list), defaultdict(list)
    for source, target in _flows(programme):
        down[source].append(target)
        up[target].append(source)
    inside = _closure(record.id, down) | _closure(record.id, up)
    if isinstance(record, Decision):
        inside |= set(record.serves)
    inside |= {each.id for each in programme if _touches(each, inside)}
    carriers = (each.decision for each in programme.of(CheckUse) if each.id in inside)
    ids = frozenset(inside | set(carriers))
    return Scope(f"{record.key} with all that is upstream and downstream of it", ids, record.id)


def _named(programme: Programme, key: str) -> Record:
    record = programme.find(key)
    if record is None:
        raise UnknownKeyError(
            f"nothing is called {key[:80]!r}", remedy="`whybone list KIND` shows the keys there are"
        )
    return record


def _flows(programme: Programme) -> Iterator[tuple[str, str]]:
    """Yield what goes into what, as pairs of ids."""
    for record in programme:
        match record:
            case Decision():
                yield from ((record.id, each) for each in record.owns)
                yield from ((each, record.id) for each in record.rests_on)
            case CheckUse():
                yield from ((ref.id, record.id) for ref in record.inputs.values())
                yield from ((record.id, each) for each in record.outputs.values())
            case Requirement():
                yield from ((each, record.id) for each in (record.quantity, *record.parents))
            case _:
                pass


def _closure(start: str, following: Mapping[str, Iterable[str]]) -> set[str]:
    seen, pending = {start}, [start]
    while pending:
        new = set(following.get(pending.pop(), ())) - seen
        seen |= new
        pending += new
    return seen


def _touches(record: Record, inside: set[str]) -> bool:
    """Return whether a record serves, accepts, shows or is about something inside."""
    match record:
        case Decision():
            about: Iterable[str] = record.serves
        case Deviation():
            about = (record.requirement, record.decision)
        case Action() | Risk() | Evidence():
            about = record.about
        case _:
            about = ()
    return not inside.isdisjoint(about)
