"""Headroom and spread of the demo programme, held against the engine's own trials."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tracker.explore.headroom import End, Headroom, headroom
from tracker.explore.sources import Source, adjustables, bounds
from tracker.explore.spread import Plan, spread
from tracker.model.changes import Entry
from tracker.model.records import Bound, Decision, Quantity, Requirement, Setting
from tracker.model.values import AXES
from tracker.services.session import Session

GOOD = ("stands", "strained")


def stated(source: Source, setting: Setting | None, value: float) -> Setting:
    """Return a setting with one number moved: the value itself, or a component of a point."""
    if not source.part:
        return Setting(value=value)
    assert setting is not None
    assert isinstance(setting.value, tuple)
    point: Any = [*setting.value]
    point[AXES.index(source.part)] = value
    return Setting(value=tuple(point))


def moved(demo: Session, source: Source, value: float) -> Entry:
    """Move one number where it comes from: a bound, a given value, or what an option states."""
    record = demo.programme.get(source.id)
    if isinstance(record, Requirement):
        bound: dict[str, Any] = {source.part: Bound(value=value)}
        return Entry(record, replace(record, **bound))
    assert isinstance(record, Quantity)
    owner = next((each for each in demo.programme.of(Decision) if record.id in each.owns), None)
    if owner is None:
        return Entry(record, replace(record, given=stated(source, record.given, value)))
    option = owner.applied
    assert option is not None
    settings = {**option.settings}
    settings[record.id] = stated(source, settings[record.id], value)
    changed = replace(option, settings=settings)
    options = tuple(changed if each == option else each for each in owner.options)
    return Entry(owner, replace(owner, options=options))


def standing_with(demo: Session, source: Source, value: float) -> set[str]:
    with demo.engine.trial((moved(demo, source, value),)):
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
