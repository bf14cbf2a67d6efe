"""What a decision history holds: plain values only, as every format writes them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tracker.model.changes import Change
from tracker.model.records import Decision, Record, Requirement
from tracker.report.history.scope import Period, Scope
from tracker.services.item import item_page
from tracker.services.present import requirement_line
from tracker.services.session import Reading, past
from tracker.services.views import (
    FindingView,
    HistoryLine,
    ItemPage,
    LinkView,
    OptionView,
    RequirementLine,
    ShiftView,
)
from tracker.services.wording import CAUTION, visible
from tracker.services.words import describe

__all__ = ["FORMAT", "HistoryChange", "HistoryContent", "HistoryItem", "HistoryTouch", "history_of"]

FORMAT = "whybone-history"
VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryItem:
    """An item as it stood at the end of the period, with what touched it within.

    The fields are those of `tracker.services.views.ItemPage`.
    """

    key: str
    kind: str
    title: str
    sign: str
    shifted: bool
    facts: tuple[tuple[str, str], ...]
    paragraphs: tuple[tuple[str, str], ...]
    findings: tuple[FindingView, ...]
    options: tuple[OptionView, ...]
    shifts: tuple[ShiftView, ...]
    upstream: tuple[LinkView, ...]
    downstream: tuple[LinkView, ...]
    history: tuple[HistoryLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryTouch:
    """What a change did to one item, one sentence each."""

    item: str
    kind: str
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryChange:
    """A change of the period with what it did to the items the history is about."""

    revision: int
    hash: str
    at: str
    author: str
    reason: str
    undoes: int
    items: tuple[HistoryTouch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryContent:
    """A decision history.

    Parameters
    ----------
    scope : str
        Which items it is about, in words.
    first, last : int
        First and last revision of the period.
    revision, head : int, str
        What its items are shown at: the end of the period.
    at : str
        When that revision was stored, UTC, RFC 3339.
    """

    format: str
    version: int
    title: str
    currency: str
    scope: str
    first: int
    last: int
    revision: int
    head: str
    at: str
    caution: str
    requirements: tuple[RequirementLine, ...]
    items: tuple[HistoryItem, ...]
    changes: tuple[HistoryChange, ...]


def history_of(reading: Reading, scope: Scope, period: Period) -> HistoryContent:
    """Put a history together.

    Parameters
    ----------
    reading : Reading
        The programme at the end of the period or later.
    """
    then = reading if reading.head.revision == period.last else past(reading, period.last)
    programme, info = then.programme, then.programme.info
    changes = tuple(then.store.changes(period.first - 1, period.last))
    return HistoryContent(
        format=FORMAT,
        version=VERSION,
        title=visible(info.title) if info else "",
        currency=info.currency if info else "",
        scope=scope.words,
        first=period.first,
        last=period.last,
        revision=then.head.revision,
        head=then.head.hash,
        at=changes[-1].at,
        caution=CAUTION,
        requirements=tuple(
            requirement_line(then, each)
            for each in programme.of(Requirement)
            if scope.holds(each.id)
        ),
        items=tuple(_items(then, scope, period)),
        changes=tuple(_changes(then, scope, changes)),
    )


def _items(reading: Reading, scope: Scope, period: Period) -> Iterator[HistoryItem]:
    lead = reading.programme.get(scope.lead)
    records: list[Record] = [lead] if lead and not isinstance(lead, Decision) else []
    records += [each for each in reading.programme.of(Decision) if scope.holds(each.id)]
    for record in records:
        yield _item(item_page(reading, record.key), period)


def _item(page: ItemPage, period: Period) -> HistoryItem:
    return HistoryItem(
        key=page.key,
        kind=page.kind,
        title=page.title,
        sign=page.sign,
        shifted=page.shifted,
        facts=page.facts,
        paragraphs=page.paragraphs,
        findings=page.findings,
        options=page.options,
        shifts=page.shifts,
        upstream=page.upstream,
        downstream=page.downstream,
        history=tuple(each for each in page.history if each.revision >= period.first),
    )


def _changes(
    reading: Reading, scope: Scope, changes: tuple[Change, ...]
) -> Iterator[HistoryChange]:
    for change in changes:
        touched = tuple(_touches(reading, scope, change))
        if touched:
            yield HistoryChange(
                revision=change.revision,
                hash=change.hash,
                at=change.at,
                author=visible(change.author),
                reason=visible(change.reason),
                undoes=change.undoes,
                items=touched,
            )


def _touches(reading: Reading, scope: Scope, change: Change) -> Iterator[HistoryTouch]:
    own = {each.id: each.record for each in change.entries}
    for entry in change.entries:
        if scope.holds(entry.id):
            yield HistoryTouch(
                item=entry.record.key,
                kind=entry.kind,
                what=describe(entry, lambda each: reading.programme.get(each) or own.get(each)),
            )
