"""Judging whatever a slot holds."""

from __future__ import annotations

from dataclasses import replace

from tracker.evaluate.deviations import cover_of
from tracker.evaluate.graph import Judge
from tracker.evaluate.slots import Absent, Slot, Unknown, value_of
from tracker.evaluate.standing import Finding
from tracker.evaluate.verdict import (
    UNJUDGED,
    Band,
    Judgement,
    Verdict,
    band_of,
    judge_number,
    judge_text,
)
from tracker.model.programme import Programme
from tracker.model.records import Requirement
from tracker.model.values import Kind, Value

__all__ = ["judge_at"]


def judge_at(programme: Programme, judge: Judge, slot: Slot) -> Finding:
    """Judge a slot by a requirement or a rule."""
    if isinstance(slot, Unknown):
        return Finding(UNJUDGED, slot.reason, slot.cause)
    if isinstance(slot, Absent):
        moot = judge.rule is not None
        return Finding(UNJUDGED, f"it does not exist here: {slot.reason}", judge.id, moot)
    band = judge.rule.band if judge.rule else band_of(programme.at(judge.id, Requirement))
    value = value_of(slot, judge.measure.kind, judge.measure.choices)
    found = Finding(_judged(judge, band, value))
    if found.judgement.verdict is Verdict.MISSED and judge.covers:
        number = None if isinstance(value, str | bool | tuple) else value
        return replace(found, deviation=cover_of(judge.covers, band, number))
    return found


def _judged(judge: Judge, band: Band, value: Value | None) -> Judgement:
    if judge.measure.kind is Kind.FLAG:
        return judge_text("yes" if value else "no", band)
    if isinstance(value, str):
        return judge_text(value, band)
    assert isinstance(value, int | float)  # noqa: S101 - invariants keep points and tables out
    return judge_number(value, band)
