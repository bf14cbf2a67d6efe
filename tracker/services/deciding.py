"""Leaning, settling, reviewing, reopening, withdrawing and superseding decisions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tracker.errors import DecisionError, UnknownKeyError
from tracker.evaluate.footing import take_footing
from tracker.model.changes import Entry
from tracker.model.records import Decision, DecisionState, Footing, Option, Outcome, Review
from tracker.services.session import Reading

__all__ = [
    "footing_now",
    "lean_entries",
    "reopen_entries",
    "review_entries",
    "settle_entries",
    "supersede_entries",
    "unreviewable",
    "withdraw_entries",
]


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
    return (Entry(decision, _footed(reading, decision, settled)),)


def _footed(reading: Reading, before: Decision, after: Decision) -> Decision:
    """Give a decision the footing it has with its new state in force."""
    with reading.trying((Entry(before, after),)):
        return replace(after, footing=footing_now(reading, after.id))


def footing_now(reading: Reading, decision_id: str) -> Footing:
    """Record what a decision stands on in a reading."""
    engine = reading.engine
    return take_footing(engine.programme, engine.graph, engine.state.slots, decision_id)


def review_entries(reading: Reading, key: str, review: Review) -> tuple[Entry, ...]:
    """Add another look at a settled decision; one that confirms it stands it on what holds now.

    Parameters
    ----------
    review : Review
        Who looked, and what came of it. Where it says that the decision must be opened again, what
        moved keeps showing.

    Raises
    ------
    DecisionError
        It is not settled, or its ground has not moved.
    """
    decision = reading.programme.named(key, Decision)
    why_not = unreviewable(reading, decision)
    if why_not:
        raise DecisionError(why_not, item=decision.key)
    reviewed = replace(decision, reviews=(*decision.reviews, review))
    if review.outcome is Outcome.CONFIRMED:
        reviewed = _footed(reading, decision, reviewed)
    return (Entry(decision, reviewed),)


def unreviewable(reading: Reading, decision: Decision) -> str:
    """Say why a decision needs no review; empty when it does."""
    if decision.state is not DecisionState.SETTLED:
        return f"it is {decision.state}, not settled"
    return "" if decision.id in reading.engine.state.shifts else "its ground has not moved"


def reopen_entries(reading: Reading, key: str) -> tuple[Entry, ...]:
    """Open a settled or withdrawn decision again; a settled one keeps leaning to its option."""
    decision = reading.programme.named(key, Decision)
    if decision.state is DecisionState.SETTLED:
        return (Entry(decision, replace(decision, state=DecisionState.LEANING, footing=None)),)
    if decision.state is DecisionState.WITHDRAWN:
        again = replace(decision, state=DecisionState.OPEN, superseded_by="")
        return (Entry(decision, again),)
    raise DecisionError(f"the decision is {decision.state} already", item=decision.key)


def withdraw_entries(reading: Reading, key: str) -> tuple[Entry, ...]:
    """Take a decision out of play; what it sets becomes unknown until another source sets it."""
    decision = reading.programme.named(key, Decision)
    if decision.state is DecisionState.WITHDRAWN:
        raise DecisionError("the decision is withdrawn already", item=decision.key)
    return (Entry(decision, _withdrawn(decision)),)


def _withdrawn(decision: Decision) -> Decision:
    return replace(decision, state=DecisionState.WITHDRAWN, chosen="", footing=None)


def supersede_entries(reading: Reading, old: str, new: str) -> tuple[Entry, ...]:
    """Let another decision take the place of one, which is withdrawn for that.

    What the old one owned is free for the new one to set.

    Raises
    ------
    DecisionError
        The old one has been superseded already, or the new one is out of play.
    """
    former, later = (reading.programme.named(each, Decision) for each in (old, new))
    if former.superseded_by:
        by = reading.programme.at(former.superseded_by, Decision)
        raise DecisionError(f"{by.key} has taken its place already", item=former.key)
    if later.state is DecisionState.WITHDRAWN:
        raise DecisionError(
            f"the decision is withdrawn, so it cannot take the place of {former.key}",
            item=later.key,
            remedy=f"Reopen {later.key} first, or name another",
        )
    return (Entry(former, replace(_withdrawn(former), superseded_by=later.id)),)
