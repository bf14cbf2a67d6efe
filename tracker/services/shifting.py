"""What moved under a settled decision, in words."""

from __future__ import annotations

from tracker.evaluate.footing import Shift
from tracker.model.records import Decision, Quantity
from tracker.model.units import ONE
from tracker.model.values import Kind
from tracker.services.present import address_text, key_of
from tracker.services.session import Reading
from tracker.services.views import ShiftView
from tracker.services.wording import limits_text, value_text, visible

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
    record = reading.programme.get(record_id)
    if fact is None:
        return "unknown" if shift.about == "value" else "none"
    if shift.about == "band" and isinstance(fact, tuple):
        lower, upper, _, guard, *allowed = fact
        words = ", ".join(map(str, allowed)) or limits_text(lower, upper, ONE)
        return f"{words} (guard {guard:g})"
    if shift.about == "choice":
        options = record.options if isinstance(record, Decision) else ()
        return next((each.key for each in options if each.id == fact), "none")
    if shift.about == "value" and isinstance(record, Quantity):
        kind = record.kind if not part else Kind.REAL
        tail = f" {record.unit.text}" if record.unit.text else ""
        return value_text(fact, kind, record.unit) + tail  # type: ignore[arg-type] # a Value
    return visible(str(fact))
