"""Journal entries in engineering words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from tracker.model.changes import Entry
from tracker.model.records import (
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Gate,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
    Setting,
    kind_of,
)
from tracker.model.units import Unit
from tracker.services.wording import number_text, value_text, visible

__all__ = ["Namer", "describe"]

Namer = Callable[[str], Record | None]
"""Finds a record by id."""


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
        return (f"new {kind_of(entry.record)} {entry.record.key}",)
    if entry.after is None:
        return (f"{kind_of(entry.record)} {entry.record.key} removed",)
    said = tuple(_said(entry.before, entry.after, namer))
    return said or (f"{entry.record.key} reworded",)


def _said(before: Record, after: Record, namer: Namer) -> Iterator[str]:
    if before.key != after.key:
        yield f"{before.key} is now called {after.key}"
    match before, after:
        case Quantity(), Quantity():
            yield from _quantity(before, after)
        case Requirement(), Requirement():
            yield from _requirement(before, after, namer)
        case Decision(), Decision():
            yield from _decision(before, after, namer)
        case CheckUse(), CheckUse():
            if before != after:
                yield f"{after.key} bound anew"
        case (Gate(), Gate()) if before.date != after.date:
            yield f"{after.key} moved from {before.date} to {after.date}"
        case ProgrammeInfo(), ProgrammeInfo():
            yield f"programme is called {visible(after.title)}, money in {after.currency}"
        case _:
            return


def _setting_text(setting: Setting | None, quantity: Quantity) -> str:
    if setting is None or setting.value is None:
        return "unknown"
    tail = f" {quantity.unit.text}" if quantity.unit.text else ""
    return value_text(setting.value, quantity.kind, quantity.unit) + tail


def _quantity(before: Quantity, after: Quantity) -> Iterator[str]:
    if before.given != after.given:
        old, new = _setting_text(before.given, before), _setting_text(after.given, after)
        basis = f" ({after.given.basis.kind})" if after.given else ""
        yield f"{after.key}: {old} → {new}{basis}" if old != new else f"{after.key}: {new}{basis}"
    if before.tolerance != after.tolerance:
        half = after.tolerance.half_width if after.tolerance else 0.0
        yield f"{after.key} tolerance: ± {number_text(half, after.unit)}"
    if (before.low, before.high) != (after.low, after.high):
        yield f"{after.key} may move from {after.low} to {after.high}"


def _requirement(before: Requirement, after: Requirement, namer: Namer) -> Iterator[str]:
    quantity = namer(after.quantity)
    unit = quantity.unit if isinstance(quantity, Quantity) else Unit("")
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


def _bound_text(bound: Bound | None, unit: Unit) -> str:
    if bound is None:
        return "none"
    return number_text(bound.value, unit) + (f" {unit.text}" if unit.text else "")


def _decision(before: Decision, after: Decision, namer: Namer) -> Iterator[str]:
    if (before.state, before.chosen) != (after.state, after.chosen):
        yield _move(before, after)
    elif before.footing != after.footing:
        yield f"{after.key}: footing taken anew"
    old = {option.id: option for option in before.options}
    for option in after.options:
        if option.id not in old:
            yield f"{after.key}: new option {option.key}"
        elif option.settings != old[option.id].settings:
            yield from _settings(
                f"{after.key}/{option.key}", old[option.id].settings, option.settings, namer
            )
    for option in before.options:
        if option.id not in {each.id for each in after.options}:
            yield f"{after.key}: option {option.key} removed"


def _move(before: Decision, after: Decision) -> str:
    applied = after.applied
    if after.state is DecisionState.SETTLED and applied:
        return f"{after.key} settled on {applied.key}"
    if before.state is DecisionState.SETTLED and after.state is DecisionState.LEANING:
        return f"{after.key} reopened"
    if after.state is DecisionState.LEANING and applied:
        return f"{after.key} leans to {applied.key}"
    return f"{after.key} is {after.state}"


def _settings(
    where: str, before: Mapping[str, Setting], after: Mapping[str, Setting], namer: Namer
) -> Iterator[str]:
    for each in {**before, **after}:
        quantity = namer(each)
        if before.get(each) != after.get(each) and isinstance(quantity, Quantity):
            old = _setting_text(before.get(each), quantity)
            new = _setting_text(after.get(each), quantity)
            yield f"{where}.{quantity.key}: {old} → {new}"
