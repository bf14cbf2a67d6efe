"""Random edits of what a gate is walked through with: misses are accepted and expire."""

from __future__ import annotations

from dataclasses import replace

from tests.property.programmes import Chooser
from tracker.model.changes import Entry
from tracker.model.records import Baseline, Bound, Deviation, Gate, Requirement

__all__ = ["accept", "accept_otherwise", "freeze", "move_gate"]

Entries = tuple[Entry, ...]


def accept(choose: Chooser) -> Entries:
    """Accept the miss of a requirement, mostly of one that is missed."""
    missed = {
        choose.engine.graph.judges[place].id
        for place, finding in enumerate(choose.engine.state.findings)
        if finding is not None and finding.judgement.verdict == "missed"
    }
    anything = choose.chance(30)
    requirement = choose.some(Requirement, lambda each: anything or each.id in missed)
    gate = choose.some(Gate)
    if requirement is None or gate is None:
        return ()
    each = choose.new_id("v")
    bare = Deviation(
        id=each,
        key=each,
        requirement=requirement.id,
        reason="no other way",
        approver="somebody",
        extent="as far as it says",
        expires=gate.id,
    )
    return (Entry(None, _bounded(choose, bare, requirement)),)


def _bounded(choose: Chooser, deviation: Deviation, requirement: Requirement) -> Deviation:
    if requirement.allowed:
        return replace(deviation, lower=None, upper=None)
    lower, upper = choose.bound(), choose.bound()
    if lower and upper and lower.value > upper.value:
        lower, upper = upper, lower
    return replace(deviation, lower=lower, upper=upper)


def accept_otherwise(choose: Chooser) -> Entries:
    """Change how far a miss is accepted, until when, of what, or only why."""
    deviation = choose.some(Deviation)
    requirement, gate = choose.some(Requirement), choose.some(Gate)
    if deviation is None or requirement is None or gate is None:
        return ()
    match choose.dice.whole(1, 4):
        case 1:
            held = choose.engine.programme.at(deviation.requirement, Requirement)
            after = _bounded(choose, deviation, held)
        case 2:
            after = replace(deviation, expires=gate.id)
        case 3:
            after = _bounded(choose, replace(deviation, requirement=requirement.id), requirement)
        case _:
            after = replace(deviation, reason="another reason", upper=_retyped(deviation.upper))
    return (Entry(deviation, after),)


def _retyped(bound: Bound | None) -> Bound | None:
    return None if bound is None else replace(bound, typed="as typed")


def freeze(choose: Chooser) -> Entries:
    """Freeze a baseline at a gate; what expires there bites from now on."""
    gate = choose.some(Gate)
    if gate is None:
        return ()
    each = choose.new_id("b")
    frozen = Baseline(id=each, key=each, gate=gate.id, revision=1, head="0" * 64, content="1" * 64)
    return (Entry(None, frozen),)


def move_gate(choose: Chooser) -> Entries:
    """Give a gate another date, or make another gate."""
    gate = choose.some(Gate)
    date = choose.dice.pick(("2031-01-31", "2031-06-30", "2032-01-31", "2033-01-31"))
    if gate is None or choose.chance(40):
        each = choose.new_id("g")
        return (Entry(None, Gate(id=each, key=each, title="", date=date)),)
    return (Entry(gate, replace(gate, date=date)),)
