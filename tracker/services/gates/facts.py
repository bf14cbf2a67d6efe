"""What the criteria of a gate look at, found once for a reading."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TypeVar

from tracker.model.records import (
    Action,
    CheckUse,
    Decision,
    DecisionState,
    Gate,
    Quantity,
    Requirement,
    Risk,
)
from tracker.services.gates.deviating import Deviations
from tracker.services.gates.grounds import setting_of
from tracker.services.gates.order import due_by
from tracker.services.present import check_line, decision_line, finding_view
from tracker.services.session import Reading
from tracker.services.views import DecisionLine
from tracker.services.wording import visible

__all__ = ["GateFacts"]

Due = TypeVar("Due", Requirement, Decision, Action, Risk)


class GateFacts:
    """A reading seen from a gate.

    Parameters
    ----------
    reading : Reading
        A programme.
    gate : Gate
        What is due there or at an earlier one counts.
    """

    def __init__(self, reading: Reading, gate: Gate) -> None:
        self.reading = reading
        self.gate = gate
        self._gates = due_by(reading.programme, gate)
        self._deviations = Deviations(reading)
        self._lines: dict[str, DecisionLine] = {}

    def due(self, cls: type[Due]) -> Iterator[Due]:
        """Return what of a kind is due here or earlier."""
        for each in self.reading.programme.of(cls):
            if each.gate in self._gates:
                yield each

    def decisions(self) -> Iterator[Decision]:
        """Return the decisions due; a withdrawn one is owed by nobody."""
        for each in self.due(Decision):
            if each.state is not DecisionState.WITHDRAWN:
                yield each

    @cached_property
    def due_decisions(self) -> frozenset[str]:
        """Ids of the decisions due."""
        return frozenset(each.id for each in self.decisions())

    def due_keys(self) -> tuple[str, ...]:
        """Return the keys of all that is due here or earlier."""
        owed = (self.due(Requirement), self.due(Decision), self.due(Action), self.due(Risk))
        return tuple(each.key for kind in owed for each in kind)

    def decision_line(self, decision: Decision) -> DecisionLine:
        """Return a decision at a glance."""
        line = self._lines.get(decision.id)
        if line is None:
            line = self._lines[decision.id] = decision_line(self.reading, decision)
        return line

    def check_state(self, use: CheckUse) -> tuple[str, str]:
        """Return the state of a check and why it is not current."""
        line = check_line(self.reading, use)
        return line.state, line.message

    def judged_slots(self, requirement: Requirement) -> list[int]:
        """Return the slots a requirement judges."""
        graph = self.reading.engine.graph
        return [graph.judges[place].slot for place in graph.judges_of[requirement.id]]

    def miss(self, requirement: Requirement) -> str:
        """Say how a requirement fails this gate; empty where it is met or covered."""
        place = self.reading.engine.graph.judges_of[requirement.id][0]
        finding = self.reading.engine.state.findings[place]
        verdict = finding.judgement.verdict.value if finding else "unknown"
        if verdict in ("met", "tight"):
            return ""
        view = finding_view(self.reading, place)
        if verdict == "unknown":
            return f"unknown: {view.reason}"
        if self._deviations.covers_at(requirement, self.gate):
            return ""
        value = f"{view.text} {view.unit}".strip()
        why_not = self._deviations.why_not(requirement, self.gate)
        return f"missed: {value} against {view.required}{f'; {why_not}' if why_not else ''}"

    def basis_words(self, quantity: Quantity) -> str:
        """Say how well a stated value is known and where it comes from."""
        setting = setting_of(self.reading, quantity)
        assert setting is not None  # noqa: S101 - only stated values are asked about
        article = "an" if setting.basis.kind.value[0] in "aeiou" else "a"
        kind = setting.basis.kind.value
        shown = kind if kind in ("calculated", "quoted", "measured") else f"{article} {kind}"
        source = f" ({visible(setting.basis.source)})" if setting.basis.source else ""
        return shown + source
