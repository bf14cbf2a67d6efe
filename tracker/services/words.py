"""Journal entries in engineering words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tracker.evaluate.binding import part_measure
from tracker.model.address import Address
from tracker.model.changes import Entry
from tracker.model.records import (
    Baseline,
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
    kind_of,
)
from tracker.model.units import ONE, Unit
from tracker.services.gate_words import (
    baseline_words,
    decision_told,
    deviation_words,
    walked_changes,
)
from tracker.services.naming import Namer, names_of
from tracker.services.value_words import Stated, value_changes
from tracker.services.wording import limits_text, visible, with_unit

__all__ = ["Namer", "describe"]


def describe(entry: Entry, namer: Namer) -> tuple[str, ...]:
    """Say what an entry does, one sentence each.

    Parameters
    ----------
    entry : Entry
        The entry.
    namer : Namer
        Finds the records it refers to, for their keys and units.
    """
    if entry.before is None:
        return (_new(entry.record, namer),)
    if entry.after is None:
        return (f"{kind_of(entry.record)} {entry.record.key} removed",)
    said = tuple(_said(entry.before, entry.after, namer))
    return said or (f"{entry.record.key} reworded",)


def _new(record: Record, namer: Namer) -> str:
    match record:
        case Deviation():
            return deviation_words(record, namer)
        case Baseline():
            return baseline_words(record, namer)
        case _:
            return f"new {kind_of(record)} {record.key}"


def _said(before: Record, after: Record, namer: Namer) -> Iterator[str]:
    if before.key != after.key:
        yield f"{before.key} is now called {after.key}"
    match before, after:
        case Quantity(), Quantity():
            yield from _quantity(before, after, namer)
        case Requirement(), Requirement():
            yield from _requirement(before, after, namer)
        case Decision(), Decision():
            yield from _decision(before, after, namer)
        case CheckUse(), CheckUse():
            yield from _check(before, after, namer)
        case ProgrammeInfo(), ProgrammeInfo():
            yield f"programme is called {visible(after.title)}, money in {after.currency}"
        case _:
            yield from walked_changes(before, after, namer)


def _quantity(before: Quantity, after: Quantity, namer: Namer) -> Iterator[str]:
    yield from value_changes(after.key, after, before.given, after.given)
    if before.tolerance != after.tolerance:
        half = after.tolerance
        text = f"± {with_unit(half.half_width, after.unit)} ({half.shape})" if half else "none"
        yield f"{after.key} tolerance: {text}"
    if (before.low, before.high) != (after.low, after.high):
        yield f"{after.key} may move: {limits_text(after.low, after.high, after.unit)}"
    for part in sorted({**before.part_ranges, **after.part_ranges}):
        span = after.part_ranges.get(part)
        if before.part_ranges.get(part) != span:
            text = limits_text(span.low, span.high, after.unit) if span else "anything"
            yield f"{after.key}.{part} may move: {text}"
    if before.correlated != after.correlated:
        each = (f"{names_of((one,), namer)} {r:g}" for one, r in after.correlated.items())
        yield f"{after.key} is correlated with {', '.join(each) or 'nothing'}"


def _requirement(before: Requirement, after: Requirement, namer: Namer) -> Iterator[str]:
    quantity = namer(after.quantity)
    unit = part_measure(quantity, after.part).unit if isinstance(quantity, Quantity) else ONE
    for name in ("lower", "upper", "target", "scale"):
        old, new = getattr(before, name), getattr(after, name)
        if old != new:
            yield f"{after.key} {name}: {_bound_text(old, unit)} → {_bound_text(new, unit)}"
    if before.guard != after.guard:
        yield f"{after.key} guard: {before.guard:g} → {after.guard:g}"
    if before.allowed != after.allowed:
        yield f"{after.key} allows {visible(', '.join(after.allowed))}"
    if before.statement != after.statement:
        yield f"{after.key} now says: {visible(after.statement)}"
    yield from _requirement_links(before, after, namer)


def _requirement_links(before: Requirement, after: Requirement, namer: Namer) -> Iterator[str]:
    if (before.quantity, before.part) != (after.quantity, after.part):
        yield f"{after.key} judges {Address(names_of((after.quantity,), namer), after.part)}"
    if before.parents != after.parents:
        yield f"{after.key} derives from {names_of(after.parents, namer)}"
    if before.verification != after.verification:
        yield f"{after.key} is verified by {after.verification}"
    for name in ("rationale", "priority", "risk"):
        if getattr(before, name) != getattr(after, name):
            yield f"{after.key} {name}: {visible(getattr(after, name) or 'nothing')}"
    yield from _duties(before, after, namer)


def _duties(
    before: Requirement | Decision, after: Requirement | Decision, namer: Namer
) -> Iterator[str]:
    if before.owner != after.owner:
        yield f"{after.key} is owned by {visible(after.owner) or 'nobody'}"
    if before.gate != after.gate:
        where = names_of((after.gate,), namer) if after.gate else "no gate"
        yield f"{after.key} is due at {where}"


def _bound_text(bound: Bound | None, unit: Unit) -> str:
    return "none" if bound is None else with_unit(bound.value, unit)


def _decision(before: Decision, after: Decision, namer: Namer) -> Iterator[str]:
    if (before.state, before.chosen) != (after.state, after.chosen):
        yield _move(before, after, namer)
    elif before.superseded_by != after.superseded_by:
        yield _superseded(after, namer)
    elif before.reviews != after.reviews:
        yield from _reviews(before, after)
    elif before.footing != after.footing:
        yield f"{after.key} reviewed: it stands on what holds now"
    if before.question != after.question:
        yield f"{after.key} now asks: {visible(after.question)}"
    for name, words in (("owns", "sets"), ("serves", "serves"), ("rests_on", "rests on")):
        if getattr(before, name) != getattr(after, name):
            yield f"{after.key} {words} {names_of(getattr(after, name), namer)}"
    yield from _duties(before, after, namer)
    yield from decision_told(before, after)
    yield from _options(before, after, namer)


def _options(before: Decision, after: Decision, namer: Namer) -> Iterator[str]:
    old = {option.id: option for option in before.options}
    for option in after.options:
        held = old.pop(option.id, None)
        if held is None:
            yield f"{after.key}: new option {option.key}"
            continue
        where = f"{after.key}/{option.key}"
        yield from _settings(where, held.settings, option.settings, namer)
        if (held.title, held.notes) != (option.title, option.notes):
            yield f"{where} reworded: {visible(option.title)}"
    for option in old.values():
        yield f"{after.key}: option {option.key} removed"


def _superseded(after: Decision, namer: Namer) -> str:
    if not after.superseded_by:
        return f"{after.key} is superseded no more"
    return f"{after.key} superseded by {names_of((after.superseded_by,), namer)}"


def _reviews(before: Decision, after: Decision) -> Iterator[str]:
    for each in after.reviews[len(before.reviews) :]:
        yield f"{after.key} reviewed by {visible(each.by)}: {each.outcome}, {visible(each.reason)}"
    if len(after.reviews) < len(before.reviews):
        yield f"{after.key}: a review is taken back"


def _move(before: Decision, after: Decision, namer: Namer) -> str:
    applied = after.applied
    if after.state is DecisionState.SETTLED and applied:
        return f"{after.key} settled on {applied.key}"
    if before.state is DecisionState.SETTLED and after.state is DecisionState.LEANING:
        moved = applied if after.chosen != before.chosen else None
        return f"{after.key} reopened" + (f", leans to {moved.key}" if moved else "")
    if after.state is DecisionState.LEANING and applied:
        return f"{after.key} leans to {applied.key}"
    return _superseded(after, namer) if after.superseded_by else f"{after.key} is {after.state}"


def _settings(where: str, before: Stated, after: Stated, namer: Namer) -> Iterator[str]:
    for each in sorted({**before, **after}):
        quantity = namer(each)
        if isinstance(quantity, Quantity):
            name = f"{where}.{quantity.key}"
            yield from value_changes(name, quantity, before.get(each), after.get(each))


def _check(before: CheckUse, after: CheckUse, namer: Namer) -> Iterator[str]:
    if (before.plugin, before.config) != (after.plugin, after.config):
        config = ", ".join(f"{name} {text}" for name, text in sorted(after.config.items()))
        yield visible(f"{after.key} runs {after.plugin}" + (f" with {config}" if config else ""))
    if before.decision != after.decision:
        yield f"{after.key} is carried by {names_of((after.decision,), namer)}"
    old, new = _sources(before, namer), _sources(after, namer)
    for port in sorted({**old, **new}):
        if old.get(port) != new.get(port):
            yield f"{after.key} takes {port} from {new.get(port, 'nowhere')}"
    for port in sorted({**before.outputs, **after.outputs}):
        target = after.outputs.get(port, "")
        if before.outputs.get(port, "") != target:
            yield f"{after.key} gives {port} to {names_of((target,) if target else (), namer)}"


def _sources(use: CheckUse, namer: Namer) -> Mapping[str, str]:
    """Return where each bound input comes from, in words."""
    refs = {
        port: str(Address(names_of((ref.id,), namer), ref.part)) for port, ref in use.inputs.items()
    }
    stated = {
        port: visible(f"its own value {each.typed or f'{each.value} in its own unit'}")
        for port, each in use.literals.items()
    }
    return {**refs, **stated}
