"""The incremental engine: one programme, its compiled graph and the value of every slot.

An edit marks the checks that read a changed slot, runs them in topological order and stops where an
output has the same bits as before. Everything written goes through an undo log, so that a trial, a
cancelled or a failed edit leaves no trace.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import chain
from typing import Any

import numpy as np

from tracker.errors import CancelledError
from tracker.evaluate.footing import shifts_of
from tracker.evaluate.graph import Graph, compile_graph
from tracker.evaluate.judging import judge_at
from tracker.evaluate.plugin import Loader
from tracker.evaluate.running import call
from tracker.evaluate.slots import Slot, Unknown, same
from tracker.evaluate.sources import bound_slots, project, source_slot
from tracker.evaluate.standing import StandingOf, worst_standing
from tracker.evaluate.state import Report, State, carried_over, report_between
from tracker.evaluate.structure import is_structural
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import (
    CheckUse,
    Decision,
    DecisionState,
    Quantity,
    Record,
    Requirement,
)

__all__ = ["Cancel", "Engine"]

Cancel = Callable[[], bool]
"""Returns True when the work should stop."""

_MISSING = object()


class Engine:
    """Keeps one programme evaluated.

    Parameters
    ----------
    loader : Loader
        Finds installed checks.
    programme : Programme
        The working copy this engine moves.
    cancel : Cancel, optional
        Asked between checks while loading.
    """

    def __init__(self, loader: Loader, programme: Programme, cancel: Cancel | None = None) -> None:
        self._loader = loader
        self.programme = programme
        self.graph = Graph()
        self.state = State()
        self._undo: list[tuple[Any, Any, Any]] = []
        self._restructure(Report(), cancel)
        self._undo.clear()

    def advance(self, entries: Sequence[Entry], cancel: Cancel | None = None) -> Report:
        """Apply entries and keep the result.

        Raises
        ------
        CycleError
            The entries close a ring of checks.
        CancelledError
            `cancel` asked to stop.
        """
        before = self.graph, self.state
        report = self._forward(entries, before, cancel)
        self._undo.clear()
        return report

    @contextmanager
    def trial(self, entries: Sequence[Entry], cancel: Cancel | None = None) -> Iterator[Report]:
        """Apply entries for the length of a `with` block, then take them back to the bit."""
        before = self.graph, self.state
        outer, self._undo = self._undo, []
        try:
            report = self._forward(entries, before, cancel)
            try:
                yield report
            finally:
                self._backward(entries, before)
        finally:
            self._undo = outer

    def _forward(
        self, entries: Sequence[Entry], before: tuple[Graph, State], cancel: Cancel | None
    ) -> Report:
        self.programme.apply(entries)
        report = Report()
        try:
            if any(is_structural(each) for each in entries):
                self._restructure(report, cancel)
            else:
                self._revalue(entries, report, cancel)
        except BaseException:
            self._backward(entries, before)
            raise
        return report

    def _backward(self, entries: Sequence[Entry], before: tuple[Graph, State]) -> None:
        self.programme.take_back(entries)
        self.graph, self.state = before
        for store, index, old in reversed(self._undo):
            if old is _MISSING:
                del store[index]
            else:
                store[index] = old
        self._undo.clear()

    # -- writing through the undo log ------------------------------------------------------------

    def _put(self, store: Any, index: Any, value: Any) -> None:  # noqa: ANN401 - list or dict
        old = store.get(index, _MISSING) if isinstance(store, dict) else store[index]
        self._undo.append((store, index, old))
        if value is _MISSING:
            del store[index]
        else:
            store[index] = value

    # -- value edits -----------------------------------------------------------------------------

    def _revalue(self, entries: Sequence[Entry], report: Report, cancel: Cancel | None) -> None:
        changed: list[int] = []
        for each in entries:
            self._reset_sources(each.record, changed)
        self._settle(changed, report, cancel)
        report.slots.update(self._before(changed))
        self._rejudge(entries, changed, report)
        self._restand(entries, changed, report)

    def _reset_sources(self, record: Record, changed: list[int]) -> None:
        if isinstance(record, Quantity):
            self._reset_quantity(record.id, changed)
        elif isinstance(record, Decision):
            for each in record.owns:
                self._reset_quantity(each, changed)
        elif isinstance(record, Requirement):
            for slot, value in bound_slots(self.graph, record):
                self._assign(slot, value, changed)

    def _reset_quantity(self, quantity_id: str, changed: list[int]) -> None:
        slot = self.graph.index[quantity_id, ""]
        if slot not in self.graph.writer:
            self._assign(slot, source_slot(self.programme, self.graph, quantity_id), changed)

    def _assign(self, slot: int, value: Slot, changed: list[int]) -> None:
        """Put a value and its projections, and note what really changed."""
        slots = self.state.slots
        old = slots[slot]
        if same(old, value):
            return
        self._undo.append((slots, slot, old))
        slots[slot] = value
        changed.append(slot)
        if slot in self.graph.parts:
            for part_slot, part in self.graph.parts[slot]:
                projected = project(self.programme, self.graph, slot, part, value)
                self._assign(part_slot, projected, changed)

    def _before(self, changed: Sequence[int]) -> dict[tuple[str, str], Slot | None]:
        """Return, from the undo log, what the changed slots held before; each moves once."""
        slots, keys = self.state.slots, self.graph.keys
        held = {index: old for store, index, old in self._undo if store is slots}
        return {keys[slot]: held[slot] for slot in changed}

    # -- running checks --------------------------------------------------------------------------

    def _settle(self, changed: list[int], report: Report, cancel: Cancel | None) -> None:
        """Run what reads a changed slot, in topological order; `changed` grows as outputs move."""
        readers = self.graph.readers
        marks = bytearray(len(self.graph.nodes))
        place, done = -1, 0
        with np.errstate(all="ignore"):
            while True:
                for slot in changed[done:]:
                    for reader in readers[slot]:
                        marks[reader] = 1
                done = len(changed)
                place = marks.find(1, place + 1)  # readers always come later in the order
                if place < 0:
                    return
                self._run(place, changed, report, cancel)

    def _run(self, place: int, changed: list[int], report: Report, cancel: Cancel | None) -> None:
        if cancel is not None and cancel():
            raise CancelledError(f"stopped after {len(report.ran)} checks")
        node, blocks = self.graph.nodes[place], self.state.blocks
        block, values = call(node, self.state.slots, report.ran)
        if block != blocks[place]:
            self._put(blocks, place, block)
        for output, result in zip(node.outputs, values, strict=True):
            self._assign(output, result, changed)

    # -- judging ---------------------------------------------------------------------------------

    def _rejudge(self, entries: Iterable[Entry], changed: list[int], report: Report) -> None:
        graph = self.graph
        places = set(chain.from_iterable(map(graph.judged_by.__getitem__, changed)))
        for each in entries:
            places.update(graph.judges_of.get(each.id, ()))
        for place in sorted(places):
            self._judge(place, report)

    def _judge(self, place: int, report: Report) -> None:
        judge = self.graph.judges[place]
        finding = judge_at(self.programme, judge, self.state.slots[judge.slot])
        old = self.state.findings[place]
        if finding != old:
            report.findings[judge.id, judge.output] = old
            self._put(self.state.findings, place, finding)

    # -- standings -------------------------------------------------------------------------------

    def _restand(self, entries: Iterable[Entry], changed: list[int], report: Report) -> None:
        for decision_id in self._concerned(entries, changed, report):
            decision = self.programme.at(decision_id, Decision)
            live = decision.state is not DecisionState.WITHDRAWN
            self._stand(decision_id, self.standing(decision_id) if live else None, report)
            self._shift(decision_id, report)

    def _concerned(
        self, entries: Iterable[Entry], changed: list[int], report: Report
    ) -> dict[str, None]:
        """Return the decisions whose standing or ground may have moved."""
        graph = self.graph
        concerned: dict[str, None] = {}
        for each in entries:
            if isinstance(each.record, Decision):
                concerned[each.id] = None
            concerned.update(dict.fromkeys(graph.borne_by.get(each.id, ())))
            concerned.update(dict.fromkeys(graph.served_by.get(each.id, ())))
        watchers = map(graph.watched_by.__getitem__, changed)
        concerned.update(dict.fromkeys(chain.from_iterable(watchers)))
        for judge_id, _ in report.findings:
            concerned.update(dict.fromkeys(self._staked_on(judge_id)))
        return concerned

    def _staked_on(self, judge_id: str) -> Sequence[str]:
        judge = self.programme.get(judge_id)
        if isinstance(judge, CheckUse):
            return (judge.decision,)
        return self.graph.served_by.get(judge_id, ())

    def standing(self, decision_id: str) -> StandingOf:
        """Work out a decision's standing from the present findings."""
        held = self.state.findings
        findings = {place: held[place] for place in self.graph.stakes[decision_id]}
        telling = {place: each for place, each in findings.items() if each and not each.moot}
        return worst_standing(telling, self._unset(decision_id))

    def _unset(self, decision_id: str) -> Unknown | None:
        """Return the first unknown among what the decision sets and what its checks give."""
        slots, index = self.state.slots, self.graph.index
        for each in self.programme.at(decision_id, Decision).owns:
            slot = slots[index[each, ""]]
            if isinstance(slot, Unknown):
                return slot
        blocks = map(self.state.blocks.__getitem__, self.graph.carried_at[decision_id])
        return next(filter(None, blocks), None)

    def _stand(self, decision_id: str, new: StandingOf | None, report: Report) -> None:
        old = self.state.standings.get(decision_id)
        if new != old:
            report.standings[decision_id] = old
            self._put(self.state.standings, decision_id, _MISSING if new is None else new)

    def _shift(self, decision_id: str, report: Report) -> None:
        old = self.state.shifts.get(decision_id, ())
        new = shifts_of(self.programme, self.graph, self.state.slots, decision_id)
        if new != old:
            report.shifts[decision_id] = old
            self._put(self.state.shifts, decision_id, new or _MISSING)

    # -- structural edits ------------------------------------------------------------------------

    def _restructure(self, report: Report, cancel: Cancel | None) -> None:
        """Recompile, carry over what still holds, and run the rest."""
        before = self.graph, self.state
        self.graph = graph = compile_graph(self.programme, self._loader)
        self.state, kept = carried_over(before, graph)
        changed: list[int] = []
        self._reset_all_sources(changed)
        self._settle_all(changed, kept, report, cancel)
        for place, judge in enumerate(graph.judges):
            slot = self.state.slots[judge.slot]
            self.state.findings[place] = judge_at(self.programme, judge, slot)
        self._restand_all()
        self._undo.clear()  # it only leads back to within the new state
        report_between(report, before, (graph, self.state))

    def _reset_all_sources(self, changed: list[int]) -> None:
        for quantity in self.programme.of(Quantity):
            self._reset_quantity(quantity.id, changed)
        for requirement in self.programme.of(Requirement):
            for slot, value in bound_slots(self.graph, requirement):
                self._assign(slot, value, changed)
        for slot, parts in self.graph.parts.items():
            for part_slot, part in parts:
                value = project(self.programme, self.graph, slot, part, self.state.slots[slot])
                self._assign(part_slot, value, changed)

    def _settle_all(
        self, changed: list[int], kept: bytearray, report: Report, cancel: Cancel | None
    ) -> None:
        """Scan all checks in order; run those that are new or read a changed slot."""
        dirty = bytearray(len(self.graph.keys))
        for slot in changed:
            dirty[slot] = 1
        with np.errstate(all="ignore"):
            for place, node in enumerate(self.graph.nodes):
                if kept[place] and not any(dirty[gather.slot] for gather in node.gathers):
                    continue
                done = len(changed)
                self._run(place, changed, report, cancel)
                for slot in changed[done:]:
                    dirty[slot] = 1

    def _restand_all(self) -> None:
        for decision in self.programme.of(Decision):
            if decision.state is not DecisionState.WITHDRAWN:
                self.state.standings[decision.id] = self.standing(decision.id)
            shifts = shifts_of(self.programme, self.graph, self.state.slots, decision.id)
            if shifts:
                self.state.shifts[decision.id] = shifts
