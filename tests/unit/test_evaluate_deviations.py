"""Accepted misses: what they change in a standing, how far they reach and when they bite."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.unit.small_world import (
    GATE,
    change,
    decision,
    deviation,
    engine_of,
    finding,
    quantity,
    requirement,
    settled,
)
from tracker.evaluate.deviations import Cover, cover_of, covers_in_force, is_expired, widened
from tracker.evaluate.engine import Engine
from tracker.evaluate.standing import Standing
from tracker.evaluate.structure import is_structural
from tracker.evaluate.verdict import Band, Verdict
from tracker.explore.assessing import BROKEN, STRAINED, Assessment
from tracker.explore.candidates import Candidates
from tracker.explore.headroom import headroom
from tracker.explore.judging import ACCEPTED, MISSED
from tracker.explore.mend import Plan, mend
from tracker.explore.mend_goal import Goal
from tracker.explore.sources import source_at
from tracker.model.changes import Entry
from tracker.model.records import (
    Action,
    Baseline,
    Bound,
    Deviation,
    Gate,
    Quantity,
    Record,
    Setting,
)
from tracker.model.values import Kind

LATER = Gate(id="H", key="H", title="Last", date="2032-01-31")
ACCEPTED_TO_7 = deviation("V", "R", upper=7.0)


def frozen(gate: str, key: str = "B") -> Baseline:
    return Baseline(id=key, key=key, gate=gate, revision=1, head="0" * 64, content="1" * 64)


def world(*more: Record, value: float = 6.0) -> Engine:
    """A decision on a value of 6 (or another) that may be 5 at most."""
    return engine_of(
        GATE,
        LATER,
        decision("D", serves=("R",)),
        quantity("q", value),
        requirement("R", "q", 0.0, 5.0),
        *more,
    )


def stands(engine: Engine) -> Standing:
    return engine.state.standings["D"].standing


def moved(engine: Engine, value: float) -> Quantity:
    return replace(engine.programme.at("q", Quantity), given=Setting(value=value))


def test_an_accepted_miss_strains_and_names_its_deviation() -> None:
    engine = world(ACCEPTED_TO_7)
    held = finding(engine, "R")
    assert (held.judgement.verdict, held.deviation) == (Verdict.MISSED, "V")
    assert held.judgement.margin == -1 / 2.5, "the finding keeps its margin against its own band"
    assert engine.state.standings["D"].standing is Standing.STRAINED
    assert engine.state.standings["D"].culprits == (0,)


def test_without_one_the_same_miss_breaks() -> None:
    engine = world()
    assert (finding(engine, "R").deviation, stands(engine)) == ("", Standing.BROKEN)


def test_beyond_what_is_accepted_it_breaks() -> None:
    engine = world(ACCEPTED_TO_7)
    with engine.trial([Entry(engine.programme.get("q"), moved(engine, 7.0))]):
        assert stands(engine) is Standing.STRAINED
    with engine.trial([Entry(engine.programme.get("q"), moved(engine, 7.000001))]):
        assert stands(engine) is Standing.BROKEN
        assert finding(engine, "R").deviation == ""
    assert stands(engine) is Standing.STRAINED
    change(engine, moved(engine, 8.0))
    assert stands(engine) is Standing.BROKEN


def test_the_side_it_does_not_state_keeps_its_bound() -> None:
    engine = world(ACCEPTED_TO_7, value=-1.0)
    assert stands(engine) is Standing.BROKEN
    change(engine, replace(ACCEPTED_TO_7, lower=Bound(value=-2.0)))
    assert stands(engine) is Standing.STRAINED


def test_an_unlimited_one_accepts_any_miss_but_nothing_unknown() -> None:
    engine = world(deviation("V", "R"), value=1e9)
    assert stands(engine) is Standing.STRAINED
    change(engine, replace(moved(engine, 0.0), given=Setting(reason="lost")))
    assert stands(engine) is Standing.UNPROVEN


def test_what_is_met_needs_none() -> None:
    engine = world(ACCEPTED_TO_7, value=3.0)
    assert (finding(engine, "R").deviation, stands(engine)) == ("", Standing.STANDS)


def test_a_miss_that_is_no_number_is_accepted_only_whole() -> None:
    engine = engine_of(
        GATE,
        decision("D", serves=("R",)),
        quantity("q", "b", Kind.CHOICE, choices=("a", "b")),
        requirement("R", "q", allowed=("a",)),
        deviation("V", "R"),
    )
    assert (finding(engine, "R").deviation, stands(engine)) == ("V", Standing.STRAINED)
    assert cover_of((Cover("V", upper=1.0),), Band(allowed=("a",)), None) == ""


def test_the_first_deviation_that_reaches_far_enough_is_named() -> None:
    near, far = deviation("N", "R", upper=5.5), deviation("F", "R", upper=9.0)
    assert finding(world(near, far), "R").deviation == "F"
    assert finding(world(near, far, value=5.25), "R").deviation == "N"


@pytest.mark.parametrize(
    ("baselines", "expired"),
    [
        ((), False),
        (("G",), False),
        (("H",), True),
        (("G", "H"), True),
        (("L",), True),
    ],
    ids=["nothing frozen", "an earlier gate", "its own gate", "both", "a later gate alone"],
)
def test_it_expires_when_its_gate_or_a_later_one_is_frozen(
    baselines: tuple[str, ...], expired: bool
) -> None:
    latest = Gate(id="L", key="L", title="Latest", date="2033-01-31")
    held = replace(ACCEPTED_TO_7, expires="H")
    engine = world(latest, held, *(frozen(each, f"B{each}") for each in baselines))
    assert is_expired(engine.programme, held) is expired
    assert stands(engine) is (Standing.BROKEN if expired else Standing.STRAINED)
    assert ("R" in covers_in_force(engine.programme)) is not expired


def test_freezing_bites_at_once_and_taking_it_back_restores() -> None:
    engine = world(ACCEPTED_TO_7)
    with engine.trial([Entry(None, frozen("G"))]) as report:
        assert stands(engine) is Standing.BROKEN
        assert report.ran == []
        assert ("R", "") in report.findings
        assert set(report.standings) == {"D"}
    assert stands(engine) is Standing.STRAINED


def test_a_gate_that_moves_past_a_frozen_one_brings_it_back() -> None:
    held = replace(ACCEPTED_TO_7, expires="G")
    engine = world(held, frozen("H"))
    assert stands(engine) is Standing.BROKEN, "H is later than G"
    change(engine, replace(GATE, date="2034-01-31"))
    assert stands(engine) is Standing.STRAINED


def test_what_moves_no_miss_is_no_structure() -> None:
    worded = replace(ACCEPTED_TO_7, reason="better said", upper=Bound(value=7.0, typed="7"))
    assert not is_structural(Entry(ACCEPTED_TO_7, worded))
    assert is_structural(Entry(ACCEPTED_TO_7, replace(ACCEPTED_TO_7, upper=Bound(value=8.0))))
    assert is_structural(Entry(ACCEPTED_TO_7, replace(ACCEPTED_TO_7, expires="H")))
    assert is_structural(Entry(GATE, replace(GATE, date="2034-01-31")))
    assert not is_structural(Entry(GATE, replace(GATE, title="Other")))
    assert not is_structural(Entry(None, GATE))
    assert not is_structural(Entry(None, Action(id="A", key="A", title="Do it")))
    assert is_structural(Entry(None, frozen("G")))


def test_a_band_is_widened_and_never_narrowed() -> None:
    band = Band(0.0, 5.0)
    assert widened(band, [Cover("V", upper=4.0), Cover("W", lower=-1.0)]) == Band(-1.0, 5.0)
    assert widened(Band(lower=0.0), [Cover("V", upper=4.0)]) == Band(lower=0.0)
    assert widened(band, [Cover("V", upper=4.0), Cover("W")]) is None
    assert widened(band, []) == band


def test_a_withdrawn_decision_lets_another_own_what_it_owned() -> None:
    old = decision("OLD", {"a": {"own": 1.0}})
    engine = engine_of(quantity("own"), old)
    gone = replace(old, state=old.state.WITHDRAWN)
    change(engine, gone)
    assert engine.graph.owner["own"] == "OLD", "nobody else has it"
    new = settled(decision("NEW", {"a": {"own": 2.0}}), "a")
    change(engine, new)
    assert engine.graph.owner["own"] == "NEW"
    slot = engine.state.slots[engine.graph.index["own", ""]]
    assert isinstance(slot, np.ndarray)
    assert slot.tolist() == [2.0]


def rows(engine: Engine, values: list[float]) -> Assessment:
    made = Candidates(engine, len(values))
    made.put(source_at(engine, "q"), np.array(values))
    return made.assess()


def test_a_sweep_judges_rows_by_the_deviations_in_force() -> None:
    engine = world(ACCEPTED_TO_7, deviation("W", "R", lower=-2.0))
    found = rows(engine, [-2.5, -2.0, 3.0, 7.0, 7.5])
    judged = found.judged(0)
    codes = judged.verdict.tolist()
    assert [codes[0], codes[1], codes[3], codes[4]] == [MISSED, ACCEPTED, ACCEPTED, MISSED]
    assert found.standing("D").tolist() == [BROKEN, STRAINED, 0, STRAINED, BROKEN]
    assert judged.slack.tolist() == pytest.approx([-0.2, 0.0, 1.6, 0.0, -0.2])
    assert judged.margin.tolist() == pytest.approx([-1.0, -0.8, 0.8, -0.8, -1.0])


def test_where_anything_is_accepted_there_is_no_slack_to_lose() -> None:
    judged = rows(world(deviation("V", "R")), [6.0, 1e9]).judged(0)
    assert judged.verdict.tolist() == [ACCEPTED, ACCEPTED]
    assert np.isnan(judged.slack).all()


def test_headroom_reaches_as_far_as_a_miss_is_accepted() -> None:
    engine = world(ACCEPTED_TO_7)
    (found,) = headroom(engine, [source_at(engine, "q")])
    assert (found.low.at, found.high.at, found.certified) == (0.0, 7.0, True)
    assert found.high.beyond == np.nextafter(7.0, 8.0)


def test_a_deviation_of_another_requirement_does_not_help() -> None:
    other = requirement("R2", "q", upper=4.0)
    engine = world(other, replace(ACCEPTED_TO_7, requirement="R2"))
    assert isinstance(engine.programme.get("V"), Deviation)
    assert (finding(engine, "R2").deviation, stands(engine)) == ("V", Standing.BROKEN)


def test_a_mend_aims_at_what_is_accepted_unless_strain_is_to_go_too() -> None:
    engine = world(ACCEPTED_TO_7, value=8.0)
    found = rows(engine, [8.0, 6.0])
    every = slice(None)
    assert Goal(engine, "D").slack(found, [0], [], every).tolist() == [[8.0, -1.0], [6.0, 1.0]]
    strict = Goal(engine, "D", worst=0).slack(found, [0], [], every)
    assert strict[:, 1].tolist() == pytest.approx([-3 / 2.5 - 0.1, -1 / 2.5 - 0.1])
    unlimited = world(deviation("V", "R"), value=8.0)
    assert Goal(unlimited, "D").slack(rows(unlimited, [8.0]), [0], ["D"], every).tolist() == [[1.0]]


def test_a_mend_moves_only_to_where_the_miss_is_accepted() -> None:
    engine = engine_of(
        GATE,
        decision("D", serves=("R",)),
        quantity("q", 8.0, low=0.0, high=10.0),
        requirement("R", "q", 0.0, 5.0),
        ACCEPTED_TO_7,
    )
    (made,) = mend(engine, "D", Plan()).mendings
    assert [each.to for each in made.moves] == [7.0]
