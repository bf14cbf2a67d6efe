"""Leaning, settling, reopening and withdrawing decisions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tracker.errors import DecisionError, UnknownKeyError
from tracker.evaluate.footing import take_footing
from tracker.model.changes import Entry
from tracker.model.records import Decision, DecisionState, Option
from tracker.services.session import Reading

__all__ = ["lean_entries", "reopen_entries", "settle_entries", "withdraw_entries"]


def _option(decision: Decision, key: str) -> Option:
    found = next((each for each in decision.options if each.key == key), None)
    if found is None:
        raise UnknownKeyError(
            f"it has no option {key!r}",
            item=decision.key,
            remedy="Options: " + ", ".join(each.key for each in decision.options),
        )
    return found


def _movable(decision: Decision) -> None:
    if decision.state in (DecisionState.SETTLED, DecisionState.WITHDRAWN):
        raise DecisionError(
            f"the decision is {decision.state}",
            item=decision.key,
            remedy=f"Reopen {decision.key} first",
        )


def lean_entries(reading: Reading, key: str, option: str) -> tuple[Entry, ...]:
    """Apply an option provisionally."""
    decision = reading.programme.named(key, Decision)
    _movable(decision)
    chosen = _option(decision, option)
    return (Entry(decision, replace(decision, state=DecisionState.LEANING, chosen=chosen.id)),)


def settle_entries(
    reading: Reading, key: str, option: str, why: str, against: Mapping[str, str]
) -> tuple[Entry, ...]:
    """Apply an option for good, with its rationale and the reasons against the others.

    Reasons given earlier stay in force; the decision's footing is taken with the option applied.

    Raises
    ------
    DecisionError
        It is settled or withdrawn, or the rationale or a reason is missing.
    """
    decision = reading.programme.named(key, Decision)
    _movable(decision)
    chosen = _option(decision, option)
    reasons = {
        **decision.against,
        **{_option(decision, each).id: text for each, text in against.items()},
    }
    reasons.pop(chosen.id, None)
    settled = replace(
        decision,
        state=DecisionState.SETTLED,
        chosen=chosen.id,
        rationale=why,
        against=reasons,
        footing=None,
    )
    with reading.trying((Entry(decision, settled),)):
        engine = reading.engine
        footing = take_footing(engine.programme, engine.graph, engine.state.slots, decision.id)
    return (Entry(decision, replace(settled, footing=footing)),)


def reopen_entries(reading: Reading, key: str) -> tuple[Entry, ...]:
    """Open a settled or withdrawn decision again; a settled one keeps leaning to its option."""
    decision = reading.programme.named(key, Decision)
    if decision.state is DecisionState.SETTLED:
        return (Entry(decision, replace(decision, state=DecisionState.LEANING, footing=None)),)
    if decision.state is DecisionState.WITHDRAWN:
        return (Entry(decision, replace(decision, state=DecisionState.OPEN)),)
    raise DecisionError(f"the decision is {decision.state} already", item=decision.key)


def withdraw_entries(reading: Reading, key: str) -> tuple[Entry, ...]:
    """Take a decision out of play; what it sets becomes unknown."""
    decision = reading.programme.named(key, Decision)
    if decision.state is DecisionState.WITHDRAWN:
        raise DecisionError("the decision is withdrawn already", item=decision.key)
    gone = replace(decision, state=DecisionState.WITHDRAWN, chosen="", footing=None)
    return (Entry(decision, gone),)
