"""What an engine must be like after an edit, worked out without trusting its increments.

The oracle evaluates copies of the records from scratch before and after, compares to the bit, and
counts from the two passes which checks had to run.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from tests.property.toy_checks import Shelf
from tracker.errors import CancelledError, CycleError
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Absent, Slot, Unknown
from tracker.evaluate.state import Report
from tracker.model.changes import Entry
from tracker.model.records import CheckUse, ProgrammeInfo, Record

__all__ = ["Outcome", "bits", "check_edit", "picture"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an edit cost: runs, how many there had to be, and whether a ring refused it."""

    runs: int = 0
    expected: int = 0
    ring: bool = False


@dataclass(frozen=True)
class Picture:
    """Everything an engine holds, comparable with `==`, to the bit and in order."""

    records: list[Record]
    keys: list[tuple[str, str]]
    order: list[str]
    slots: dict[tuple[str, str], object]
    findings: dict[tuple[str, str], object]
    blocks: dict[str, object]
    standings: dict[str, object]
    shifts: dict[str, object]


def bits(slot: Slot | None) -> object:
    """Return what a slot holds in a form that equals only the same bits."""
    if isinstance(slot, np.ndarray):
        assert not slot.flags.writeable
        return (slot.dtype.str, slot.shape, slot.tobytes())
    return repr(slot) if isinstance(slot, tuple) else slot


def picture(engine: Engine) -> Picture:
    """Take a picture of an engine."""
    graph, state = engine.graph, engine.state
    names = [(judge.id, judge.output) for judge in graph.judges]
    return Picture(
        records=list(engine.programme),
        keys=list(graph.keys),
        order=[node.id for node in graph.nodes],
        slots={key: bits(state.slots[slot]) for key, slot in graph.index.items()},
        findings=dict(zip(names, state.findings, strict=True)),
        blocks={node.id: state.blocks[place] for place, node in enumerate(graph.nodes)},
        standings={
            each: (held.standing, [names[place] for place in held.culprits], held.unset)
            for each, held in state.standings.items()
        },
        shifts=dict(state.shifts),
    )


def check_edit(engine: Engine, shelf: Shelf, entries: Sequence[Entry], stop_after: int) -> Outcome:
    """Apply an edit to an engine and hold it against scratch passes.

    Parameters
    ----------
    entries : sequence of Entry
        Allowed by the invariants.
    stop_after : int
        Checks after which a first attempt is cancelled.
    """
    before = picture(engine)
    old = Engine(shelf, engine.programme.copy())
    try:
        with engine.trial(entries) as tried:
            told, within = _told(tried), picture(engine)
    except CycleError as ring:
        assert picture(engine) == before
        return _refused(shelf, engine, entries, str(ring))
    assert picture(engine) == before, "a trial left a trace"
    _check_cancelled(engine, entries, before, stop_after)
    report = engine.advance(entries)
    after, new = picture(engine), Engine(shelf, engine.programme.copy())
    assert after == picture(new), "not what a pass from scratch gives"
    assert within == after, "a trial gives something else than the edit"
    assert told == _told(report), "a trial reports something else than the edit"
    _check_report(told, before, after)
    expected = _must_run(old, new, shelf)
    assert sorted(report.ran) == sorted(expected), (report.ran, expected)
    return Outcome(len(report.ran), len(expected))


def _refused(shelf: Shelf, engine: Engine, entries: Sequence[Entry], ring: str) -> Outcome:
    """Require that a pass from scratch refuses the same ring."""
    copy = engine.programme.copy()
    copy.apply(entries)
    with pytest.raises(CycleError) as again:
        Engine(shelf, copy)
    assert str(again.value) == ring
    return Outcome(ring=True)


def _check_cancelled(
    engine: Engine, entries: Sequence[Entry], before: Picture, stop_after: int
) -> None:
    asked = iter(range(stop_after))
    try:
        with engine.trial(entries, lambda: next(asked, None) is None):
            return
    except CancelledError:
        assert picture(engine) == before, "a cancelled edit left a trace"


def _told(report: Report) -> tuple[Any, ...]:
    slots = {key: bits(slot) for key, slot in report.slots.items()}
    standings = {
        each: held and (held.standing, held.unset) for each, held in report.standings.items()
    }
    return (report.ran, slots, report.findings, standings, report.shifts)


def _check_report(told: tuple[Any, ...], before: Picture, after: Picture) -> None:
    """Require that a report names what differs between two pictures, and nothing else."""
    _, slots, findings, standings, shifts = told
    assert slots == _differing(before.slots, after.slots)
    assert findings == _differing(before.findings, after.findings)
    moved = {**before.standings, **after.standings}
    assert set(standings) == {
        each for each in moved if before.standings.get(each) != after.standings.get(each)
    }
    moved = {**before.shifts, **after.shifts}
    assert shifts == {
        each: before.shifts.get(each, ())
        for each in moved
        if before.shifts.get(each) != after.shifts.get(each)
    }


def _differing(before: dict[Any, object], after: dict[Any, object]) -> dict[Any, object]:
    return {key: before.get(key) for key, held in after.items() if before.get(key) != held}


def _must_run(old: Engine, new: Engine, shelf: Shelf) -> list[str]:
    """Name the checks whose direct inputs changed and are all there."""
    return [
        use.id
        for use in new.programme.of(CheckUse)
        if _can_run(new, use) and _moved(old, new, use, shelf)
    ]


def _can_run(engine: Engine, use: CheckUse) -> bool:
    node = engine.graph.nodes[engine.graph.position[use.id]]
    if node.loaded is None:
        return False
    for port, ref in use.inputs.items():
        slot = _read(engine, ref.id, ref.part)
        optional = node.loaded.inputs[port].optional
        if isinstance(slot, Unknown) or (isinstance(slot, Absent) and not optional):
            return False
    return True


def _read(engine: Engine, record_id: str, part: str) -> Slot:
    return engine.state.slots[engine.graph.index[record_id, part]]


def _moved(old: Engine, new: Engine, use: CheckUse, shelf: Shelf) -> bool:
    """Tell whether a check is new, bound otherwise, or reads something else."""
    before = old.programme.get(use.id)
    if not isinstance(before, CheckUse) or _binding(before) != _binding(use):
        return True
    if old.graph.nodes[old.graph.position[use.id]].loaded is None:
        return True
    units = [shelf.load(use.plugin, {}, _money(each)).units for each in (old, new)]
    if units[0] != units[1]:
        return True
    return any(
        bits(_read(old, ref.id, ref.part)) != bits(_read(new, ref.id, ref.part))
        for ref in use.inputs.values()
    )


def _binding(use: CheckUse) -> tuple[object, ...]:
    return (use.plugin, use.config, use.inputs, use.literals, use.outputs)


def _money(engine: Engine) -> str:
    return engine.programme.at("P", ProgrammeInfo).currency
