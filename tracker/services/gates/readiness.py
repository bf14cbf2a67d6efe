"""How ready a gate is, at any moment, criterion by criterion; and what blocks the next one."""

from __future__ import annotations

from tracker.model.records import Baseline, Gate
from tracker.services.gates.criteria import CRITERIA, settings_of
from tracker.services.gates.facts import GateFacts
from tracker.services.gates.order import gates_in_order, latest_baseline, next_gate
from tracker.services.gates.views import (
    BaselineLine,
    CriterionView,
    GateList,
    GatePage,
    GateStanding,
)
from tracker.services.present import key_of
from tracker.services.session import Reading
from tracker.services.wording import CAUTION, visible

__all__ = ["baseline_line", "gate_list", "gate_page", "is_ready", "readiness"]

MET, UNMET, ASIDE = "met", "not met", "set aside"


def readiness(reading: Reading, gate: Gate) -> tuple[CriterionView, ...]:
    """Judge every criterion of a gate on the data as they are.

    Raises
    ------
    BadValueError
        The gate asks for a criterion there is none of, or for something it cannot be.
    """
    facts = GateFacts(reading, gate)
    return tuple(
        _judged(facts, name, setting)
        for name, setting in settings_of(gate.criteria, gate.key).items()
    )


def _judged(facts: GateFacts, name: str, setting: str) -> CriterionView:
    criterion = CRITERIA[name]
    offenders = () if setting == "no" else criterion.offenders(facts, setting)
    result = ASIDE if setting == "no" else UNMET if offenders else MET
    return CriterionView(
        name=name, title=criterion.title, setting=setting, result=result, offenders=offenders
    )


def is_ready(criteria: tuple[CriterionView, ...]) -> bool:
    """Tell whether every criterion is met or set aside."""
    return all(each.result != UNMET for each in criteria)


def gate_list(reading: Reading) -> GateList:
    """Return all gates with their readiness, and which is next."""
    upcoming = next_gate(reading.programme)
    return GateList(
        revision=reading.head.revision,
        gates=tuple(_standing(reading, each) for each in gates_in_order(reading.programme)),
        next=upcoming.key if upcoming else "",
        caution=CAUTION,
    )


def _standing(reading: Reading, gate: Gate) -> GateStanding:
    criteria = readiness(reading, gate)
    frozen = latest_baseline(reading.programme, gate)
    return GateStanding(
        key=gate.key,
        title=visible(gate.title),
        date=gate.date,
        ready=frozen.ready if frozen else is_ready(criteria),
        baseline=frozen.key if frozen else "",
        blocked_by=tuple(each.name for each in criteria if each.result == UNMET),
    )


def gate_page(reading: Reading, key: str) -> GatePage:
    """Return a gate with its readiness now and its baselines.

    Raises
    ------
    UnknownKeyError
        No gate is called that.
    BadValueError
        Its criteria are none.
    """
    gate = reading.programme.named(key, Gate)
    criteria = readiness(reading, gate)
    facts = GateFacts(reading, gate)
    frozen = [each for each in reading.programme.of(Baseline) if each.gate == gate.id]
    return GatePage(
        revision=reading.head.revision,
        key=gate.key,
        title=visible(gate.title),
        date=gate.date,
        due=facts.due_keys(),
        ready=is_ready(criteria),
        criteria=criteria,
        baselines=tuple(baseline_line(reading, each) for each in reversed(frozen)),
        caution=CAUTION,
    )


def baseline_line(reading: Reading, baseline: Baseline) -> BaselineLine:
    """Return a baseline with the change that froze it."""
    change = next(iter(reading.store.touching(baseline.id)))
    return BaselineLine(
        key=baseline.key,
        gate=key_of(reading, baseline.gate),
        frozen=change.revision,
        at=change.at,
        author=visible(change.author),
        reason=visible(change.reason),
        revision=baseline.revision,
        head=baseline.head,
        content=baseline.content,
        ready=baseline.ready,
    )
