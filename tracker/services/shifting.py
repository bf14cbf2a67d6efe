"""What moved under a settled decision, in words."""

from __future__ import annotations

from typing import Any

from tracker.evaluate.binding import measure_of
from tracker.evaluate.footing import Shift
from tracker.model.records import Decision, Quantity, Ref, Requirement
from tracker.model.units import Unit
from tracker.services.present import address_text, key_of
from tracker.services.session import Reading
from tracker.services.views import ShiftView
from tracker.services.wording import limits_text, value_with_unit, visible, with_unit

__all__ = ["shift_views"]


def shift_views(reading: Reading, decision_id: str) -> tuple[ShiftView, ...]:
    """Return what moved under a decision since its footing was taken."""
    shifts = reading.engine.state.shifts.get(decision_id, ())
    return tuple(_view(reading, each) for each in shifts)


def _view(reading: Reading, shift: Shift) -> ShiftView:
    record_id, _, part = shift.name.partition("|")
    what = {
        "band": f"band of {key_of(reading, record_id)}",
        "value": address_text(reading, record_id, part),
        "choice": f"choice of {key_of(reading, record_id)}",
        "check": f"version of {key_of(reading, record_id)}",
    }[shift.about]
    return ShiftView(
        what=what,
        before=_text(reading, shift, record_id, part, shift.before),
        after=_text(reading, shift, record_id, part, shift.after),
    )


def _text(reading: Reading, shift: Shift, record_id: str, part: str, fact: object) -> str:
    if fact is None:
        return "unknown" if shift.about == "value" else "none"
    record = reading.programme.get(record_id)
    if shift.about == "band" and isinstance(record, Requirement):
        unit = measure_of(reading.programme, Ref(id=record.quantity, part=record.part)).unit
        return _band_words(fact, unit)  # type: ignore[arg-type] # a tuple of facts
    if shift.about == "choice":
        chosen, _, settled = str(fact).partition(" ")
        options = record.options if isinstance(record, Decision) else ()
        key = next((each.key for each in options if each.id == chosen), "none")
        return f"{key}, {settled or 'not settled'}"
    if shift.about == "value" and isinstance(record, Quantity | Requirement):
        measure = measure_of(reading.programme, Ref(id=record_id, part=part))
        return value_with_unit(fact, measure.kind, measure.unit)  # type: ignore[arg-type] # a Value
    return visible(str(fact))


def _band_words(fact: tuple[Any, ...], unit: Unit) -> str:
    """Write a band as a footing keeps it: lower, upper, scale, guard, allowed texts."""
    lower, upper, scale, guard, *allowed = fact
    if allowed:
        return visible(" or ".join(allowed))
    tail = f", scale {with_unit(scale, unit)}" if scale is not None else ""
    return f"{limits_text(lower, upper, unit)} (guard {guard:g}{tail})"
