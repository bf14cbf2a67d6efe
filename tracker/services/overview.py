"""The opening page and the lists."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.errors import BadValueError
from tracker.model.records import CheckUse, Decision, Gate, Quantity, Requirement
from tracker.services.item_records import WALKED, walked_rows
from tracker.services.present import (
    check_line,
    decision_line,
    quantity_line,
    requirement_line,
)
from tracker.services.session import Reading
from tracker.services.views import (
    CheckLine,
    DecisionLine,
    DueLine,
    GateLine,
    Listing,
    ListLine,
    Overview,
    QuantityLine,
    RequirementLine,
)
from tracker.services.wording import CAUTION, visible

__all__ = ["KINDS", "listing", "overview"]

KINDS = ("requirement", "decision", "quantity", "check", "gate", *WALKED)


def overview(reading: Reading) -> Overview:
    """Return the opening page: what stands, what broke or shifted, what is due."""
    programme, info = reading.programme, reading.programme.info
    requirements = tuple(requirement_line(reading, each) for each in programme.of(Requirement))
    decisions = tuple(decision_line(reading, each) for each in programme.of(Decision))
    due = {each.key: tuple(_due(each.key, requirements, decisions)) for each in _gates(reading)}
    gates = tuple(_gate_line(each, requirements, decisions, due) for each in _gates(reading))
    upcoming = _next_gate(reading, gates)
    return Overview(
        title=visible(info.title) if info else "",
        store=visible(reading.store.name),
        currency=info.currency if info else "",
        revision=reading.head.revision,
        head=reading.head.hash,
        requirements=requirements,
        decisions=decisions,
        checks=tuple(check_line(reading, each) for each in programme.of(CheckUse)),
        gates=gates,
        next_gate=upcoming,
        due=due[upcoming.key] if upcoming else (),
        quantities=sum(1 for _ in programme.of(Quantity)),
        caution=CAUTION,
    )


def _gates(reading: Reading) -> list[Gate]:
    return sorted(reading.programme.of(Gate), key=lambda each: (each.date, each.key))


def _gate_line(
    gate: Gate,
    requirements: tuple[RequirementLine, ...],
    decisions: tuple[DecisionLine, ...],
    due: dict[str, tuple[DueLine, ...]],
) -> GateLine:
    at_gate = [each.gate for each in requirements] + [each.gate for each in decisions]
    return GateLine(
        key=gate.key,
        title=visible(gate.title),
        date=gate.date,
        due=at_gate.count(gate.key),
        pending=len(due[gate.key]),
    )


def _next_gate(reading: Reading, gates: tuple[GateLine, ...]) -> GateLine | None:
    """Return the first gate that is not past today; the last one when all are."""
    today = reading.tools.clock()[:10]
    return next((each for each in gates if each.date >= today), gates[-1] if gates else None)


def _due(
    gate: str, requirements: tuple[RequirementLine, ...], decisions: tuple[DecisionLine, ...]
) -> Iterator[DueLine]:
    """Return what is due at a gate and not in order, decisions first."""
    for decision in decisions:
        why = _decision_due(decision)
        if decision.gate == gate and why:
            yield DueLine(key=decision.key, kind="decision", title=decision.question, why=why)
    for line in requirements:
        accepted = bool(line.finding.deviation)
        if line.gate == gate and line.finding.verdict in ("missed", "unknown") and not accepted:
            reason = line.finding.reason
            why = f"{line.finding.verdict}: {reason}" if reason else line.finding.verdict
            yield DueLine(key=line.key, kind="requirement", title=line.statement, why=why)


def _decision_due(decision: DecisionLine) -> str:
    if decision.state == "withdrawn":
        return ""
    words = []
    if decision.state != "settled":
        words.append(f"{decision.state}, not settled")
    if decision.standing in ("broken", "unproven"):
        words.append(decision.standing)
    if decision.shifted:
        words.append("shifted: needs another look")
    return "; ".join(words)


def listing(reading: Reading, kind: str) -> Listing:
    """Return all items of one kind.

    Raises
    ------
    BadValueError
        There is no such kind.
    """
    if kind not in KINDS:
        raise BadValueError(
            f"{kind[:40]!r} is no kind of item", field="kind", remedy="Kinds: " + ", ".join(KINDS)
        )
    return Listing(revision=reading.head.revision, kind=kind, lines=tuple(_lines(reading, kind)))


def _lines(reading: Reading, kind: str) -> Iterator[ListLine]:
    programme = reading.programme
    match kind:
        case "requirement":
            return (
                _requirement_row(requirement_line(reading, each))
                for each in programme.of(Requirement)
            )
        case "decision":
            return (_decision_row(decision_line(reading, each)) for each in programme.of(Decision))
        case "quantity":
            return (_quantity_row(quantity_line(reading, each)) for each in programme.of(Quantity))
        case "check":
            return (_check_row(check_line(reading, each)) for each in programme.of(CheckUse))
        case "gate":
            return (
                ListLine(key=each.key, title=visible(each.title), sign="", text=each.date)
                for each in _gates(reading)
            )
        case _:
            return walked_rows(reading, kind)


def _quantity_row(line: QuantityLine) -> ListLine:
    tail = f" {line.unit}" if line.unit else ""
    origin = f"{line.source}, {line.basis}" if line.basis else line.source
    text = f"{line.text}{tail}  ({line.reason or origin})"
    return ListLine(key=line.key, title=line.title, sign="", text=text)


def _check_row(line: CheckLine) -> ListLine:
    text = f"{line.check} under {line.decision}"
    text = f"{text}: {line.message}" if line.message else text
    return ListLine(key=line.key, title=line.title, sign=line.state, text=text)


def _requirement_row(line: RequirementLine) -> ListLine:
    found = line.finding
    tail = f" {found.unit}" if found.unit else ""
    text = found.reason or f"{found.text}{tail} against {found.required}"
    text += f", accepted by {found.deviation}" if found.deviation else ""
    return ListLine(key=line.key, title=line.statement, sign=found.verdict, text=text)


def _decision_row(line: DecisionLine) -> ListLine:
    chosen = f"{line.state}: {line.chosen}" if line.chosen else line.state
    text = f"{chosen}; {line.why}" if line.why else chosen
    return ListLine(
        key=line.key, title=line.question, sign=line.standing, text=text, shifted=line.shifted
    )
