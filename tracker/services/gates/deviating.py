"""Accepted misses as a gate sees them: which deviation covers a requirement, and for how long."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.evaluate.deviations import Cover, cover_of, is_expired, widened
from tracker.evaluate.slots import value_of
from tracker.evaluate.verdict import Verdict, band_of
from tracker.model.records import Deviation, Gate, Requirement
from tracker.services.session import Reading
from tracker.services.wording import limits_text

__all__ = ["Deviations"]


class Deviations:
    """The deviations of a programme.

    Parameters
    ----------
    reading : Reading
        A programme.
    """

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._of: dict[str, list[Deviation]] = {}
        for each in reading.programme.of(Deviation):
            self._of.setdefault(each.requirement, []).append(each)

    def _place(self, requirement: Requirement) -> int:
        return self._reading.engine.graph.judges_of[requirement.id][0]

    def _accepted(self, requirement: Requirement, deviations: Iterable[Deviation]) -> bool:
        """Tell whether one of some deviations accepts the present value."""
        engine = self._reading.engine
        judge = engine.graph.judges[self._place(requirement)]
        covers = [Cover(each.id, *_limits(each)) for each in deviations]
        value = value_of(engine.state.slots[judge.slot], judge.measure.kind, judge.measure.choices)
        number = None if isinstance(value, str | bool | tuple) else value
        return bool(cover_of(covers, band_of(requirement), number))

    def key_of(self, place: int) -> str:
        """Return the deviation that covers the miss of one of the graph's judges, if any does."""
        finding = self._reading.engine.state.findings[place]
        if finding is None or not finding.deviation:
            return ""
        return self._reading.programme.at(finding.deviation, Deviation).key

    def covers_at(self, requirement: Requirement, gate: Gate) -> bool:
        """Tell whether a miss is covered by one that is in force and still holds at a gate."""
        lasting = [each for each in self._in_force(requirement) if self._lasts(each, gate)]
        return self._accepted(requirement, lasting)

    def _in_force(self, requirement: Requirement) -> list[Deviation]:
        programme = self._reading.programme
        return [
            each for each in self._of.get(requirement.id, ()) if not is_expired(programme, each)
        ]

    def _lasts(self, deviation: Deviation, gate: Gate) -> bool:
        return self._reading.programme.at(deviation.expires, Gate).date >= gate.date

    def why_not(self, requirement: Requirement, gate: Gate) -> str:
        """Say why the deviations there are do not cover a miss at a gate; empty without any."""
        for each in self._of.get(requirement.id, ()):
            where = self._reading.programme.at(each.expires, Gate).key
            if is_expired(self._reading.programme, each):
                return f"{each.key} has expired at {where}"
            if not self._lasts(each, gate):
                return f"{each.key} expires before this gate, at {where}"
            return f"it is further out than {each.key} accepts"
        return ""

    def state(self, deviation: Deviation) -> str:
        """Return valid, exceeded, expired, or not needed."""
        if is_expired(self._reading.programme, deviation):
            return "expired"
        requirement = self._reading.programme.at(deviation.requirement, Requirement)
        finding = self._reading.engine.state.findings[self._place(requirement)]
        if finding is None or finding.judgement.verdict is not Verdict.MISSED:
            return "not needed"
        return "valid" if self._accepted(requirement, [deviation]) else "exceeded"

    def allowed(self, deviation: Deviation) -> str:
        """Say how far the value may go; empty where every miss is accepted."""
        requirement = self._reading.programme.at(deviation.requirement, Requirement)
        unit = self._reading.engine.graph.judges[self._place(requirement)].measure.unit
        band = widened(band_of(requirement), [Cover(deviation.id, *_limits(deviation))])
        return "" if band is None else limits_text(band.lower, band.upper, unit)


def _limits(deviation: Deviation) -> tuple[float | None, float | None]:
    lower, upper = deviation.lower, deviation.upper
    return lower.value if lower else None, upper.value if upper else None
