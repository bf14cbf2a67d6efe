"""The criteria of a gate: what each asks, what it may be set to, and what offends it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from tracker.errors import BadValueError, ManyProblemsError, WhyboneError
from tracker.model.records import (
    Action,
    BasisKind,
    CheckUse,
    DecisionState,
    Evidence,
    Quantity,
    Record,
    Requirement,
    Risk,
    kind_of,
)
from tracker.services.gates.evidence import CHANGED, MISSING, evidence_state
from tracker.services.gates.facts import GateFacts
from tracker.services.gates.grounds import KNOWN, PoorGrounds
from tracker.services.gates.views import OffenderView
from tracker.services.titles import title_of

__all__ = ["CRITERIA", "Criterion", "settings_of"]

_ON = ("yes", "no")
_OFF = "no"
Offences = Iterator[tuple[Record, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """A criterion.

    Parameters
    ----------
    title : str
        What it asks, in words.
    usual : str
        What a gate asks that does not say.
    settings : tuple of str
        What it may be set to; `no` sets it aside.
    find : callable
        Finds what offends it, given the setting.
    """

    title: str
    find: Callable[[GateFacts, str], Offences]
    usual: str = "yes"
    settings: tuple[str, ...] = _ON

    def offenders(self, facts: GateFacts, setting: str) -> tuple[OffenderView, ...]:
        """Return what keeps it from being met."""
        return tuple(
            OffenderView(key=each.key, kind=kind_of(each), title=title_of(each), why=why)
            for each, why in self.find(facts, setting)
        )


def settings_of(criteria: Mapping[str, str], item: str) -> dict[str, str]:
    """Return what a gate asks of every criterion.

    Raises
    ------
    BadValueError
        A name is no criterion, or a setting none it takes.
    ManyProblemsError
        Several of these.
    """
    problems: list[WhyboneError] = [
        BadValueError(
            f"{name[:60]!r} is no criterion",
            item=item,
            field="criteria",
            remedy="Criteria: " + ", ".join(CRITERIA),
        )
        for name in criteria
        if name not in CRITERIA
    ]
    problems += [
        BadValueError(
            f"{name} cannot be {criteria[name][:60]!r}",
            item=item,
            field="criteria",
            remedy="It can be: " + ", ".join(each.settings),
        )
        for name, each in CRITERIA.items()
        if criteria.get(name, each.usual) not in each.settings
    ]
    if problems:
        raise problems[0] if len(problems) == 1 else ManyProblemsError(problems)
    return {name: criteria.get(name, each.usual) for name, each in CRITERIA.items()}


def _requirements(facts: GateFacts, _: str) -> Offences:
    for each in facts.due(Requirement):
        why = facts.miss(each)
        if why:
            yield each, why


def _settled(facts: GateFacts, _: str) -> Offences:
    for each in facts.decisions():
        if each.state is not DecisionState.SETTLED:
            yield each, f"it is {each.state}, not settled"


def _standing(facts: GateFacts, _: str) -> Offences:
    for each in facts.decisions():
        line = facts.decision_line(each)
        if line.standing == "broken":
            yield each, f"broken: {line.why}"


def _unshifted(facts: GateFacts, _: str) -> Offences:
    for each in facts.decisions():
        if each.id in facts.reading.engine.state.shifts:
            yield each, "its ground has shifted since it was settled"


def _proven(facts: GateFacts, _: str) -> Offences:
    for each in facts.decisions():
        line = facts.decision_line(each)
        if line.standing == "unproven":
            yield each, f"unproven: {line.why}"
    for use in facts.reading.programme.of(CheckUse):
        state, message = facts.check_state(use)
        if use.decision in facts.due_decisions and state != "current":
            yield use, f"{state}: {message}"


def _guesses(facts: GateFacts, _: str) -> Offences:
    yield from _poor(facts, BasisKind.ESTIMATE, only_settled=True)


def _bases(facts: GateFacts, setting: str) -> Offences:
    yield from _poor(facts, BasisKind(setting), only_settled=False)


def _poor(facts: GateFacts, least: BasisKind, *, only_settled: bool) -> Offences:
    """Find the stated values under what is due that are known less well than wanted."""
    grounds = PoorGrounds(facts.reading, least)
    resting: dict[str, list[str]] = {}
    for each in facts.decisions():
        if each.state is DecisionState.SETTLED or not only_settled:
            for quantity in grounds.under_decision(each):
                resting.setdefault(quantity, []).append(each.key)
    if not only_settled:
        for requirement in facts.due(Requirement):
            for quantity in grounds.under(facts.judged_slots(requirement)):
                resting.setdefault(quantity, []).append(requirement.key)
    for quantity, keys in resting.items():
        record = facts.reading.programme.at(quantity, Quantity)
        yield record, f"its value is {facts.basis_words(record)}; what rests on it: {_few(keys)}"


def _few(keys: list[str]) -> str:
    shown = ", ".join(dict.fromkeys(keys[:3]))
    more = len(keys) - 3
    return f"{shown} and {more} more" if more > 0 else shown


def _reasons(facts: GateFacts, _: str) -> Offences:
    for each in facts.decisions():
        if each.state is DecisionState.SETTLED:
            missing = [
                option.key
                for option in each.options
                if option.id != each.chosen and not each.against.get(option.id, "").strip()
            ]
            if missing:
                yield each, f"no reason is given against {', '.join(missing)}"


def _actions(facts: GateFacts, _: str) -> Offences:
    for each in facts.due(Action):
        if not each.closed:
            yield each, f"it is open{f', with {each.owner}' if each.owner else ''}"


def _risks(facts: GateFacts, _: str) -> Offences:
    for each in facts.due(Risk):
        if not each.closed and not each.response.strip():
            yield each, "nothing is said of what is done about it"


_EVIDENCE_WORDS = {
    CHANGED: "the file is not what it was: its hash differs",
    MISSING: "there is no such file any more",
}


def _evidence(facts: GateFacts, _: str) -> Offences:
    for each in facts.reading.programme.of(Evidence):
        why = _EVIDENCE_WORDS.get(evidence_state(facts.reading.tools.files, each))
        if why:
            yield each, why


CRITERIA: Mapping[str, Criterion] = {
    "requirements-met": Criterion(
        title="Requirements due are met, or missed under a deviation that holds",
        find=_requirements,
    ),
    "decisions-settled": Criterion(title="Decisions due are settled", find=_settled),
    "decisions-standing": Criterion(
        title="No decision due is broken",
        find=_standing,
    ),
    "decisions-unshifted": Criterion(
        title="No decision due has had its ground shift without a review", find=_unshifted
    ),
    "nothing-unproven": Criterion(
        title="No decision due is unproven and every check under one is current", find=_proven
    ),
    "no-guesses": Criterion(title="No settled decision due rests on a guess", find=_guesses),
    "bases": Criterion(
        title="What is due rests on values known at least this well",
        find=_bases,
        usual=BasisKind.ESTIMATE.value,
        settings=(*(each.value for each in KNOWN), _OFF),
    ),
    "reasons-given": Criterion(
        title="Every rejected option of a decision due has a reason against it", find=_reasons
    ),
    "actions-closed": Criterion(title="Actions due are closed", find=_actions),
    "evidence-intact": Criterion(
        title="Every file named as evidence is there and unchanged", find=_evidence
    ),
    "risks-answered": Criterion(title="Every risk due has a response or is closed", find=_risks),
}
"""The criteria by name, in the order they are shown."""
