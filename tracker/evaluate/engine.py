"""The incremental engine: one programme, its compiled graph and the value of every slot.

An edit marks the checks that read a changed slot, runs them in topological order and stops where an
output has the same bits as before. Everything written goes through an undo log, so that a trial, a
cancelled or a failed edit leaves no trace.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from heapq import heappop, heappush
from typing import Any

import numpy as np

from tracker.errors import CancelledError
from tracker.evaluate.footing import Shift, shifts_of
from tracker.evaluate.graph import Graph, Node, compile_graph
from tracker.evaluate.judging import judge_at
from tracker.evaluate.plugin import Loader
from tracker.evaluate.running import call
from tracker.evaluate.slots import Slot, Unknown, same
from tracker.evaluate.sources import bound_slots, project, source_slot
from tracker.evaluate.standing import Finding, StandingOf, worst_standing
from tracker.evaluate.structure import is_structural
from tracker.model.changes import Entry, inverse
from tracker.model.programme import Programme
from tracker.model.records import Decision, DecisionState, Quantity, Requirement

__all__ = ["Cancel", "Engine", "Report", "State"]

Cancel = Callable[[], bool]
"""Returns True when the work should stop."""

_PENDING = Unknown("not evaluated yet", "")


@dataclass(slots=True)
class State:
    """Everything computed.

    Parameters
    ----------
    slots : list of Slot
        By slot number.
    findings : list of Finding
        By position in the graph's judges.
    blocks : list of Unknown or None
        By position in the graph's nodes: why the check gave nothing.
    standings : dict
        Decision id → standing; withdrawn ones are missing.
    shifts : dict
        Decision id → what moved under it; empty ones are missing.
    """

    slots: list[Slot] = field(default_factory=list)
    findings: list[Finding | None] = field(default_factory=list)
    blocks: list[Unknown | None] = field(default_factory=list)
    standings: dict[str, StandingOf] = field(default_factory=dict)
    shifts: dict[str, tuple[Shift, ...]] = field(default_factory=dict)


@dataclass(slots=True)
class Report:
    """What an edit did.

    Parameters
    ----------
    ran : list of str
        Ids of the checks whose compute was called, in order.
    slots : dict
        (record id, part) → slot before, for every slot that changed.
    findings : dict
        (judge id, rule output) → finding before.
    standings, shifts : dict
        Decision id → before.
    """

    ran: list[str] = field(default_factory=list)
    slots: dict[tuple[str, str], Slot | None] = field(default_factory=dict)
    findings: dict[tuple[str, str], Finding | None] = field(default_factory=dict)
    standings: dict[str, StandingOf | None] = field(default_factory=dict)
    shifts: dict[str, tuple[Shift, ...]] = field(default_factory=dict)


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
        self.programme.apply(inverse(entries))
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

    def _revalue(self, entries: Iterable[Entry], report: Report, cancel: Cancel | None) -> None:
        touched, rejudged = _Touched(self.graph), set[int]()
        changed: list[int] = []
        for each in entries:
            self._reset_sources(each, changed)
            rejudged.update(self.graph.judges_of.get(each.id, ()))
            touched.add_record(each)
        self._settle(changed, report, cancel)
        self._rejudge(changed, rejudged, report, touched)
        self._restand(touched, report)

    def _reset_sources(self, entry: Entry, changed: list[int]) -> None:
        record = entry.record
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
        if same(self.state.slots[slot], value):
            return
        self._put(self.state.slots, slot, value)
        changed.append(slot)
        for part_slot, part in self.graph.parts.get(slot, ()):
            self._assign(part_slot, project(self.programme, self.graph, slot, part, value), changed)

    # -- running checks --------------------------------------------------------------------------

    def _settle(self, changed: list[int], report: Report, cancel: Cancel | None) -> None:
        """Run what reads a changed slot, in topological order; `changed` grows as outputs move."""
        readers, nodes = self.graph.readers, self.graph.nodes
        queue: list[int] = []
        queued = bytearray(len(nodes)) if changed else bytearray()
        done = 0
        with np.errstate(all="ignore"):
            while True:
                for slot in changed[done:]:
                    for place in readers[slot]:
                        if not queued[place]:
                            queued[place] = 1
                            heappush(queue, place)
                done = len(changed)
                if not queue:
                    return
                if cancel is not None and cancel():
                    raise CancelledError(f"stopped after {len(report.ran)} checks")
                self._run(heappop(queue), changed, report)

    def _run(self, place: int, changed: list[int], report: Report) -> None:
        node = self.graph.nodes[place]
        block, values = call(node, self.state.slots, report.ran)
        if block != self.state.blocks[place]:
            self._put(self.state.blocks, place, block)
        for slot, value in values:
            self._assign(slot, value, changed)

    # -- judging ---------------------------------------------------------------------------------

    def _rejudge(
        self, changed: Iterable[int], extra: set[int], report: Report, touched: _Touched
    ) -> None:
        places = set(extra)
        for slot in changed:
            report.slots.setdefault(self.graph.keys[slot], None)
            places.update(self.graph.judged_by.get(slot, ()))
            touched.add_slot(slot)
        self._note_old_slots(report)
        for place in sorted(places):
            self._judge(place, report, touched)

    def _note_old_slots(self, report: Report) -> None:
        """Fill in, from the undo log, what the changed slots held before."""
        for store, index, old in reversed(self._undo):
            if store is self.state.slots:
                report.slots[self.graph.keys[index]] = old

    def _judge(self, place: int, report: Report, touched: _Touched) -> None:
        judge = self.graph.judges[place]
        finding = judge_at(self.programme, judge, self.state.slots[judge.slot])
        old = self.state.findings[place]
        if finding != old:
            report.findings[judge.id, judge.output] = old
            self._put(self.state.findings, place, finding)
            touched.add_judge(judge.id, self.programme)

    # -- standings -------------------------------------------------------------------------------

    def _restand(self, touched: _Touched, report: Report) -> None:
        for decision_id in touched.decisions:
            decision = self.programme.get(decision_id)
            live = isinstance(decision, Decision) and decision.state is not DecisionState.WITHDRAWN
            self._stand(decision_id, self.standing(decision_id) if live else None, report)
            self._shift(decision_id, report)

    def standing(self, decision_id: str) -> StandingOf:
        """Work out a decision's standing from the present findings."""
        decision = self.programme.at(decision_id, Decision)
        judges = [*decision.serves, *self.graph.carried.get(decision_id, ())]
        places = [place for each in judges for place in self.graph.judges_of.get(each, ())]
        findings = {place: self.state.findings[place] for place in places}
        known = {place: each for place, each in findings.items() if each is not None}
        return worst_standing(known, self._unset(decision))

    def _unset(self, decision: Decision) -> Unknown | None:
        """Return the first unknown among what the decision sets and what its checks give."""
        slots = (self.state.slots[self.graph.index[each, ""]] for each in decision.owns)
        uses = self.graph.carried.get(decision.id, ())
        blocks = (self.state.blocks[self.graph.position[each]] for each in uses)
        return next((each for each in (*slots, *blocks) if isinstance(each, Unknown)), None)

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
        old_graph, old = self.graph, self.state
        graph = compile_graph(self.programme, self._loader)
        self.graph, self.state = graph, State()
        state = self.state
        state.slots = [
            old.slots[old_graph.index[key]] if key in old_graph.index else _PENDING
            for key in graph.keys
        ]
        state.blocks = [None] * len(graph.nodes)
        state.findings = [None] * len(graph.judges)
        changed: list[int] = []
        self._reset_all_sources(changed)
        self._settle_all(changed, _kept(old_graph, old, graph, state), report, cancel)
        for place, judge in enumerate(graph.judges):
            state.findings[place] = judge_at(self.programme, judge, state.slots[judge.slot])
        self._restand_all()
        self._undo.clear()
        _compare(report, (old_graph, old), (graph, state))

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
                if cancel is not None and cancel():
                    raise CancelledError(f"stopped after {len(report.ran)} checks")
                done = len(changed)
                self._run(place, changed, report)
                for slot in changed[done:]:
                    dirty[slot] = 1

    def _restand_all(self) -> None:
        for decision in self.programme.of(Decision):
            if decision.state is not DecisionState.WITHDRAWN:
                self.state.standings[decision.id] = self.standing(decision.id)
            shifts = shifts_of(self.programme, self.graph, self.state.slots, decision.id)
            if shifts:
                self.state.shifts[decision.id] = shifts


_MISSING = object()


class _Touched:
    """Decisions whose standing or shift may have moved."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self.decisions: dict[str, None] = {}

    def add_record(self, entry: Entry) -> None:
        record = entry.record
        if isinstance(record, Decision):
            self.decisions[record.id] = None
            self.decisions.update(dict.fromkeys(self._graph.borne_by.get(record.id, ())))
        elif isinstance(record, Requirement):
            self.decisions.update(dict.fromkeys(self._graph.served_by.get(record.id, ())))

    def add_slot(self, slot: int) -> None:
        self.decisions.update(dict.fromkeys(self._graph.watched_by.get(slot, ())))

    def add_judge(self, judge_id: str, programme: Programme) -> None:
        use = programme.get(judge_id)
        owners = self._graph.served_by.get(judge_id, ())
        self.decisions.update(dict.fromkeys(owners))
        if use is not None and not isinstance(use, Requirement):
            self.decisions[getattr(use, "decision", "")] = None


def _kept(old_graph: Graph, old: State, graph: Graph, state: State) -> bytearray:
    """Mark the checks whose stored outputs still hold, and carry their blocks over."""
    kept = bytearray(len(graph.nodes))
    for place, node in enumerate(graph.nodes):
        before = old_graph.position.get(node.id)
        if before is None or not _alike(old_graph.nodes[before], node, old_graph, graph):
            continue
        kept[place] = 1
        state.blocks[place] = old.blocks[before]
    return kept


def _alike(before: Node, after: Node, old_graph: Graph, graph: Graph) -> bool:
    return before.signature == after.signature and [
        old_graph.keys[slot] for slot in before.outputs
    ] == [graph.keys[slot] for slot in after.outputs]


def _compare(report: Report, before: tuple[Graph, State], after: tuple[Graph, State]) -> None:
    """Report what differs between two whole states."""
    (old_graph, old), (graph, state) = before, after
    for key, slot in graph.index.items():
        held = old.slots[old_graph.index[key]] if key in old_graph.index else None
        if held is None or not same(held, state.slots[slot]):
            report.slots[key] = held
    olds = {
        (judge.id, judge.output): old.findings[place]
        for place, judge in enumerate(old_graph.judges)
    }
    for place, judge in enumerate(graph.judges):
        name = (judge.id, judge.output)
        if olds.get(name) != state.findings[place]:
            report.findings[name] = olds.get(name)
    for decision_id in {**old.standings, **state.standings}:
        if old.standings.get(decision_id) != state.standings.get(decision_id):
            report.standings[decision_id] = old.standings.get(decision_id)
    for decision_id in {**old.shifts, **state.shifts}:
        if old.shifts.get(decision_id) != state.shifts.get(decision_id):
            report.shifts[decision_id] = old.shifts.get(decision_id, ())
