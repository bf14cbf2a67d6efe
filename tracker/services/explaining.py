"""Why a verdict is not met: the smallest set of upstream values that together explain it.

The journal is walked back from the present to the last revision at which the requirement was met;
what differs upstream since then is put back, one by one, in twos, and so on, until the requirement
is met again. It only looks: nothing is stored.
"""

from __future__ import annotations

from collections.abc import Callable

from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.sources import setting_in_force
from tracker.evaluate.verdict import band_of
from tracker.explore.explain import Difference, Explanation, explain, is_met
from tracker.model.changes import Change, inverse
from tracker.model.programme import Programme
from tracker.model.records import Decision, Quantity, Requirement
from tracker.services.mending_views import CauseView, WhyView
from tracker.services.present import finding_view, key_of
from tracker.services.session import Reading, past
from tracker.services.wording import CAUTION, band_text, value_text, visible

__all__ = ["why"]

Progress = Callable[[str], None]
_NOTHING = Explanation((), smallest=True, changed=(), checks=())


def why(
    reading: Reading,
    requirement: str,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> WhyView:
    """Explain why a requirement is not met any more.

    Parameters
    ----------
    requirement : str
        Its key.
    cancel : callable, optional
        Asked between checks and revisions.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    UnknownKeyError
        No requirement is called that.
    CancelledError
        `cancel` asked to stop.
    """
    record = reading.programme.named(requirement, Requirement)
    then: Engine | None = None
    breaking: Change | None = None
    if not is_met(reading.engine, record.id):
        then, breaking = _last_met(reading, record.id, cancel, progress)
    found = _NOTHING
    if then is not None:
        found = explain(reading.engine, then.programme, record.id, cancel=cancel, progress=progress)
    return _view(reading, record, then, breaking, found)


def _last_met(
    reading: Reading, requirement_id: str, cancel: Cancel | None, progress: Progress | None
) -> tuple[Engine | None, Change | None]:
    """Walk the journal back to where a requirement was met; also return the change after that."""
    head = reading.head.revision
    engine = past(reading, head).engine
    first = next(iter(reading.store.touching(requirement_id))).revision
    for change in reversed(list(reading.store.changes(first, head))):
        if cancel is not None and cancel():
            raise CancelledError(f"stopped at revision {change.revision}")
        if progress is not None:
            progress(f"back at revision {change.revision - 1}")
        engine.advance(inverse(change.entries), cancel)
        if is_met(engine, requirement_id):
            return engine, change
    return None, None


def _view(
    reading: Reading,
    record: Requirement,
    then: Engine | None,
    breaking: Change | None,
    found: Explanation,
) -> WhyView:
    finding = finding_view(reading, reading.engine.graph.judges_of[record.id][0])

    def cause(each: Difference) -> CauseView:
        assert then is not None  # noqa: S101 - differences come from there
        return _cause(reading, then, each)

    return WhyView(
        revision=reading.head.revision,
        requirement=record.key,
        verdict=finding.verdict,
        text=finding.text,
        unit=finding.unit,
        required=finding.required,
        met_at=None if breaking is None else breaking.revision - 1,
        broken_by="" if breaking is None else _told(breaking),
        sets=tuple(tuple(map(cause, each)) for each in found.sets),
        smallest=found.smallest,
        changed=tuple(map(cause, found.changed)),
        checks=tuple(key_of(reading, each) for each in found.checks),
        caution=CAUTION,
    )


def _told(change: Change) -> str:
    return f"{visible(change.author)}, revision {change.revision}: {visible(change.reason)}"


def _cause(reading: Reading, then: Engine, found: Difference) -> CauseView:
    now = reading.programme.get(found.setting or found.id)
    if isinstance(now, Decision):
        before = then.programme.at(found.id, Decision)
        return CauseView(key=now.key, then=_applied(before), now=_applied(now), unit="")
    if isinstance(now, Requirement):
        return _band_cause(reading, then.programme, now)
    assert isinstance(now, Quantity)  # noqa: S101 - there is nothing else to put back
    return CauseView(
        key=now.key,
        then=_held(then, then.programme.at(now.id, Quantity)),
        now=_held(reading.engine, now),
        unit=now.unit.text,
    )


def _applied(decision: Decision) -> str:
    return decision.applied.key if decision.applied else "no option"


def _held(engine: Engine, quantity: Quantity) -> str:
    setting = setting_in_force(engine.programme, engine.graph, quantity)[0]
    value = None if setting is None else setting.value
    return "unknown" if value is None else value_text(value, quantity.kind, quantity.unit)


def _band_cause(reading: Reading, then: Programme, now: Requirement) -> CauseView:
    graph = reading.engine.graph
    unit = graph.judges[graph.judges_of[now.id][0]].measure.unit
    before, after = (band_of(each) for each in (then.at(now.id, Requirement), now))
    return CauseView(key=now.key, then=band_text(before, unit), now=band_text(after, unit), unit="")
