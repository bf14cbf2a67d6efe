"""What a change does to verdicts, standings and values, worst first."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tracker.evaluate.engine import Cancel
from tracker.evaluate.state import Report
from tracker.model.changes import Entry, merged
from tracker.model.records import Quantity, Requirement
from tracker.services.change_views import (
    FindingChange,
    QuantityChange,
    Ripple,
    StandingChange,
)
from tracker.services.present import (
    Earlier,
    finding_view,
    key_of,
    slot_text,
    standing_why,
)
from tracker.services.session import Reading
from tracker.services.wording import CAUTION
from tracker.services.words import describe

__all__ = ["STANDINGS", "ripple_of", "ripple_view", "severity"]

_VERDICTS = ("missed", "unknown", "tight", "met")
STANDINGS = ("broken", "unproven", "strained", "stands", "")
"""Worst first."""


def ripple_of(reading: Reading, entries: Sequence[Entry], cancel: Cancel | None = None) -> Ripple:
    """Show what entries would change; nothing is stored.

    Raises
    ------
    InputError
        The change would not be allowed.
    CancelledError
        `cancel` asked to stop.
    """
    with reading.trying(entries, cancel) as report:
        return ripple_view(reading, report, entries)


def ripple_view(reading: Reading, report: Report, entries: Sequence[Entry]) -> Ripple:
    """Show what a report says, with its entries applied."""
    standings = _standings(reading, report)
    return Ripple(
        revision=reading.head.revision,
        edits=tuple(
            text for each in merged(entries) for text in describe(each, reading.programme.get)
        ),
        broken=_moved(standings, lambda old, new: new == "broken" != old),
        strained=_moved(standings, lambda old, new: new == "strained" and old in ("stands", "")),
        unproven=_moved(standings, lambda old, new: new == "unproven" and old != "broken"),
        restored=_moved(standings, _restored),
        look=_look(reading, report),
        findings=_findings(reading, report, entries),
        standings=standings,
        quantities=_quantities(reading, report),
        ran=len(report.ran),
        checks_total=len(reading.engine.graph.nodes),
        caution=CAUTION,
    )


def _restored(old: str, new: str) -> bool:
    better = STANDINGS.index(new) > STANDINGS.index(old)
    return old != "" and new in ("stands", "strained") and better


def _moved(
    standings: Sequence[StandingChange], wanted: Callable[[str, str], bool]
) -> tuple[str, ...]:
    return tuple(each.decision for each in standings if wanted(each.before, each.after))


def _standings(reading: Reading, report: Report) -> tuple[StandingChange, ...]:
    changes = []
    for each, before in report.standings.items():
        after = reading.engine.state.standings.get(each)
        old, new = (one.standing.value if one else "" for one in (before, after))
        if old != new:
            changes.append(
                StandingChange(
                    decision=key_of(reading, each),
                    before=old,
                    after=new,
                    why=standing_why(reading, after),
                )
            )
    return tuple(sorted(changes, key=lambda one: STANDINGS.index(one.after)))


def _look(reading: Reading, report: Report) -> tuple[str, ...]:
    shifts = reading.engine.state.shifts
    return tuple(
        key_of(reading, each)
        for each, before in report.shifts.items()
        if not before and shifts.get(each)
    )


def _findings(
    reading: Reading, report: Report, entries: Sequence[Entry]
) -> tuple[FindingChange, ...]:
    before = {each.id: each.before for each in merged(entries)}
    graph = reading.engine.graph
    changes = [
        _finding(reading, report, place, before.get(judge_id))
        for judge_id, output in report.findings
        for place in graph.judges_of.get(judge_id, ())
        if graph.judges[place].output == output
    ]
    return tuple(sorted(changes, key=severity))


def severity(change: FindingChange) -> tuple[int, float]:
    """Sort key of a finding: worst first."""
    after = change.after
    if after is None:
        return (len(_VERDICTS), 0.0)
    return (_VERDICTS.index(after.verdict), after.margin if after.margin is not None else 0.0)


def _finding(reading: Reading, report: Report, place: int, before: object) -> FindingChange:
    graph = reading.engine.graph
    judge = graph.judges[place]
    old = report.findings[judge.id, judge.output]
    after = finding_view(reading, place)
    if old is None:
        return FindingChange(judge=after.judge, before=None, after=after)
    key = graph.keys[judge.slot]
    slot = report.slots.get(key, reading.engine.state.slots[judge.slot])
    record = before if before is not None else reading.programme.get(judge.id)
    requirement = record if isinstance(record, Requirement) else None
    earlier = Earlier(old, slot, requirement)
    return FindingChange(
        judge=after.judge, before=finding_view(reading, place, earlier), after=after
    )


def _quantities(reading: Reading, report: Report) -> tuple[QuantityChange, ...]:
    changes = []
    for (each, part), old in report.slots.items():
        quantity = reading.programme.get(each)
        if not part and isinstance(quantity, Quantity):
            slot = reading.engine.state.slots[reading.engine.graph.index[each, ""]]
            changes.append(
                QuantityChange(
                    key=quantity.key,
                    before=slot_text(old, quantity),
                    after=slot_text(slot, quantity),
                    unit=quantity.unit.text,
                )
            )
    return tuple(changes)
