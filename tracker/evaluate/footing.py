"""The footing of a settled decision, and what has moved since it was taken.

Given values compare exactly. Computed ones compare within 1e-9 of their size, so that another
machine's arithmetic does not ask for another look.
"""

from __future__ import annotations

import hashlib
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass

from tracker.evaluate.graph import Graph
from tracker.evaluate.slots import Slot, value_of
from tracker.evaluate.verdict import band_of
from tracker.model.programme import Programme
from tracker.model.records import (
    CheckUse,
    Decision,
    DecisionState,
    Footing,
    Quantity,
    Requirement,
)
from tracker.model.values import Kind, Value

__all__ = ["Shift", "shifts_of", "take_footing"]

_RELATIVE = 1e-9
_FINGERPRINT = 12
_SETTLED = " settled"
_Facts = dict[tuple[str, str], object]


@dataclass(frozen=True, slots=True)
class Shift:
    """One thing that moved.

    Parameters
    ----------
    about : str
        `band`, `value`, `choice`, `check` or `binding`.
    name : str
        Record id, or `id|part`.
    before, after : object
        As the footing keeps it; None where it was or is not part of the footing.
    """

    about: str
    name: str
    before: object
    after: object


def take_footing(
    programme: Programme, graph: Graph, slots: list[Slot], decision_id: str
) -> Footing:
    """Record what a decision stands on now."""
    decision = programme.at(decision_id, Decision)
    uses = [programme.at(each, CheckUse) for each in graph.carried.get(decision_id, ())]
    values = dict(_values(programme, graph, slots, decision_id))
    for use in uses:
        for port, literal in use.literals.items():
            values[f"{use.id}|{port}"] = literal.value
    return Footing(
        bands={each: band_of(programme.at(each, Requirement)).facts() for each in decision.serves},
        values=values,
        choices={each: _choice(programme.at(each, Decision)) for each in decision.rests_on},
        checks={use.id: _identity(graph, use) for use in uses},
        bindings={use.id: _binding(graph, use) for use in uses},
    )


def _choice(decision: Decision) -> str:
    """Return the applied option's id, marked when it is settled."""
    return decision.chosen + (_SETTLED if decision.state is DecisionState.SETTLED else "")


def _identity(graph: Graph, use: CheckUse) -> str:
    loaded = graph.nodes[graph.position[use.id]].loaded
    return f"{use.plugin} unbound" if loaded is None else loaded.identity


def _binding(graph: Graph, use: CheckUse) -> str:
    """Return a fingerprint of how a check is bound, values aside."""
    known = graph.fingerprints.get(use.id)
    if known is None:
        sources = sorted((port, ref.id, ref.part) for port, ref in use.inputs.items())
        text = repr((sources, sorted(use.config.items()), sorted(use.outputs.items())))
        known = hashlib.sha256(text.encode()).hexdigest()[:_FINGERPRINT]
        graph.fingerprints[use.id] = known
    return known


def _values(
    programme: Programme, graph: Graph, slots: list[Slot], decision_id: str
) -> Iterator[tuple[str, Value | None]]:
    for slot in graph.watch.get(decision_id, ()):
        record_id, part = graph.keys[slot]
        name = f"{record_id}|{part}" if part else record_id
        record = None if part else programme.get(record_id)
        if isinstance(record, Quantity):
            yield name, value_of(slots[slot], record.kind, record.choices)
        else:
            yield name, value_of(slots[slot], Kind.REAL)


def shifts_of(
    programme: Programme, graph: Graph, slots: list[Slot], decision_id: str
) -> tuple[Shift, ...]:
    """Compare a settled decision's footing with the present; empty when nothing moved."""
    decision = programme.get(decision_id)
    if not isinstance(decision, Decision) or decision.footing is None:
        return ()
    if decision.state is not DecisionState.SETTLED:
        return ()
    now = take_footing(programme, graph, slots, decision_id)
    pairs = zip(_parts(decision.footing), _parts(now), strict=True)
    moved = {about for (about, held), (_, present) in pairs if held != present}
    if not moved:  # the usual case, told by comparing whole mappings
        return ()
    before, after = _facts(decision.footing, moved), _facts(now, moved)
    return tuple(
        Shift(about, name, before.get((about, name)), after.get((about, name)))
        for about, name in (*after, *sorted(before.keys() - after.keys()))
        if not _agree(graph, about, name, before, after)
    )


def _parts(footing: Footing) -> tuple[tuple[str, Mapping[str, object]], ...]:
    return (
        ("band", footing.bands),
        ("value", footing.values),
        ("choice", footing.choices),
        ("check", footing.checks),
        ("binding", footing.bindings),
    )


def _facts(footing: Footing, abouts: Container[str]) -> _Facts:
    return {
        (about, name): fact
        for about, part in _parts(footing)
        if about in abouts
        for name, fact in part.items()
    }


def _agree(graph: Graph, about: str, name: str, before: _Facts, after: _Facts) -> bool:
    if ((about, name) in before) != ((about, name) in after):
        return about == "binding"  # that the check came or went is told by its version
    old, new = before[about, name], after[about, name]
    if about == "choice":  # settling what it rests on, on the same option, only firms the ground
        return new in (old, f"{old}{_SETTLED}")
    if old == new or about != "value":
        return old == new
    base = graph.index.get((name.partition("|")[0], ""))
    return base in graph.writer and _close(old, new)


def _close(old: object, new: object) -> bool:
    if isinstance(old, tuple) and isinstance(new, tuple):
        size = max((abs(each) for each in (*old, *new)), default=0.0)
        return len(old) == len(new) and all(
            abs(a - b) <= _RELATIVE * size for a, b in zip(old, new, strict=True)
        )
    if isinstance(new, float) and isinstance(old, int | float):  # JSON gives 5.0 back as 5
        return abs(old - new) <= _RELATIVE * max(abs(old), abs(new))
    return False
