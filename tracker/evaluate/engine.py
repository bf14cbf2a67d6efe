"""The incremental engine: one programme, its compiled graph and the value of every slot.

An edit marks the checks that read a changed slot, runs them in topological order and stops where an
output has the same bits as before. Everything it moves is remembered, so that a trial, a cancelled
or a failed edit leaves no trace.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

import numpy as np

from tracker.errors import CancelledError
from tracker.evaluate.collecting import collector_held
from tracker.evaluate.compiling import compile_graph
from tracker.evaluate.footing import shifts_of
from tracker.evaluate.graph import Graph
from tracker.evaluate.judging import judge_at
from tracker.evaluate.plugin import Loader
from tracker.evaluate.running import call
from tracker.evaluate.slots import Slot, Unknown, same
from tracker.evaluate.sources import bound_slots, project, source_slot
from tracker.evaluate.standing import StandingOf, worst_standing
from tracker.evaluate.state import Report, State, carried_over, report_between
from tracker.evaluate.structure import is_structural, resourced
from tracker.evaluate.tracing import Run, Traces, keep_present, recalling
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
_Whole = tuple[Graph, State]


@dataclass(slots=True)
class _Pass:
    """One edit under way.

    Parameters
    ----------
    marks : bytearray
        1 at the checks still to run, by position in the graph's nodes.
    moved : dict
        Slot → what it held before; a slot moves once.
    undo : list of (store, index, old)
        The same for everything else that was written.
    """

    marks: bytearray
    moved: dict[int, Slot] = field(default_factory=dict)
    undo: list[tuple[Any, Any, Any]] = field(default_factory=list)

    def put(self, store: Any, index: Any, value: Any) -> None:  # noqa: ANN401 - a list or a dict
        """Write into a store of the state; `_MISSING` removes from a dict."""
        old = store.get(index, _MISSING) if isinstance(store, dict) else store[index]
        self.undo.append((store, index, old))
        _write(store, index, value)


def _write(store: Any, index: Any, value: Any) -> None:  # noqa: ANN401 - a list or a dict
    if value is _MISSING:
        del store[index]
    else:
        store[index] = value


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
    traces : Traces, optional
        What was computed before. Asked whenever the graph is compiled; edits that only move values
        go without, for asking would take longer than many a check.

    Attributes
    ----------
    opening : Report
        Which checks ran and which were recalled while loading.
    """

    def __init__(
        self,
        loader: Loader,
        programme: Programme,
        cancel: Cancel | None = None,
        traces: Traces | None = None,
    ) -> None:
        self._loader = loader
        self._traces = traces
        self.programme = programme
        self.graph = Graph()
        self.state = State()
        self.opening = Report()
        with collector_held():
            self._rebuild((each.id for each in programme.of(Quantity)), self.opening, cancel)

    def advance(self, entries: Sequence[Entry], cancel: Cancel | None = None) -> Report:
        """Apply entries and keep the result.

        Raises
        ------
        CycleError
            The entries close a ring of checks.
        CancelledError
            `cancel` asked to stop.
        """
        return self.step(entries, cancel)[0]

    def step(
        self, entries: Sequence[Entry], cancel: Cancel | None = None
    ) -> tuple[Report, Callable[[], None]]:
        """Apply entries; also return what takes them back to the bit, until the next step.

        Raises
        ------
        CycleError, CancelledError
            As `advance`.
        """
        before = self.graph, self.state
        report, work = self._forward(entries, cancel)
        return report, lambda: self._backward(entries, before, work)

    @contextmanager
    def trial(self, entries: Sequence[Entry], cancel: Cancel | None = None) -> Iterator[Report]:
        """Apply entries for the length of a `with` block, then take them back to the bit."""
        report, back = self.step(entries, cancel)
        try:
            yield report
        finally:
            back()

    def keep_traces(self, check_ids: Iterable[str]) -> None:
        """Have the present results of checks kept for later runs of the program."""
        if self._traces is None:
            return
        position = self.graph.position
        with np.errstate(all="ignore"):
            for place in [position[each] for each in check_ids if each in position]:
                node, block = self.graph.nodes[place], self.state.blocks[place]
                keep_present(self._traces, self.programme, node, self.state.slots, block)

    def _forward(self, entries: Sequence[Entry], cancel: Cancel | None) -> tuple[Report, _Pass]:
        self.programme.apply(entries)
        before, report = (self.graph, self.state), Report()
        work = _Pass(bytearray(len(self.graph.nodes)))
        try:
            if any(is_structural(each) for each in entries):
                self._restructure(entries, report, cancel)
            else:
                self._revalue(entries, report, work, cancel)
        except BaseException:
            self._backward(entries, before, work)
            raise
        return report, work

    def _backward(self, entries: Sequence[Entry], before: _Whole, work: _Pass) -> None:
        self.programme.take_back(entries)
        self.graph, self.state = before
        for slot, old in work.moved.items():
            self.state.slots[slot] = old
        for store, index, old in reversed(work.undo):
            _write(store, index, old)

    # -- value edits -----------------------------------------------------------------------------

    def _revalue(
        self, entries: Sequence[Entry], report: Report, work: _Pass, cancel: Cancel | None
    ) -> None:
        for each in entries:
            self._reset_sources(each.record, work)
        self._settle(call, report.ran, work, cancel)
        names = map(self.graph.keys.__getitem__, work.moved)
        report.slots.update(zip(names, work.moved.values(), strict=True))
        self._rejudge(entries, report, work)
        self._restand(entries, report, work)

    def _reset_sources(self, record: Record, work: _Pass) -> None:
        if isinstance(record, Quantity):
            self._reset_quantity(record.id, work)
        elif isinstance(record, Decision):
            for each in record.owns:
                self._reset_quantity(each, work)
        elif isinstance(record, Requirement):
            for slot, value in bound_slots(self.graph, record):
                self._assign(slot, value, work)

    def _reset_quantity(self, quantity_id: str, work: _Pass) -> None:
        slot = self.graph.index[quantity_id, ""]
        if slot not in self.graph.writer:
            self._assign(slot, source_slot(self.programme, self.graph, quantity_id), work)

    def _assign(self, slot: int, value: Slot, work: _Pass) -> None:
        """Put a value and its parts where they differ, and mark the checks that read them."""
        slots, graph = self.state.slots, self.graph
        old = slots[slot]
        if same(old, value):
            return
        work.moved[slot] = old
        slots[slot] = value
        for reader in graph.readers[slot]:
            work.marks[reader] = 1
        if slot in graph.parts:
            for part_slot, part in graph.parts[slot]:
                projected = project(self.programme, self.graph, slot, part, value)
                self._assign(part_slot, projected, work)

    # -- running checks --------------------------------------------------------------------------

    def _settle(self, run: Run, ran: list[str], work: _Pass, cancel: Cancel | None) -> None:
        """Run the marked checks in topological order, and what their outputs mark in turn."""
        nodes, blocks, slots = self.graph.nodes, self.state.blocks, self.state.slots
        place = -1
        with np.errstate(all="ignore"):
            while (place := work.marks.find(1, place + 1)) >= 0:  # readers come later in the order
                if cancel is not None and cancel():
                    raise CancelledError(f"stopped after {len(ran)} checks")
                block, values = run(nodes[place], slots, ran)
                if block != blocks[place]:
                    work.put(blocks, place, block)
                for slot, value in values:
                    self._assign(slot, value, work)

    # -- judging ---------------------------------------------------------------------------------

    def _rejudge(self, entries: Iterable[Entry], report: Report, work: _Pass) -> None:
        graph = self.graph
        places = set(chain.from_iterable(map(graph.judged_by.__getitem__, work.moved)))
        for each in entries:
            places.update(graph.judges_of.get(each.id, ()))
        for place in sorted(places):
            self._judge(place, report, work)

    def _judge(self, place: int, report: Report, work: _Pass) -> None:
        judge = self.graph.judges[place]
        finding = judge_at(self.programme, judge, self.state.slots[judge.slot])
        old = self.state.findings[place]
        if finding != old:
            report.findings[judge.id, judge.output] = old
            work.put(self.state.findings, place, finding)

    # -- standings -------------------------------------------------------------------------------

    def _restand(self, entries: Iterable[Entry], report: Report, work: _Pass) -> None:
        for decision_id in self._concerned(entries, report, work):
            decision = self.programme.at(decision_id, Decision)
            live = decision.state is not DecisionState.WITHDRAWN
            self._stand(decision_id, self.standing(decision_id) if live else None, report, work)
            self._shift(decision_id, report, work)

    def _concerned(self, entries: Iterable[Entry], report: Report, work: _Pass) -> dict[str, None]:
        """Return the decisions whose standing or ground may have moved."""
        graph = self.graph
        concerned: dict[str, None] = {}
        for each in entries:
            if isinstance(each.record, Decision):
                concerned[each.id] = None
            concerned.update(dict.fromkeys(graph.borne_by.get(each.id, ())))
            concerned.update(dict.fromkeys(graph.served_by.get(each.id, ())))
        watchers = map(graph.watched_by.__getitem__, work.moved)
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
        telling = {
            place: each
            for place in self.graph.stakes[decision_id]
            if (each := held[place]) and not each.moot
        }
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

    def _stand(self, decision_id: str, new: StandingOf | None, report: Report, work: _Pass) -> None:
        old = self.state.standings.get(decision_id)
        if new != old:
            report.standings[decision_id] = old
            work.put(self.state.standings, decision_id, _MISSING if new is None else new)

    def _shift(self, decision_id: str, report: Report, work: _Pass) -> None:
        old = self.state.shifts.get(decision_id, ())
        new = shifts_of(self.programme, self.graph, self.state.slots, decision_id)
        if new != old:
            report.shifts[decision_id] = old
            work.put(self.state.shifts, decision_id, new or _MISSING)

    # -- structural edits ------------------------------------------------------------------------

    def _restructure(self, entries: Sequence[Entry], report: Report, cancel: Cancel | None) -> None:
        before = self.graph, self.state
        with collector_held():
            self._rebuild(resourced(entries), report, cancel)
            report_between(report, before, (self.graph, self.state))

    def _rebuild(self, sources: Iterable[str], report: Report, cancel: Cancel | None) -> None:
        """Recompile, carry over what still holds, and run the rest, all in a state of its own.

        Parameters
        ----------
        sources : iterable of str
            Ids of the quantities whose source may have moved; some may be gone.
        report : Report
            Gets the checks that ran, were recalled and were bound anew.
        """
        before = self.graph, self.state
        self.graph = graph = compile_graph(self.programme, self._loader)
        self.state, kept = carried_over(before, graph)
        work = _Pass(bytearray(0 if each else 1 for each in kept))
        self._resource(sources, work)
        report.rebound += [
            node.id for node, each in zip(graph.nodes, kept, strict=True) if not each
        ]
        run: Run = call
        if self._traces is not None:
            run = recalling(self._traces, self.programme, report.recalled)
        self._settle(run, report.ran, work, cancel)
        for place, judge in enumerate(graph.judges):
            slot = self.state.slots[judge.slot]
            self.state.findings[place] = judge_at(self.programme, judge, slot)
        self._restand_all()

    def _resource(self, sources: Iterable[str], work: _Pass) -> None:
        """Reset these sources, and all bounds and parts that are read."""
        for each in sources:
            if each in self.programme:
                self._reset_quantity(each, work)
        for each in dict.fromkeys(name for name, part in self.graph.keys if part):
            if isinstance(requirement := self.programme.get(each), Requirement):
                self._reset_sources(requirement, work)
        for slot, parts in self.graph.parts.items():
            for part_slot, part in parts:
                value = project(self.programme, self.graph, slot, part, self.state.slots[slot])
                self._assign(part_slot, value, work)

    def _restand_all(self) -> None:
        for decision in self.programme.of(Decision):
            if decision.state is not DecisionState.WITHDRAWN:
                self.state.standings[decision.id] = self.standing(decision.id)
            shifts = shifts_of(self.programme, self.graph, self.state.slots, decision.id)
            if shifts:
                self.state.shifts[decision.id] = shifts
