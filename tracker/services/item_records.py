"""What a gate is walked through with, ready to show: titles, fields, texts, rows of lists."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.evaluate.deviations import is_expired
from tracker.model.records import (
    Action,
    Baseline,
    Decision,
    Deviation,
    Evidence,
    Gate,
    Record,
    Risk,
)
from tracker.services.gate_words import extent_text
from tracker.services.gates.evidence import evidence_state
from tracker.services.naming import names_of
from tracker.services.session import Reading
from tracker.services.views import ListLine
from tracker.services.wording import visible

__all__ = [
    "WALKED",
    "state_of",
    "told_facts",
    "told_paragraphs",
    "walked_facts",
    "walked_rows",
    "walked_title",
]

_Pair = tuple[str, str]
_Walked = Deviation | Action | Evidence | Risk | Baseline
_SHORT_HASH = 12

WALKED: dict[str, type[_Walked]] = {
    "deviation": Deviation,
    "action": Action,
    "evidence": Evidence,
    "risk": Risk,
    "baseline": Baseline,
}
"""Kind → record type, of what comes with gates."""


def walked_title(reading: Reading, record: Deviation | Baseline) -> str:
    """Return the headline of a record that has no title of its own."""
    find = reading.programme.get
    if isinstance(record, Deviation):
        return f"{names_of((record.requirement,), find)} missed {extent_text(record, find)}"
    return f"{names_of((record.gate,), find)} at revision {record.revision}"


def state_of(reading: Reading, record: Record) -> str:
    """Say in a word or two how such a record stands; empty for kinds that do not."""
    match record:
        case Deviation():
            return "expired" if is_expired(reading.programme, record) else "in force"
        case Action() | Risk():
            return "closed" if record.closed else "open"
        case Baseline():
            return "ready" if record.ready else "not ready"
        case _:
            return ""


def walked_facts(reading: Reading, record: Gate | _Walked) -> Iterator[_Pair]:
    """Yield the short fields of such a record, empty ones among them."""
    yield "state", state_of(reading, record)
    match record:
        case Gate():
            yield "date", record.date
            yield from sorted(record.criteria.items())
        case Deviation():
            yield from _deviation(reading, record)
        case Action():
            yield from _due(reading, record)
            yield "closed on", record.closed_on
        case Risk():
            yield "likelihood", record.likelihood.value
            yield "consequence", record.consequence.value
            yield from _due(reading, record)
        case Evidence():
            yield "place", record.place
            yield "SHA-256", record.sha256
            yield "file", evidence_state(reading.tools.files, record)
            yield "dated", record.dated
            yield "about", _names(reading, record.about)
        case _:
            yield from _baseline(reading, record)


def _names(reading: Reading, ids: tuple[str, ...]) -> str:
    return names_of(ids, reading.programme.get) if ids else ""


def _some(text: str) -> tuple[str, ...]:
    return (text,) if text else ()


def _deviation(reading: Reading, deviation: Deviation) -> Iterator[_Pair]:
    yield "accepts a miss of", _names(reading, (deviation.requirement,))
    yield "extent", extent_text(deviation, reading.programme.get)
    yield "approver", deviation.approver
    yield "expires at", _names(reading, (deviation.expires,))
    yield "for", _names(reading, _some(deviation.decision))


def _due(reading: Reading, record: Action | Risk) -> Iterator[_Pair]:
    yield "owner", record.owner
    yield "due at", _names(reading, _some(record.gate))
    yield "about", _names(reading, record.about)


def _baseline(reading: Reading, baseline: Baseline) -> Iterator[_Pair]:
    yield "gate", _names(reading, (baseline.gate,))
    yield "revision", str(baseline.revision)
    yield "head", baseline.head
    yield "content", baseline.content
    yield from sorted(baseline.criteria.items())
    yield from sorted(baseline.versions.items())


def told_facts(reading: Reading, decision: Decision) -> Iterator[_Pair]:
    """Yield who took part in a decision and what took its place."""
    yield "participants", ", ".join(decision.participants)
    yield "superseded by", _names(reading, _some(decision.superseded_by))


def told_paragraphs(record: Record) -> Iterator[_Pair]:
    """Yield the long texts of such a record, and of a decision those beside its reasons."""
    match record:
        case Decision():
            yield from ((f"dissent of {who}", text) for who, text in record.dissent.items())
            yield "assumptions", "\n".join(record.assumptions)
            told = (f"{e.on} {e.by}: {e.outcome}, {e.reason}" for e in record.reviews)
            yield "reviews", "\n".join(told)
        case Deviation():
            yield "extent", record.extent
            yield "reason", record.reason
            yield "consequences", record.consequences
        case Action():
            yield "closed", record.closed
        case Evidence():
            yield "note", record.note
        case Risk():
            yield "response", record.response
            yield "closed", record.closed
        case _:
            return


def walked_rows(reading: Reading, kind: str) -> Iterator[ListLine]:
    """Yield the list of one of the kinds, in the order they were added."""
    for each in reading.programme.of(WALKED[kind]):
        told = [state_of(reading, each), *(visible(text) for text in _told(reading, each))]
        yield ListLine(
            key=each.key,
            title=_title(reading, each),
            sign="",
            text="; ".join(text for text in told if text),
        )


def _title(reading: Reading, record: _Walked) -> str:
    if isinstance(record, Deviation | Baseline):
        return walked_title(reading, record)
    return visible(record.title)


def _told(reading: Reading, record: _Walked) -> Iterator[str]:
    """Yield what a row of a list says besides the state."""
    match record:
        case Deviation():
            yield f"until {_names(reading, (record.expires,))}"
            yield f"approver {record.approver}"
        case Action():
            yield record.owner
            yield f"due at {_names(reading, (record.gate,))}" if record.gate else ""
        case Risk():
            yield f"likelihood {record.likelihood}, consequence {record.consequence}"
            yield record.owner
        case Evidence():
            yield record.place
            yield record.dated
        case _:
            yield f"head {record.head[:_SHORT_HASH]}"
