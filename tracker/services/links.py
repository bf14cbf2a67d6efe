"""An item's neighbours: what it stands on, and what stands on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.model.records import (
    Action,
    Baseline,
    CheckUse,
    Decision,
    Deviation,
    Evidence,
    Gate,
    Quantity,
    Record,
    Requirement,
    Risk,
    kind_of,
)
from tracker.services.item_records import WALKED, state_of, walked_title
from tracker.services.present import (
    address_text,
    check_line,
    decision_line,
    key_of,
    quantity_line,
    requirement_line,
)
from tracker.services.session import Reading
from tracker.services.views import LinkView
from tracker.services.wording import visible

__all__ = ["downstream", "judging", "upstream"]

_Neighbour = tuple[str, str]


def link(reading: Reading, record_id: str, role: str) -> LinkView:
    """Show a neighbour with its present value or standing."""
    record = reading.programme.get(record_id)
    assert record is not None  # noqa: S101 - no record refers to one that is gone
    title, text = _told(reading, record)
    return LinkView(key=record.key, kind=kind_of(record), title=title, role=role, text=text)


def _told(reading: Reading, record: Record) -> tuple[str, str]:
    match record:
        case Quantity():
            quantity = quantity_line(reading, record)
            return quantity.title, f"{quantity.text} {quantity.unit}".strip()
        case Requirement():
            line = requirement_line(reading, record)
            return line.statement, line.finding.verdict
        case Decision():
            decision = decision_line(reading, record)
            return decision.question, decision.standing or decision.state
        case CheckUse():
            check = check_line(reading, record)
            return check.title, check.state
        case Deviation() | Baseline():
            return walked_title(reading, record), state_of(reading, record)
        case _:
            date = record.date if isinstance(record, Gate) else ""
            return visible(record.title), date or state_of(reading, record)


def upstream(reading: Reading, record: Record) -> tuple[LinkView, ...]:
    """Return what an item stands on, nearest first."""
    return tuple(link(reading, each, role) for each, role in _above(reading, record))


def downstream(reading: Reading, record: Record) -> tuple[LinkView, ...]:
    """Return what stands on an item, and last what a gate is walked through with."""
    below = (*_below(reading, record), *_walked_below(reading, record.id))
    return tuple(link(reading, each, role) for each, role in below)


def _walked_below(reading: Reading, record_id: str) -> Iterator[_Neighbour]:
    """Give what is about an item, accepts its miss or belongs to it as a gate."""
    for kind in WALKED.values():
        for each in reading.programme.of(kind):
            yield from _ties(each, record_id)


def _ties(record: Record, other: str) -> Iterator[_Neighbour]:
    match record:
        case Deviation(requirement=each) if each == other:
            yield record.id, "accepts its miss"
        case Deviation(expires=each) if each == other:
            yield record.id, "expires there"
        case Deviation(decision=each) if each == other:
            yield record.id, "accepts a miss for it"
        case Evidence() if other in record.about:
            yield record.id, "shows it"
        case Action() | Risk() if other in record.about:
            yield record.id, "is about it"
        case Action(gate=each) | Risk(gate=each) | Baseline(gate=each) if each == other:
            yield record.id, "was shown there" if isinstance(record, Baseline) else "is due"
        case _:
            return


def _above(reading: Reading, record: Record) -> Iterable[_Neighbour]:
    match record:
        case Quantity():
            graph = reading.engine.graph
            found = graph.owner.get(record.id), graph.writer.get(graph.index[record.id, ""])
            return [(source, "sets it") for source in found if source]
        case Requirement():
            parents = ((each, "it derives from this") for each in record.parents)
            return [(record.quantity, "is judged"), *parents, *_gate(record)]
        case Decision():
            served = ((each, "it serves this") for each in record.serves)
            rests = ((each, "it rests on this") for each in record.rests_on)
            former = ((each.id, "it takes the place of this") for each in _former(reading, record))
            return [*rests, *served, *former, *_gate(record)]
        case CheckUse():
            return _inputs(reading, record)
        case _:
            return _walked_above(record)


def _walked_above(record: Record) -> Iterator[_Neighbour]:
    match record:
        case Deviation():
            yield record.requirement, "it accepts a miss of this"
            yield record.expires, "it expires there"
            if record.decision:
                yield record.decision, "it is for this"
        case Action() | Risk():
            yield from ((each, "it is about this") for each in record.about)
            yield from _gate(record)
        case Evidence():
            yield from ((each, "it shows this") for each in record.about)
        case Baseline():
            yield record.gate, "it was shown there"
        case _:
            return


def _gate(record: Requirement | Decision | Action | Risk) -> list[_Neighbour]:
    return [(record.gate, "it is due there")] if record.gate else []


def _former(reading: Reading, decision: Decision) -> Iterator[Decision]:
    for each in reading.programme.of(Decision):
        if each.superseded_by == decision.id:
            yield each


def _inputs(reading: Reading, use: CheckUse) -> Iterator[_Neighbour]:
    graph = reading.engine.graph
    loaded = graph.nodes[graph.position[use.id]].loaded
    for port in loaded.inputs if loaded else sorted(use.inputs):
        ref = use.inputs.get(port)
        if ref is not None:
            part = address_text(reading, ref.id, ref.part)
            yield ref.id, f"feeds {port}" + (f" as {part}" if ref.part else "")


def _below(reading: Reading, record: Record) -> Iterable[_Neighbour]:
    match record:
        case Quantity():
            return [*_judges(reading, record), *_readers(reading, record)]
        case Requirement():
            return _below_requirement(reading, record)
        case Decision():
            return _below_decision(reading, record)
        case CheckUse():
            return [(each, f"gets {port}") for port, each in sorted(record.outputs.items())]
        case Gate():
            return [(each.id, "is due") for each in _due_at(reading, record.id)]
        case _:
            return ()


def _due_at(reading: Reading, gate: str) -> Iterator[Requirement | Decision]:
    for other in reading.programme:
        if isinstance(other, Requirement | Decision) and other.gate == gate:
            yield other


def _below_requirement(reading: Reading, record: Requirement) -> Iterator[_Neighbour]:
    for each in reading.engine.graph.served_by.get(record.id, ()):
        yield each, "serves it"
    yield from _readers(reading, record)
    for other in reading.programme.of(Requirement):
        if record.id in other.parents:
            yield other.id, "derives from it"


def _below_decision(reading: Reading, record: Decision) -> Iterator[_Neighbour]:
    graph = reading.engine.graph
    for each in record.owns:
        yield each, "is set by it" if graph.owner.get(each) == record.id else "was set by it"
    for each in graph.carried.get(record.id, ()):
        yield each, "is carried by it"
    for each in graph.borne_by.get(record.id, ()):
        yield each, "rests on it"
    if record.superseded_by:
        yield record.superseded_by, "takes its place"


def judging(reading: Reading, quantity: Quantity) -> Iterator[int]:
    """Return the positions of the judges of a quantity, its components and cells."""
    graph = reading.engine.graph
    whole = graph.index[quantity.id, ""]
    for slot in (whole, *(slot for slot, _ in graph.parts.get(whole, ()))):
        yield from graph.judged_by[slot]


def _judges(reading: Reading, quantity: Quantity) -> Iterator[_Neighbour]:
    judges = reading.engine.graph.judges
    for place in judging(reading, quantity):
        if judges[place].rule is None:
            yield judges[place].id, "judges it"


def _readers(reading: Reading, record: Record) -> Iterator[_Neighbour]:
    for use in reading.programme.of(CheckUse):
        ports = sorted(port for port, ref in use.inputs.items() if ref.id == record.id)
        if ports:
            where = key_of(reading, use.decision)
            yield use.id, f"takes it as {', '.join(ports)} for {where}"
