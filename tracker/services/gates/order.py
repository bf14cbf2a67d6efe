"""Gates in their order, what is due by one, and which are frozen."""

from __future__ import annotations

from tracker.errors import UnknownKeyError
from tracker.model.programme import Programme
from tracker.model.records import Baseline, Gate

__all__ = ["baseline_for", "due_by", "gates_in_order", "latest_baseline", "next_gate"]


def gates_in_order(programme: Programme) -> list[Gate]:
    """Return the gates by date, then key."""
    return sorted(programme.of(Gate), key=_place)


def _place(gate: Gate) -> tuple[str, str]:
    return gate.date, gate.key


def due_by(programme: Programme, gate: Gate) -> frozenset[str]:
    """Return the ids of this gate and of those before it: what is due there is due now."""
    return frozenset(each.id for each in programme.of(Gate) if _place(each) <= _place(gate))


def latest_baseline(programme: Programme, gate: Gate) -> Baseline | None:
    """Return what was frozen last at a gate."""
    frozen = [each for each in programme.of(Baseline) if each.gate == gate.id]
    return max(frozen, key=lambda each: each.revision, default=None)


def next_gate(programme: Programme) -> Gate | None:
    """Return the first gate that is later than all frozen ones."""
    frozen = {each.gate for each in programme.of(Baseline)}
    ordered = gates_in_order(programme)
    last = max((place for place, each in enumerate(ordered) if each.id in frozen), default=-1)
    return ordered[last + 1] if last + 1 < len(ordered) else None


def baseline_for(programme: Programme, gate: Gate, key: str = "") -> Baseline:
    """Return a baseline of a gate: the named one, else the latest.

    Raises
    ------
    UnknownKeyError
        There is none, or it belongs to another gate.
    """
    found = programme.named(key, Baseline) if key else latest_baseline(programme, gate)
    if found is None:
        raise UnknownKeyError(
            "nothing was frozen at this gate yet",
            item=gate.key,
            remedy=f"`whybone gate freeze {gate.key} --why TEXT` freezes it",
        )
    if found.gate != gate.id:
        raise UnknownKeyError(
            f"{found.key} was not frozen at {gate.key}",
            item=found.key,
            remedy=f"`whybone gate show {gate.key}` lists its baselines",
        )
    return found
