"""Standings and findings of two readings, side by side."""

from __future__ import annotations

from tracker.model.records import Decision
from tracker.services.present import decision_line, finding_view
from tracker.services.ripple import STANDINGS, severity
from tracker.services.session import Reading
from tracker.services.views import FindingChange, FindingView, StandingChange

__all__ = ["finding_changes", "standing_changes"]


def standing_changes(old: Reading, new: Reading) -> tuple[StandingChange, ...]:
    """Return the decisions whose standing or shift differs, worst first."""
    before = {each.id: decision_line(old, each) for each in old.programme.of(Decision)}
    changes = []
    for each in new.programme.of(Decision):
        line, was = decision_line(new, each), before.get(each.id)
        held = was.standing if was else ""
        if held != line.standing:
            changes.append(
                StandingChange(decision=line.key, before=held, after=line.standing, why=line.why)
            )
    return tuple(sorted(changes, key=lambda each: STANDINGS.index(each.after)))


def finding_changes(old: Reading, new: Reading) -> tuple[FindingChange, ...]:
    """Return the findings that differ, worst first."""
    before, after = _findings(old), _findings(new)
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


def _findings(reading: Reading) -> dict[tuple[str, str], FindingView]:
    return {
        (judge.id, judge.output): finding_view(reading, place)
        for place, judge in enumerate(reading.engine.graph.judges)
    }
