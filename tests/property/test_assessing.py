"""Verdicts, margins and standings of rows of candidates against the engine's own trials."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.property.programmes import Chooser, Seeded, allowed
from tests.property.sweeping import grown
from tracker.errors import InputError
from tracker.evaluate.engine import Engine
from tracker.evaluate.standing import Finding
from tracker.evaluate.verdict import Verdict
from tracker.explore.assessing import STANDING_CODES, Assessment, live_decisions
from tracker.explore.candidates import Candidates
from tracker.explore.judging import ACCEPTED, MET, MISSED, MOOT, TIGHT, UNKNOWN
from tracker.explore.sources import Source, sources_at
from tracker.model.address import cell_of
from tracker.model.changes import Entry
from tracker.model.records import (
    Bound,
    Decision,
    DecisionState,
    Quantity,
    Requirement,
    Setting,
)
from tracker.model.values import AXES, Kind

_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]
_CODES = {
    Verdict.MET: MET,
    Verdict.TIGHT: TIGHT,
    Verdict.MISSED: MISSED,
    Verdict.UNKNOWN: UNKNOWN,
}


class Scratch:
    """The records a row of moves comes to, built up move by move."""

    def __init__(self, engine: Engine) -> None:
        self._programme = engine.programme
        self._owner = engine.graph.owner
        self._edited: dict[str, Any] = {}

    def entries(self) -> tuple[Entry, ...]:
        return tuple(Entry(self._programme.get(each), held) for each, held in self._edited.items())

    def _now(self, record_id: str) -> Any:  # noqa: ANN401 - a record
        return self._edited.get(record_id, self._programme.get(record_id))

    def move(self, source: Source, value: Any) -> None:  # noqa: ANN401 - a value of its kind
        record = self._now(source.id)
        if isinstance(record, Requirement):
            bound: Any = value if source.part == "guard" else Bound(value=value)
            self._edited[source.id] = replace(record, **{source.part: bound})
            return
        owner = self._programme.get(self._owner.get(source.id, ""))
        if owner is None:
            setting = Setting(value=_whole(record, record.given.value, source.part, value))
            self._edited[source.id] = replace(record, given=setting)
            return
        owner = self._now(owner.id)
        option = owner.applied
        held = option.settings[source.id].value
        setting = Setting(value=_whole(record, held, source.part, value))
        changed = replace(option, settings={**option.settings, source.id: setting})
        options = tuple(changed if each.id == option.id else each for each in owner.options)
        self._edited[owner.id] = replace(owner, options=options, footing=None)

    def choose(self, decision_id: str, option_id: str) -> None:
        decision = self._programme.at(decision_id, Decision)  # as recorded, with its own values
        self._edited[decision_id] = replace(
            decision, state=DecisionState.LEANING, chosen=option_id, footing=None
        )


def _whole(quantity: Quantity, held: Any, part: str, value: Any) -> Any:  # noqa: ANN401 - values
    if not part:
        return value
    if quantity.kind is Kind.POINT:
        return tuple(value if each == part else old for each, old in zip(AXES, held, strict=True))
    cell = cell_of(part)
    assert cell is not None
    place = [each.name for each in quantity.columns].index(cell[1])
    named = quantity.columns[0].kind.value == "text"
    row = next((n for n, each in enumerate(held) if named and each[0] == cell[0]), None)
    row = int(cell[0]) - 1 if row is None else row
    changed = (*held[row][:place], value, *held[row][place + 1 :])
    return (*held[:row], changed, *held[row + 1 :])


def everything_movable(engine: Engine) -> Iterator[Source]:
    for record in list(engine.programme):
        parts = ["", "[first].amount", "[1].times", "lower", "upper", "guard", "target", "y"]
        for part in parts:
            try:
                yield from sources_at(engine, record.id, part)
            except InputError:
                continue


def drawn(choose: Chooser, source: Source) -> Any:  # noqa: ANN401 - a value of the source's kind
    match source.kind:
        case Kind.REAL:
            return 0.25 if source.part == "guard" else choose.number()
        case Kind.INTEGER:
            return choose.dice.whole(-2, 4)
        case Kind.FLAG:
            return choose.chance(50)
        case _:
            return choose.dice.pick(source.choices)


@settings(max_examples=150, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 100_000), st.integers(20, 120), st.integers(1, 8))
@example(7710, 20, 6)  # an option's value is moved, then the same option is applied
def test_every_row_is_judged_as_a_trial_judges_it(seed: int, edits: int, count: int) -> None:
    engine = grown(seed, edits)
    choose = Chooser(Seeded(seed), engine, first="n")
    sources = list(everything_movable(engine))
    decisions = [each for each in engine.programme.of(Decision) if each.owns]
    rows, tried = Candidates(engine, count), [Scratch(engine) for _ in range(count)]
    for row in range(count):
        for _ in range(choose.dice.whole(0, 3)):
            if decisions and choose.chance(25):
                decision = choose.dice.pick(decisions)
                option = choose.dice.pick(decision.options).id
                rows.choose(decision.id, [option], np.array([row]))
                tried[row].choose(decision.id, option)
                break  # afterwards its quantities no longer have the values sources were made from
            if sources:
                source = choose.dice.pick(sources)
                value = drawn(choose, source)
                code = source.choices.index(value) if source.kind is Kind.CHOICE else value
                rows.put(source, [code], np.array([row]))
                tried[row].move(source, value)
    found = rows.assess()
    live = {each.id for each in live_decisions(engine)}
    for row, scratch in enumerate(tried):
        entries = tuple(each for each in scratch.entries() if each.before != each.after)
        if entries and not allowed(engine.programme, entries):
            continue
        with engine.trial(entries):
            assert_judged(engine, found, row, live)


def assert_judged(engine: Engine, found: Assessment, row: int, live: set[str]) -> None:
    for place, finding in enumerate(engine.state.findings):
        assert finding is not None
        mine = found.judged(place)
        assert mine.verdict[row] == _code(finding)
        for name in ("distance", "margin"):
            number = getattr(finding.judgement, name)
            wanted = np.float64(np.nan if number is None else number)
            assert same_bits(getattr(mine, name)[row], wanted), (name, place, row)
    for each in live & {decision.id for decision in live_decisions(engine)}:
        wanted_code = STANDING_CODES[engine.state.standings[each].standing]
        assert found.standing(each)[row] == wanted_code, each


def _code(finding: Finding) -> int:
    if finding.deviation:
        return ACCEPTED
    return MOOT if finding.moot else _CODES[finding.judgement.verdict]


def same_bits(one: Any, other: Any) -> bool:  # noqa: ANN401 - floats
    """Tell whether two floats are the same; either zero counts as zero."""
    if np.isnan(one) or np.isnan(other):
        return bool(np.isnan(one) and np.isnan(other))
    return bool(one.tobytes() == other.tobytes() or one == other == 0)


def test_a_present_finding_is_repeated() -> None:
    from tracker.evaluate.verdict import UNJUDGED
    from tracker.explore.judging import repeated

    found = repeated(Finding(UNJUDGED, "nothing there", "c", moot=True), 2)
    assert found.verdict.tolist() == [MOOT, MOOT]


def test_the_random_programmes_hold_misses_that_are_accepted_and_some_that_are_not() -> None:
    """Guard the property test against programmes in which no deviation ever matters."""
    there = within = beyond = 0
    for seed in range(80):
        engine = grown(seed, 120)
        held = [each for each in engine.state.findings if each is not None]
        there += sum(bool(each.covers) for each in engine.graph.judges)
        within += sum(bool(each.deviation) for each in held)
        beyond += sum(
            bool(judge.covers) and found.judgement.verdict is Verdict.MISSED and not found.deviation
            for judge, found in zip(engine.graph.judges, held, strict=True)
        )
    assert min(there - within - beyond, within, beyond) > 5
