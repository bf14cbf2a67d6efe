"""Standings, shifts and findings of two readings, side by side."""

from __future__ import annotations

from tracker.model.records import Decision
from tracker.services.change_views import FindingChange, StandingChange
from tracker.services.present import decision_line, finding_view
from tracker.services.ripple import STANDINGS, severity
from tracker.services.session import Reading
from tracker.services.views import DecisionLine, FindingView

__all__ = [
    "decision_lines",
    "finding_changes",
    "finding_views",
    "newly_shifted",
    "standing_changes",
]


def standing_changes(old: Reading, new: Reading) -> tuple[StandingChange, ...]:
    """Return the decisions whose standing differs, worst first."""
    before, after = decision_lines(old), decision_lines(new)
    changes = []
    for each in {**before, **after}:
        was, now = before.get(each), after.get(each)
        held, holds = (one.standing if one else "" for one in (was, now))
        if held != holds:
            changes.append(
                StandingChange(
                    decision=(now or before[each]).key,
                    before=held,
                    after=holds,
                    why=now.why if now else "it is gone",
                )
            )
    return tuple(sorted(changes, key=lambda one: STANDINGS.index(one.after)))


def newly_shifted(old: Reading, new: Reading) -> tuple[str, ...]:
    """Return the keys of the settled decisions whose ground moved in between."""
    before = {each for each, line in decision_lines(old).items() if line.shifted}
    return tuple(
        line.key
        for each, line in decision_lines(new).items()
        if line.shifted and each not in before
    )


def decision_lines(reading: Reading) -> dict[str, DecisionLine]:
    """Return all decisions at a glance, by id."""
    return {each.id: decision_line(reading, each) for each in reading.programme.of(Decision)}


def finding_changes(old: Reading, new: Reading) -> tuple[FindingChange, ...]:
    """Return the findings that differ, worst first."""
    before, after = finding_views(old), finding_views(new)
    changes = [
        FindingChange(
            judge=(after.get(name) or before[name]).judge,
            before=before.get(name),
            after=after.get(name),
        )
        for name in {**before, **after}
        if before.get(name) != after.get(name)
    ]
    return tuple(sorted(changes, key=severity))


def finding_views(reading: Reading) -> dict[tuple[str, str], FindingView]:
    """Return all findings by judge and, of a rule, its name within its check."""
    return {
        (judge.id, judge.output): finding_view(reading, place)
        for place, judge in enumerate(reading.engine.graph.judges)
    }
