"""Headroom and spread of the demo programme, held against the engine's own trials."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracker.explore.headroom import End, Headroom, headroom
from tracker.explore.sources import Source, adjustables, bounds
from tracker.explore.spread import Plan, spread
from tracker.model.changes import Entry
from tracker.model.records import Bound, Quantity, Record, Requirement, Setting
from tracker.services.session import Session

GOOD = ("stands", "strained")


def moved(record: Record, source: Source, value: float) -> Record:
    if isinstance(record, Requirement):
        return replace(record, **{source.part: Bound(value=value)})  # type: ignore[arg-type] # a bound
    assert isinstance(record, Quantity)
    return replace(record, given=Setting(value=value))


def standing_with(demo: Session, source: Source, value: float) -> set[str]:
    record = demo.programme.get(source.id)
    assert record is not None
    with demo.engine.trial((Entry(record, moved(record, source, value)),)):
        held = demo.engine.state.standings.items()
        return {each for each, standing in held if standing.standing in GOOD}


@pytest.fixture
def found(demo: Session) -> list[Headroom]:
    return headroom(demo.engine, [*adjustables(demo.engine), *bounds(demo.engine)], points=64)


def test_every_end_is_where_a_trial_breaks(demo: Session, found: list[Headroom]) -> None:
    ends: list[tuple[Source, str, End]] = [
        (each.source, stretch.decision, end)
        for each in found
        for stretch in each.decisions
        for end in (stretch.low, stretch.high)
        if end.breaks
    ]
    assert len(ends) > 50
    for source, decision, end in ends:
        assert end.at is not None
        assert end.beyond is not None
        assert decision in standing_with(demo, source, end.at)
        assert decision not in standing_with(demo, source, end.beyond)


def test_what_is_certified_holds_all_along(demo: Session, found: list[Headroom]) -> None:
    certified = [each for each in found if each.certified and each.decisions]
    assert len(certified) > 40
    for each in certified[::4]:
        now, low, high = each.source.number, each.low.at, each.high.at
        ends = [end for end in (low, high) if end is not None]
        for share in (0.1, 0.37, 0.62, 0.93):
            for end in ends:
                standing = standing_with(demo, each.source, now + share * (end - now))
                assert {stretch.decision for stretch in each.decisions} <= standing


def test_the_response_is_at_risk_from_the_tyres(demo: Session) -> None:
    """The steering response sits just inside its band, and tyre data are the least known."""
    result = spread(demo.engine, Plan(half_width=0.02, owner_samples=256))
    key = {each.id: each.key for each in demo.programme}
    chances = {key[each.decision]: each for each in result.chances}
    assert 0.3 < chances["D-TIE-ROD"].share < 0.7
    assert key[chances["D-TIE-ROD"].owners[0].quantity] == "cornering_front"
