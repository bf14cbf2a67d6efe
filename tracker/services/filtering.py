"""Lists across all kinds of item: broken, shifted, guessed, accepted, still to be done."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass

from tracker.errors import BadValueError
from tracker.evaluate.standing import Standing
from tracker.evaluate.verdict import Verdict
from tracker.model.records import (
    Action,
    BasisKind,
    Decision,
    Deviation,
    Gate,
    Quantity,
    Record,
    Requirement,
    Risk,
    kind_of,
)
from tracker.services.gates.grounds import setting_of
from tracker.services.gates.order import due_by
from tracker.services.overview import KINDS, listing
from tracker.services.session import Reading
from tracker.services.views import ListLine

__all__ = ["FILTERS", "Filtered", "FilteredLine", "filtered", "owed_at"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilteredLine:
    """An item that meets the filters, as a row of a list."""

    kind: str
    line: ListLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Filtered:
    """What meets some filters.

    Parameters
    ----------
    lines : tuple of FilteredLine
        By kind.
    counts : mapping of str to int
        Filter → how many items it finds with the same narrowing by owner and gate.
    """

    revision: int
    lines: tuple[FilteredLine, ...]
    counts: Mapping[str, int]


def _broken(reading: Reading) -> Iterator[Record]:
    state, graph = reading.engine.state, reading.engine.graph
    for each in reading.programme.of(Decision):
        found = state.standings.get(each.id)
        if found is not None and found.standing is Standing.BROKEN:
            yield each
    for judged in reading.programme.of(Requirement):
        finding = state.findings[graph.judges_of[judged.id][0]]
        missed = finding is not None and finding.judgement.verdict is Verdict.MISSED
        if missed and finding is not None and not finding.deviation:
            yield judged


def _shifted(reading: Reading) -> Iterator[Record]:
    for each in reading.programme.of(Decision):
        if each.id in reading.engine.state.shifts:
            yield each


def _guessed(reading: Reading) -> Iterator[Record]:
    for each in reading.programme.of(Quantity):
        setting = setting_of(reading, each)
        stated = setting is not None and setting.value is not None
        if stated and setting is not None and setting.basis.kind is BasisKind.GUESS:
            yield each


def _deviations(reading: Reading) -> Iterator[Record]:
    yield from reading.programme.of(Deviation)


def _actions(reading: Reading) -> Iterator[Record]:
    yield from (each for each in reading.programme.of(Action) if not each.closed)


FILTERS: Mapping[str, tuple[str, Callable[[Reading], Iterator[Record]]]] = {
    "broken": ("broken or missed", _broken),
    "shifted": ("shifted", _shifted),
    "guess": ("known by a guess", _guessed),
    "deviation": ("deviations", _deviations),
    "action": ("open actions", _actions),
}
"""Name → what it is called, and what finds its items."""


def filtered(
    reading: Reading, names: Collection[str], *, owner: str = "", gate: str = ""
) -> Filtered:
    """Return what meets one of some filters.

    Parameters
    ----------
    names : collection of str
        Keys of `FILTERS`; what meets any of them is found. Without one, every item is.
    owner : str, optional
        Only what this person owns or approved.
    gate : str, optional
        Only what is due, or expires, at this gate or an earlier one.

    Raises
    ------
    BadValueError
        There is no such filter.
    UnknownKeyError
        There is no such gate.
    """
    strangers = sorted(set(names) - set(FILTERS))
    if strangers:
        raise BadValueError(
            f"{strangers[0][:40]!r} is no filter",
            field="filter",
            remedy="Filters: " + ", ".join(FILTERS),
        )
    due = due_by(reading.programme, reading.programme.named(gate, Gate)) if gate else None

    def wanted(record: Record) -> bool:
        return (not owner or _owned(record, owner)) and (due is None or _due(record) in due)

    found = {
        name: [each for each in find(reading) if wanted(each)]
        for name, (_, find) in FILTERS.items()
    }
    kept = (
        [each for name in names for each in found[name]]
        if names
        else [each for each in reading.programme if wanted(each)]
    )
    return Filtered(
        revision=reading.head.revision,
        lines=tuple(_lines(reading, kept)),
        counts={name: len(each) for name, each in found.items()},
    )


def owed_at(reading: Reading, gate: str) -> tuple[FilteredLine, ...]:
    """Return the deviations that end, and the open actions and risks due, at a gate or earlier.

    Raises
    ------
    UnknownKeyError
        There is no such gate.
    """
    due = due_by(reading.programme, reading.programme.named(gate, Gate))
    return tuple(_lines(reading, [each for each in reading.programme if _owed(each, due)]))


def _owed(record: Record, due: Collection[str]) -> bool:
    match record:
        case Action() | Risk():
            return record.gate in due and not record.closed
        case Deviation():
            return record.expires in due
        case _:
            return False


def _owned(record: Record, owner: str) -> bool:
    match record:
        case Requirement() | Decision() | Action() | Risk():
            return record.owner.casefold() == owner.casefold()
        case Deviation():
            return record.approver.casefold() == owner.casefold()
        case _:
            return False


def _due(record: Record) -> str:
    match record:
        case Requirement() | Decision() | Action() | Risk():
            return record.gate
        case Deviation():
            return record.expires
        case _:
            return ""


def _lines(reading: Reading, records: list[Record]) -> Iterator[FilteredLine]:
    keys: dict[str, set[str]] = {}
    for each in records:
        keys.setdefault(kind_of(each), set()).add(each.key)
    for kind in KINDS:
        if kind in keys:
            for line in listing(reading, kind).lines:
                if line.key in keys[kind]:
                    yield FilteredLine(kind=kind, line=line)
