"""The opening page: what stands, what broke or shifted, what is due; and the lists."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import AGAINST, small_session, toy_tools
from tracker.errors import BadValueError
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    set_values,
    settle,
    withdraw,
)
from tracker.services.overview import KINDS, listing, overview
from tracker.services.session import Session


def at(session: Session, now: str) -> Session:
    """Look at a programme on another day."""
    return Session(session.store, replace(session.tools, clock=lambda: now), "Ann")


def due(session: Session) -> dict[str, str]:
    return {each.key: each.why for each in overview(session).due}


def test_the_page_answers_the_three_questions(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    page = overview(settled)
    assert (page.title, page.store, page.currency) == ("Small", "memory", "EUR")
    assert (page.revision, page.head) == (5, settled.head.hash)
    assert {each.key: (each.standing, each.shifted) for each in page.decisions} == {
        "D-ARM": ("broken", True),
        "D-MASS": ("stands", False),
    }
    assert {each.key: each.finding.verdict for each in page.requirements} == {
        "R-TORQUE": "missed",
        "R-ARM": "met",
        "R-HUB": "met",
        "R-SIDE": "met",
        "R-SEAL": "met",
        "R-CELL": "met",
        "R-MASS": "met",
    }
    assert [(each.key, each.state, each.message) for each in page.checks] == [
        ("C-LEVER", "current", ""),
        ("C-MASS", "current", ""),
    ]
    assert page.next_gate is not None
    assert page.next_gate.key == "G1"
    assert due(settled) == {"D-ARM": "broken; shifted: needs another look", "R-TORQUE": "missed"}
    assert (page.quantities, len(page.gates)) == (10, 2)
    assert "no substitute" in page.caution


def test_findings_show_value_band_and_margin_with_units(settled: Session) -> None:
    found = {each.key: each.finding for each in overview(settled).requirements}
    torque, hub, side, cell = (found[key] for key in ("R-TORQUE", "R-HUB", "R-SIDE", "R-CELL"))
    assert (torque.subject, torque.text, torque.unit) == ("torque", "12", "N*m")
    assert (torque.required, torque.distance_text) == ("at most 16 N*m", "+4 N*m (+25 %)")
    assert (torque.bound, torque.lower, torque.upper) == ("upper", None, 16.0)
    assert (hub.subject, hub.value, hub.required) == ("hub.z", 300.0, "290 to 310 mm")
    assert (hub.target, hub.margin, hub.distance) == (300.0, 1.0, 10.0)
    assert (side.value, side.required, side.margin, side.distance_text) == (
        "left",
        "left",
        None,
        "",
    )
    assert (cell.subject, cell.unit, cell.required) == ("parts[arm].mass", "kg", "at most 2 kg")


@pytest.mark.parametrize(
    ("now", "gate"),
    [
        ("2030-12-31T23:59:59Z", "G1"),
        ("2031-03-01T12:00:00Z", "G1"),
        ("2031-03-02T00:00:00Z", "G2"),
        ("2031-09-01T23:00:00Z", "G2"),
        ("2035-01-01T00:00:00Z", "G2"),
    ],
)
def test_the_next_gate_is_the_first_not_past_today(small: Session, now: str, gate: str) -> None:
    upcoming = overview(at(small, now)).next_gate
    assert upcoming is not None
    assert upcoming.key == gate


def test_without_gates_nothing_is_due(empty: Session) -> None:
    page = overview(empty)
    assert (page.next_gate, page.due, page.gates, page.decisions) == (None, (), (), ())


def test_a_store_without_a_programme_still_opens(store: MemoryStore) -> None:
    page = overview(Session(store, toy_tools(), "Ann"))
    assert (page.title, page.currency, page.revision) == ("", "", 0)


def test_what_is_due_says_why(small: Session) -> None:
    assert due(small) == {
        "D-ARM": "open, not settled; unproven",
        "R-TORQUE": "unknown: D-ARM: the decision is open",
    }
    lean(small, "D-ARM", "short")
    assert due(small) == {"D-ARM": "leaning, not settled"}
    settle(small, "D-ARM", "short", "It holds", AGAINST)
    assert due(small) == {}
    set_values(small, {"load": "130 N"}, "heavier")
    assert due(small) == {"D-ARM": "shifted: needs another look"}
    withdraw(small, "D-ARM", "gone")
    assert due(small) == {"R-TORQUE": "unknown: D-ARM: the decision is withdrawn"}


def test_gates_count_what_is_due_and_pending(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    gates = {each.key: (each.due, each.pending, each.date) for each in overview(settled).gates}
    assert gates == {"G1": (2, 2, "2031-03-01"), "G2": (2, 0, "2031-09-01")}


def test_gates_stand_by_date(small: Session) -> None:
    amend_item(small, "G1", {"date": "2032-01-01"}, "late")
    assert [each.key for each in overview(small).gates] == ["G2", "G1"]
    assert [each.key for each in listing(small, "gate").lines] == ["G2", "G1"]


def test_a_decision_nothing_judges_is_unproven_and_says_so(small: Session) -> None:
    add_items(small, [{"kind": "decision", "key": "D-X", "question": "Colour?"}], "one more")
    line = next(each for each in overview(small).decisions if each.key == "D-X")
    assert (line.standing, line.why) == ("unproven", "nothing judges it")


def test_several_culprits_are_counted(settled: Session) -> None:
    amend_item(settled, "D-ARM", {"serves": ["R-TORQUE", "R-ARM"]}, "more")
    set_values(settled, {"load": "150 N", "R-ARM.lower": "130 mm"}, "worse")
    line = overview(settled).decisions[0]
    assert line.why == "R-TORQUE is missed, and 1 more"


def test_lists_of_every_kind(settled: Session) -> None:
    told = {kind: listing(settled, kind) for kind in KINDS}
    assert all(each.revision == settled.head.revision for each in told.values())
    lines = {kind: {line.key: line for line in each.lines} for kind, each in told.items()}
    assert lines["requirement"]["R-TORQUE"].text == "12 N*m against at most 16 N*m"
    assert lines["requirement"]["R-SIDE"].text == "left against left"
    assert lines["requirement"]["R-TORQUE"].sign == "met"
    assert lines["decision"]["D-ARM"].text == "settled: short"
    assert lines["quantity"]["load"].text == "100 N  (given, quoted)"
    assert lines["quantity"]["torque"].text == "12 N*m  (check C-LEVER)"
    assert lines["quantity"]["arm"].text == "120 mm  (decision D-ARM, calculated)"
    assert lines["quantity"]["tread"].text == "unknown mm  (not chosen)"
    assert lines["quantity"]["side"].text == "left  (given, measured)"
    assert lines["check"]["C-LEVER"].text == "lever under D-ARM"
    assert lines["check"]["C-LEVER"].sign == "current"
    assert lines["gate"]["G1"].text == "2031-03-01"
    set_values(settled, {"load": ""}, "lost")
    after = {line.key: line for kind in KINDS for line in listing(settled, kind).lines}
    assert after["R-TORQUE"].text == "load: taken away"
    assert after["D-ARM"].text.startswith("settled: short; R-TORQUE is unknown: load: taken away")
    assert after["D-ARM"].shifted
    assert after["C-LEVER"].text == "lever under D-ARM: load: taken away"
    assert after["C-LEVER"].sign == "waiting"
    assert after["torque"].text == "unknown N*m  (load: taken away)"


def test_an_open_decision_is_listed_by_its_state(small: Session) -> None:
    line = listing(small, "decision").lines[0]
    assert line.text.startswith("open; R-TORQUE is unknown: D-ARM: the decision is open")
    withdraw(small, "D-ARM", "gone")
    assert listing(small, "decision").lines[0].text == "withdrawn"


def test_there_are_no_other_lists(small: Session) -> None:
    with pytest.raises(BadValueError) as caught:
        listing(small, "wish" * 50)
    assert caught.value.remedy == (
        "Kinds: requirement, decision, quantity, check, gate, "
        "deviation, action, evidence, risk, baseline"
    )
    assert len(caught.value.message) < 80


def test_hostile_texts_are_made_visible_everywhere() -> None:
    session = small_session()
    bad = "a\u202eb\u200b"
    good = "a<U+202E>b<U+200B>"
    amend_item(session, "programme", {"title": bad}, "x")
    amend_item(session, "R-TORQUE", {"statement": bad, "owner": bad}, "x")
    amend_item(session, "D-ARM", {"question": bad, "owner": bad}, "x")
    amend_item(session, "load", {"title": bad}, "x")
    amend_item(session, "C-LEVER", {"title": bad}, "x")
    amend_item(session, "G1", {"title": bad}, "x")
    page = overview(session)
    line = page.requirements[0]
    decision = page.decisions[0]
    shown = (page.title, line.statement, line.owner, decision.question, decision.owner)
    assert set(shown) == {good}
    titles = [line.title for kind in KINDS for line in listing(session, kind).lines]
    assert titles.count(good) == 5
    assert {page.gates[0].title, page.checks[0].title, page.due[0].title} == {good}
