"""Records and results into the lines both front ends show."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.evaluate.graph import Judge
from tracker.evaluate.slots import Absent, Slot, Unknown, value_of
from tracker.evaluate.sources import setting_in_force
from tracker.evaluate.standing import Finding, StandingOf
from tracker.evaluate.verdict import UNJUDGED, Band, band_of
from tracker.model.address import Address
from tracker.model.records import CheckUse, Decision, Quantity, Requirement
from tracker.services.session import Reading
from tracker.services.views import (
    CheckLine,
    DecisionLine,
    FindingView,
    QuantityLine,
    RequirementLine,
)
from tracker.services.wording import band_text, margin_text, value_text, visible

__all__ = [
    "Earlier",
    "address_text",
    "check_line",
    "decision_line",
    "explain",
    "finding_view",
    "key_of",
    "quantity_line",
    "requirement_line",
    "slot_text",
    "standing_why",
]


def key_of(reading: Reading, record_id: str) -> str:
    """Return the present key of a record, or its id where it is gone."""
    record = reading.programme.get(record_id)
    return record_id if record is None else record.key


def address_text(reading: Reading, record_id: str, part: str) -> str:
    """Write an address by its present key."""
    return str(Address(key_of(reading, record_id), part))


def explain(reading: Reading, unknown: Unknown | Absent | Finding, subject: str = "") -> str:
    """Say why something is unknown, naming where it began unless that is the subject itself."""
    reason = visible(unknown.reason)
    cause = "" if isinstance(unknown, Absent) else unknown.cause
    return reason if cause in ("", subject) else f"{key_of(reading, cause)}: {reason}"


def slot_text(slot: Slot | None, quantity: Quantity) -> str:
    """Write what a slot of a quantity holds, without the unit."""
    if slot is None or isinstance(slot, Unknown):
        return "unknown"
    if isinstance(slot, Absent):
        return "absent"
    return value_text(value_of(slot, quantity.kind, quantity.choices), quantity.kind, quantity.unit)


@dataclass(frozen=True, slots=True)
class Earlier:
    """What a finding was before a change.

    Parameters
    ----------
    finding : Finding
        As it was.
    slot : Slot or None
        The value it judged.
    requirement : Requirement or None
        The requirement as it was; None for a rule.
    """

    finding: Finding
    slot: Slot | None
    requirement: Requirement | None


def finding_view(reading: Reading, place: int, earlier: Earlier | None = None) -> FindingView:
    """Show the finding of one of the graph's judges, as it is or as it was."""
    judge, finding = _held(reading, place)
    if earlier is not None:
        return _view(reading, judge, earlier)
    record = reading.programme.get(judge.id)
    requirement = record if isinstance(record, Requirement) else None
    slot = reading.engine.state.slots[judge.slot]
    return _view(reading, judge, Earlier(finding, slot, requirement))


def _held(reading: Reading, place: int) -> tuple[Judge, Finding]:
    engine = reading.engine
    return engine.graph.judges[place], engine.state.findings[place] or Finding(UNJUDGED)


def _view(reading: Reading, judge: Judge, held: Earlier) -> FindingView:
    unit, judgement = judge.measure.unit, held.finding.judgement
    band, statement = _band_facts(judge, held.requirement)
    value = None
    if held.slot is not None:
        value = value_of(held.slot, judge.measure.kind, judge.measure.choices)
    target = held.requirement.target if held.requirement else None
    deviation = key_of(reading, held.finding.deviation) if held.finding.deviation else ""
    accepted = f"accepted by {deviation}" if deviation else ""
    far = margin_text(judgement.distance, judgement.margin, unit)
    return FindingView(
        judge=held.requirement.key if held.requirement else _judge_name(reading, judge),
        rule=judge.rule is not None,
        statement=visible(statement),
        subject=_subject(reading, judge),
        required=band_text(band, unit),
        verdict=judgement.verdict.value,
        value=value,
        text=value_text(value, judge.measure.kind, unit),
        unit=unit.text,
        lower=band.lower,
        upper=band.upper,
        target=None if target is None else target.value,
        margin=judgement.margin,
        distance=judgement.distance,
        distance_text=", ".join(each for each in (far, accepted) if each),
        bound=judgement.bound,
        reason=_reason(reading, held.finding, judge),
        deviation=deviation,
    )


def _band_facts(judge: Judge, requirement: Requirement | None) -> tuple[Band, str]:
    if requirement is not None:
        return band_of(requirement), requirement.statement
    assert judge.rule is not None  # noqa: S101 - what is no requirement is a rule
    return judge.rule.band, judge.rule.reason


def _judge_name(reading: Reading, judge: Judge) -> str:
    key = key_of(reading, judge.id)
    return key if judge.rule is None else f"{key}.{judge.rule.output}"


def _reason(reading: Reading, finding: Finding, judge: Judge) -> str:
    return explain(reading, finding, judge.id) if finding.reason else ""


def _subject(reading: Reading, judge: Judge) -> str:
    record_id, part = reading.engine.graph.keys[judge.slot]
    return address_text(reading, record_id, part.removeprefix("port:"))


def requirement_line(reading: Reading, requirement: Requirement) -> RequirementLine:
    """Show a requirement at a glance."""
    place = reading.engine.graph.judges_of[requirement.id][0]
    return RequirementLine(
        key=requirement.key,
        statement=visible(requirement.statement),
        finding=finding_view(reading, place),
        gate=key_of(reading, requirement.gate) if requirement.gate else "",
        owner=visible(requirement.owner),
    )


def standing_why(reading: Reading, standing: StandingOf | None) -> str:
    """Say what makes a standing what it is."""
    if standing is None:
        return ""
    if standing.culprits:
        judge, finding = _held(reading, standing.culprits[0])
        more = len(standing.culprits) - 1
        tail = f", and {more} more" if more else ""
        head = f"{_judge_name(reading, judge)} is {finding.judgement.verdict}"
        if finding.deviation:
            return f"{head}, accepted by {key_of(reading, finding.deviation)}{tail}"
        reason = _reason(reading, finding, judge)
        return f"{head}: {reason}{tail}" if reason else head + tail
    if standing.unset is not None:
        return explain(reading, standing.unset)
    return "nothing judges it" if standing.standing == "unproven" else ""


def decision_line(reading: Reading, decision: Decision) -> DecisionLine:
    """Show a decision at a glance."""
    state = reading.engine.state
    standing = state.standings.get(decision.id)
    applied = decision.applied
    return DecisionLine(
        key=decision.key,
        question=visible(decision.question),
        state=decision.state.value,
        standing=standing.standing.value if standing else "",
        shifted=decision.id in state.shifts,
        chosen=applied.key if applied else "",
        why=standing_why(reading, standing),
        owner=visible(decision.owner),
        gate=key_of(reading, decision.gate) if decision.gate else "",
    )


def check_line(reading: Reading, use: CheckUse) -> CheckLine:
    """Show a bound check at a glance."""
    graph = reading.engine.graph
    place = graph.position[use.id]
    block, fault = reading.engine.state.blocks[place], graph.nodes[place].fault
    if fault is not None:
        state = "unbound"
    elif block is None:
        state = "current"
    else:
        state = "failed" if block.cause == use.id else "waiting"
    return CheckLine(
        key=use.key,
        title=visible(use.title),
        check=use.plugin,
        decision=key_of(reading, use.decision),
        state=state,
        message="" if block is None else explain(reading, block, use.id),
    )


def quantity_line(reading: Reading, quantity: Quantity) -> QuantityLine:
    """Show a quantity at a glance."""
    graph = reading.engine.graph
    place = graph.index[quantity.id, ""]
    slot = reading.engine.state.slots[place]
    owner, writer = graph.owner.get(quantity.id), graph.writer.get(place)
    setting = None if writer else setting_in_force(reading.programme, graph, quantity)[0]
    source = "given"
    if owner:
        source = f"decision {key_of(reading, owner)}"
    elif writer:
        source = f"check {key_of(reading, writer)}"
    return QuantityLine(
        key=quantity.key,
        title=visible(quantity.title),
        kind=quantity.kind.value,
        text=slot_text(slot, quantity),
        unit=quantity.unit.text,
        source=source,
        basis=setting.basis.kind.value if setting else "",
        reason=explain(reading, slot, quantity.id) if isinstance(slot, Unknown | Absent) else "",
    )
