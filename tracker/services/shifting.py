"""What moved under a settled decision, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tracker.evaluate.binding import Measure, measure_of
from tracker.evaluate.footing import Shift
from tracker.model.records import CheckUse, Decision, Quantity, Ref, Requirement
from tracker.model.units import Unit
from tracker.model.values import Kind
from tracker.services.deciding import footing_now
from tracker.services.present import address_text, key_of
from tracker.services.session import Reading
from tracker.services.value_words import row_changes
from tracker.services.views import ShiftView
from tracker.services.wording import limits_text, value_with_unit, visible, with_unit

__all__ = ["shift_views"]

_ABOUT = ("band", "value", "choice", "check", "binding")
_GONE = "no part of it"


def shift_views(reading: Reading, decision_id: str) -> tuple[ShiftView, ...]:
    """Return what moved under a decision since its footing was taken."""
    decision = reading.programme.get(decision_id)
    shifts = reading.engine.state.shifts.get(decision_id, ())
    if not isinstance(decision, Decision) or decision.footing is None or not shifts:
        return ()
    then, now = decision.footing.values, footing_now(reading, decision_id).values
    views = [
        (_ABOUT.index(each.about), view.what, view)
        for each in shifts
        for view in _views(reading, each, (each.name in then, each.name in now))
    ]
    return tuple(view for *_, view in sorted(views, key=lambda one: one[:2]))


def _views(reading: Reading, shift: Shift, part_of: tuple[bool, bool]) -> Iterator[ShiftView]:
    record_id, _, part = shift.name.partition("|")
    record = reading.programme.get(record_id)
    match shift.about:
        case "value":
            name = address_text(reading, record_id, part)
            yield from _value_views(reading, name, shift, part_of)
        case "band":
            old, new = (_band_text(reading, record, each) for each in (shift.before, shift.after))
            yield ShiftView(what=f"band of {key_of(reading, record_id)}", before=old, after=new)
        case "choice":
            old, new = (_choice_text(record, each) for each in (shift.before, shift.after))
            yield ShiftView(what=f"choice of {key_of(reading, record_id)}", before=old, after=new)
        case "check":
            old, new = (str(each or _GONE) for each in (shift.before, shift.after))
            yield ShiftView(what=f"version of {key_of(reading, record_id)}", before=old, after=new)
        case _:
            what = f"binding of {key_of(reading, record_id)}"
            yield ShiftView(what=what, before="as it was bound", after="bound otherwise")


def _value_views(
    reading: Reading, name: str, shift: Shift, part_of: tuple[bool, bool]
) -> Iterator[ShiftView]:
    record_id, _, part = shift.name.partition("|")
    record = reading.programme.get(record_id)
    old, new = shift.before, shift.after
    if isinstance(record, Quantity) and record.kind is Kind.TABLE and not part and old and new:
        for what, before, after in row_changes(name, record, old, new):  # type: ignore[arg-type] # rows
            yield ShiftView(what=what, before=before, after=after)
        return
    measure = _measure(reading, record_id, part)
    before, after = (
        _value_text(fact, measure) if there else _GONE
        for fact, there in zip((old, new), part_of, strict=True)
    )
    yield ShiftView(what=name, before=before, after=after)


def _measure(reading: Reading, record_id: str, part: str) -> Measure | None:
    """Return kind and unit of a part of a footing; None where nothing has it any more."""
    record = reading.programme.get(record_id)
    if isinstance(record, CheckUse):
        graph = reading.engine.graph
        loaded = graph.nodes[graph.position[record_id]].loaded
        port = loaded.inputs.get(part) if loaded else None
        return Measure(port.kind, loaded.units[part]) if loaded and port else None
    if isinstance(record, Quantity | Requirement):
        return measure_of(reading.programme, Ref(id=record_id, part=part))
    return None


def _value_text(fact: object, measure: Measure | None) -> str:
    if fact is None:
        return "unknown"
    if measure is None:
        return visible(str(fact))
    return value_with_unit(fact, measure.kind, measure.unit)  # type: ignore[arg-type] # a Value


def _band_text(reading: Reading, record: object, fact: object) -> str:
    if fact is None:
        return _GONE
    if not isinstance(record, Requirement):
        return visible(str(fact))
    ref = Ref(id=record.quantity, part=record.part)
    return _band_words(fact, measure_of(reading.programme, ref).unit)  # type: ignore[arg-type] # facts


def _band_words(fact: tuple[Any, ...], unit: Unit) -> str:
    """Write a band as a footing keeps it: lower, upper, scale, guard, allowed texts."""
    lower, upper, scale, guard, *allowed = fact
    if allowed:
        return visible(" or ".join(allowed))
    tail = f", scale {with_unit(scale, unit)}" if scale is not None else ""
    return f"{limits_text(lower, upper, unit)} (guard {guard:g}{tail})"


def _choice_text(record: object, fact: object) -> str:
    if fact is None:
        return _GONE
    chosen, _, settled = str(fact).partition(" ")
    options = record.options if isinstance(record, Decision) else ()
    key = next((each.key for each in options if each.id == chosen), "none")
    return f"{key}, {settled or 'not settled'}"
