"""Changes of what a gate is walked through with, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tracker.evaluate.binding import part_measure
from tracker.model.records import (
    Action,
    Baseline,
    Bound,
    Decision,
    Deviation,
    Evidence,
    Gate,
    Quantity,
    Record,
    Requirement,
    Risk,
)
from tracker.model.units import ONE, Unit
from tracker.services.naming import Namer, names_of
from tracker.services.wording import limits_text, visible

__all__ = [
    "baseline_words",
    "decision_told",
    "deviation_words",
    "extent_text",
    "walked_changes",
]


def extent_text(deviation: Deviation, namer: Namer) -> str:
    """Say how far a deviation lets a value go: `up to 260 000 EUR`, or its extent in words."""
    unit = _unit(deviation, namer)
    lower, upper = (None if each is None else each.value for each in _ends(deviation))
    if lower is None and upper is None:
        return visible(deviation.extent)
    text = limits_text(lower, upper, unit)
    return text.replace("at most", "up to", 1).replace("at least", "down to", 1)


def _ends(deviation: Deviation) -> tuple[Bound | None, Bound | None]:
    return deviation.lower, deviation.upper


def _unit(deviation: Deviation, namer: Namer) -> Unit:
    requirement = namer(deviation.requirement)
    quantity = namer(requirement.quantity) if isinstance(requirement, Requirement) else None
    if isinstance(requirement, Requirement) and isinstance(quantity, Quantity):
        return part_measure(quantity, requirement.part).unit
    return ONE


def deviation_words(deviation: Deviation, namer: Namer) -> str:
    """Say what was accepted."""
    missed = names_of((deviation.requirement,), namer)
    until = names_of((deviation.expires,), namer)
    return (
        f"{deviation.key} accepted: {missed} missed {extent_text(deviation, namer)} until {until} "
        f"(approver {visible(deviation.approver)})"
    )


def baseline_words(baseline: Baseline, namer: Namer) -> str:
    """Say what was frozen."""
    gate = names_of((baseline.gate,), namer)
    ready = "ready" if baseline.ready else "not ready"
    return f"{baseline.key} frozen at {gate}: revision {baseline.revision}, {ready}"


def walked_changes(before: Record, after: Record, namer: Namer) -> Iterator[str]:
    """Say how such a record changed; nothing for other kinds."""
    match before, after:
        case Gate(), Gate():
            yield from _gate(before, after)
        case Deviation(), Deviation():
            yield from _deviation(before, after, namer)
        case Action(), Action():
            yield from _action(before, after, namer)
        case Evidence(), Evidence():
            yield from _evidence(before, after, namer)
        case Risk(), Risk():
            yield from _risk(before, after, namer)
        case _:
            return


def _gate(before: Gate, after: Gate) -> Iterator[str]:
    if before.date != after.date:
        yield f"{after.key} moved from {before.date} to {after.date}"
    yield from _told(after.key, "asks", before.criteria, after.criteria)


def _told(
    key: str, verb: str, before: Mapping[str, str], after: Mapping[str, str]
) -> Iterator[str]:
    """Say which named texts came, changed or went."""
    for name in sorted({**before, **after}):
        old, new = before.get(name), after.get(name)
        if old != new:
            yield visible(f"{key} {verb} {name}: {old or 'nothing'} → {new or 'nothing'}")


def _deviation(before: Deviation, after: Deviation, namer: Namer) -> Iterator[str]:
    if before.requirement != after.requirement:
        yield f"{after.key} accepts a miss of {names_of((after.requirement,), namer)}"
    if _ends(before) != _ends(after) or before.extent != after.extent:
        far = visible(after.extent)
        bounds = extent_text(after, namer)
        yield f"{after.key} extent: {far}" + (f" ({bounds})" if bounds != far else "")
    if before.expires != after.expires:
        yield f"{after.key} expires at {names_of((after.expires,), namer)}"
    if before.decision != after.decision:
        yield f"{after.key} is for {names_of(_some(after.decision), namer)}"
    yield from _reworded(before, after, ("reason", "approver", "consequences"))


def _some(text: str) -> tuple[str, ...]:
    return (text,) if text else ()


def _reworded(before: Record, after: Record, fields: Sequence[str]) -> Iterator[str]:
    for field in fields:
        old, new = getattr(before, field), getattr(after, field)
        if old != new:
            yield f"{after.key} {field}: {visible(new) or 'nothing'}"


def _due(before: Action | Risk, after: Action | Risk, namer: Namer) -> Iterator[str]:
    yield from _reworded(before, after, ("title",))
    if before.owner != after.owner:
        yield f"{after.key} is owned by {visible(after.owner) or 'nobody'}"
    if before.gate != after.gate:
        where = names_of((after.gate,), namer) if after.gate else "no gate"
        yield f"{after.key} is due at {where}"
    yield from _about(before, after, namer)


def _about(
    before: Action | Risk | Evidence, after: Action | Risk | Evidence, namer: Namer
) -> Iterator[str]:
    if before.about != after.about:
        yield f"{after.key} is about {names_of(after.about, namer)}"


def _closing(before: Action | Risk, after: Action | Risk) -> Iterator[str]:
    if before.closed != after.closed:
        closed = f"{after.key} closed: {visible(after.closed)}"
        yield closed if after.closed else f"{after.key} is open again"


def _action(before: Action, after: Action, namer: Namer) -> Iterator[str]:
    yield from _closing(before, after)
    yield from _due(before, after, namer)


def _evidence(before: Evidence, after: Evidence, namer: Namer) -> Iterator[str]:
    yield from _reworded(before, after, ("title", "place"))
    if (before.sha256, before.dated) != (after.sha256, after.dated):
        yield f"{after.key} is the state of {after.dated}" + (
            f" (SHA-256 {after.sha256[:12]}…)" if after.sha256 else ""
        )
    yield from _about(before, after, namer)
    yield from _reworded(before, after, ("note",))


def _risk(before: Risk, after: Risk, namer: Namer) -> Iterator[str]:
    yield from _closing(before, after)
    yield from _reworded(before, after, ("likelihood", "consequence", "response"))
    yield from _due(before, after, namer)


def decision_told(before: Decision, after: Decision) -> Iterator[str]:
    """Say who took part in a decision, who differed and what was assumed, where that changed."""
    if before.participants != after.participants:
        yield f"{after.key} participants: {visible(', '.join(after.participants)) or 'nobody'}"
    yield from _told(after.key, "dissent of", before.dissent, after.dissent)
    if before.assumptions != after.assumptions:
        yield f"{after.key} assumes: {visible('; '.join(after.assumptions)) or 'nothing'}"
