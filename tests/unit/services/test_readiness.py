"""Every criterion of a gate: what meets it, what offends it, and how a gate sets it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.services.gate_world import (
    Shelf,
    action,
    criterion,
    deviation,
    evidence,
    id_of,
    put,
    risk,
)
from tests.unit.services.small import AGAINST, near
from tracker.errors import BadValueError, DecisionError, ManyProblemsError, UnknownKeyError
from tracker.evaluate.footing import take_footing
from tracker.model.changes import Entry
from tracker.model.parts import Bound
from tracker.model.records import Basis, BasisKind, Decision, Gate, Quantity
from tracker.services.actions import add_items, lean, reopen, review, set_values, settle, withdraw
from tracker.services.gates.criteria import CRITERIA
from tracker.services.gates.freezing import freeze_gate
from tracker.services.gates.readiness import gate_list, gate_page
from tracker.services.gates.views import CriterionView
from tracker.services.session import Reading, Session

HASH = "0123456789abcdef" * 4


def offences(view: CriterionView) -> list[tuple[str, str]]:
    assert (view.result == "not met") is bool(view.offenders)
    return [(each.key, each.why) for each in view.offenders]


def ask(session: Session, gate: str, **criteria: str) -> None:
    record = session.programme.named(gate, Gate)
    asked = {name.replace("_", "-"): setting for name, setting in criteria.items()}
    put(session, replace(record, criteria=asked))


def test_a_gate_where_all_is_in_order_is_ready(settled: Session) -> None:
    page = gate_page(settled, "G1")
    assert page.ready
    assert [each.name for each in page.criteria] == list(CRITERIA)
    assert {each.result for each in page.criteria} == {"met"}
    assert page.due == ("R-TORQUE", "D-ARM")
    assert (page.title, page.date, page.baselines) == ("Concept", "2031-03-01", ())
    assert "no substitute" in page.caution


def test_what_is_due_earlier_is_due_still(settled: Session) -> None:
    assert gate_page(settled, "G2").due == ("R-TORQUE", "R-MASS", "D-ARM", "D-MASS")
    set_values(settled, {"load": "150 N"}, "heavier")
    assert offences(criterion(settled, "G2", "requirements-met"))[0][0] == "R-TORQUE"


# Requirements due are met, or missed under a deviation that holds.


def test_a_missed_requirement_offends(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    view = criterion(settled, "G1", "requirements-met")
    assert offences(view) == [("R-TORQUE", "missed: 18 N*m against at most 16 N*m")]
    assert (view.offenders[0].kind, view.offenders[0].title) == (
        "requirement",
        "The lock must not be forced",
    )
    set_values(settled, {"load": "120 N"}, "lighter")
    assert criterion(settled, "G1", "requirements-met").result == "met"


def test_an_unknown_requirement_offends(small: Session) -> None:
    assert offences(criterion(small, "G1", "requirements-met")) == [
        ("R-TORQUE", "unknown: D-ARM: the decision is open")
    ]


def test_a_deviation_that_holds_covers_a_miss(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    put(settled, deviation(settled, "R-TORQUE", "G1"))
    assert criterion(settled, "G1", "requirements-met").result == "met"
    assert criterion(settled, "G1", "decisions-standing").result == "met"


def test_a_deviation_covers_as_far_as_it_says(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    put(settled, deviation(settled, "R-TORQUE", "G1", upper=Bound(value=17.0)))
    words = "missed: 18 N*m against at most 16 N*m; it is further out than DEV-1 accepts"
    assert offences(criterion(settled, "G1", "requirements-met")) == [("R-TORQUE", words)]
    set_values(settled, {"load": "141 N"}, "lighter")  # 16.92 N·m
    assert criterion(settled, "G1", "requirements-met").result == "met"


def test_a_deviation_that_expires_before_the_gate_does_not_cover(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    put(settled, deviation(settled, "R-TORQUE", "G1"))
    words = "missed: 18 N*m against at most 16 N*m; DEV-1 expires before this gate, at G1"
    assert offences(criterion(settled, "G2", "requirements-met")) == [("R-TORQUE", words)]


def test_a_deviation_bites_once_its_gate_is_frozen(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    put(settled, deviation(settled, "R-TORQUE", "G1"))
    assert gate_page(settled, "G1").criteria[0].result == "met"
    freeze_gate(settled, "G1", "it is accepted")
    for gate in ("G1", "G2"):
        words = "missed: 18 N*m against at most 16 N*m; DEV-1 has expired at G1"
        assert offences(criterion(settled, gate, "requirements-met")) == [("R-TORQUE", words)]
        assert offences(criterion(settled, gate, "decisions-standing")) == [
            ("D-ARM", "broken: R-TORQUE is missed")
        ]


# Decisions due are settled, standing and not shifted.


def test_a_decision_that_is_not_settled_offends(settled: Session) -> None:
    reopen(settled, "D-ARM", "think again")
    assert offences(criterion(settled, "G1", "decisions-settled")) == [
        ("D-ARM", "it is leaning, not settled")
    ]
    settle(settled, "D-ARM", "short", "still", AGAINST)
    assert criterion(settled, "G1", "decisions-settled").result == "met"


def test_a_withdrawn_decision_is_owed_by_nobody(settled: Session) -> None:
    withdraw(settled, "D-MASS", "the question is gone")
    assert criterion(settled, "G2", "decisions-settled").result == "met"
    assert "D-MASS" in gate_page(settled, "G2").due


def test_a_broken_decision_offends(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    assert offences(criterion(settled, "G1", "decisions-standing")) == [
        ("D-ARM", "broken: R-TORQUE is missed")
    ]
    set_values(settled, {"load": "130 N"}, "strained at 15.6 N·m")
    assert criterion(settled, "G1", "decisions-standing").result == "met"


def test_a_shifted_decision_offends_until_it_is_reviewed(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed", Basis(kind=BasisKind.MEASURED))
    assert offences(criterion(settled, "G1", "decisions-unshifted")) == [
        ("D-ARM", "its ground has shifted since it was settled")
    ]
    review(settled, "D-ARM", "it still holds")
    assert criterion(settled, "G1", "decisions-unshifted").result == "met"


# Nothing is unproven.


def test_an_unproven_decision_and_a_check_that_waits_offend(small: Session) -> None:
    found = offences(criterion(small, "G1", "nothing-unproven"))
    assert found == [
        ("D-ARM", "unproven: R-TORQUE is unknown: D-ARM: the decision is open, and 2 more"),
        ("C-LEVER", "waiting: D-ARM: the decision is open"),
    ]
    lean(small, "D-ARM", "short")
    assert criterion(small, "G1", "nothing-unproven").result == "met"


# No settled decision due rests on a guess, and what is due is known well enough.


def test_a_settled_decision_on_a_guess_offends(settled: Session) -> None:
    found = offences(criterion(settled, "G2", "no-guesses"))
    assert found == [
        ("parts", "its value is a guess; what rests on it: D-MASS"),
        ("hub", "its value is a guess; what rests on it: D-MASS"),
    ]
    assert criterion(settled, "G1", "no-guesses").result == "met"


def test_a_guess_far_up_is_found(settled: Session) -> None:
    source = Basis(kind=BasisKind.GUESS, source="Ann's thumb")
    set_values(settled, {"load": "101 N"}, "roughly", source)
    assert offences(criterion(settled, "G1", "no-guesses")) == [
        ("load", "its value is a guess (Ann's thumb); what rests on it: D-ARM")
    ]
    reopen(settled, "D-ARM", "think again")
    assert criterion(settled, "G1", "no-guesses").result == "met"  # nothing settled rests on it


def test_a_gate_asks_for_bases_as_good_as_it_likes(settled: Session) -> None:
    assert criterion(settled, "G1", "bases").result == "met"
    ask(settled, "G1", bases="quoted")
    view = criterion(settled, "G1", "bases")
    assert offences(view) == [
        ("arm", "its value is calculated (Sketch 3); what rests on it: D-ARM, R-TORQUE")
    ]
    assert view.setting == "quoted"
    ask(settled, "G1", bases="measured")
    assert [key for key, _ in offences(criterion(settled, "G1", "bases"))] == ["arm", "load"]
    ask(settled, "G1", bases="guess")
    assert criterion(settled, "G1", "bases").result == "met"


def test_many_that_rest_on_a_guess_are_counted(settled: Session) -> None:
    set_values(settled, {"load": "101 N"}, "roughly")
    more = [
        {
            "kind": "requirement",
            "key": f"R-MORE-{number}",
            "statement": "It turns",
            "quantity": "torque",
            "upper": "20 N*m",
            "gate": "G1",
        }
        for number in range(3)
    ]
    add_items(settled, more, "more")
    words = "its value is a guess; what rests on it: D-ARM, R-TORQUE, R-MORE-0 and 2 more"
    assert offences(criterion(settled, "G1", "bases")) == [("load", words)]


# Rejected options have reasons, actions are closed, evidence is intact, risks have a response.


def test_a_rejected_option_without_a_reason_offends(settled: Session) -> None:
    view = criterion(settled, "G1", "reasons-given")
    assert view.result == "met"
    record = settled.programme.named("D-ARM", Decision)
    option = record.options[1]
    bare = replace(record, against={**record.against, option.id: " "})
    with pytest.raises(DecisionError, match="reason"):
        put(settled, bare)  # no change brings it about; a journal from elsewhere may hold it
    programme = settled.programme.copy()
    programme.apply([Entry(record, bare)])
    held = Reading(settled.store, settled.tools, settled.head, programme)
    assert offences(criterion(held, "G1", "reasons-given")) == [
        ("D-ARM", "no reason is given against long")
    ]


def test_an_open_action_offends_until_it_is_closed(settled: Session) -> None:
    open_one = action(settled, "G1")
    put(settled, open_one)
    assert offences(criterion(settled, "G1", "actions-closed")) == [("A-1", "it is open, with Bo")]
    put(settled, replace(open_one, closed="Weighed: 1.6 kg", closed_on="2031-02-01"))
    assert criterion(settled, "G1", "actions-closed").result == "met"


def test_an_action_due_later_does_not_offend(settled: Session) -> None:
    put(settled, action(settled, "G2"))
    assert criterion(settled, "G1", "actions-closed").result == "met"
    assert criterion(settled, "G2", "actions-closed").result == "not met"


@pytest.mark.parametrize(
    ("files", "words"),
    [
        (Shelf(**{"rig.txt": HASH}), ""),
        (Shelf(**{"rig.txt": "f" * 64}), "the file is not what it was: its hash differs"),
        (Shelf(), "there is no such file any more"),
        (None, ""),
    ],
    ids=["intact", "changed", "missing", "no place to look"],
)
def test_evidence_offends_once_its_file_changed(
    settled: Session, files: Shelf | None, words: str
) -> None:
    put(settled, evidence(settled, "rig.txt", HASH))
    settled.tools = replace(settled.tools, files=files)
    found = offences(criterion(settled, "G1", "evidence-intact"))
    assert found == ([("E-1", words)] if words else [])


def test_a_risk_offends_until_something_is_done_about_it(settled: Session) -> None:
    bare = risk(settled, "G1")
    put(settled, bare)
    assert offences(criterion(settled, "G1", "risks-answered")) == [
        ("RISK-1", "nothing is said of what is done about it")
    ]
    put(settled, replace(bare, response="Order the tool now"))
    assert criterion(settled, "G1", "risks-answered").result == "met"
    put(settled, replace(bare, closed="The tool is there"))
    assert criterion(settled, "G1", "risks-answered").result == "met"


# A gate sets its criteria.


@pytest.mark.parametrize("name", list(CRITERIA))
def test_a_criterion_that_is_set_aside_blocks_nothing(small: Session, name: str) -> None:
    put(small, action(small, "G1"), risk(small, "G1"), evidence(small, "gone.txt", HASH))
    small.tools = replace(small.tools, files=Shelf())
    ask(small, "G1", **{name: "no"})
    view = criterion(small, "G1", name)
    assert (view.setting, view.result, view.offenders) == ("no", "set aside", ())


def test_unknown_criteria_and_settings_are_refused_with_what_there_is(small: Session) -> None:
    ask(small, "G1", tidy="yes")
    with pytest.raises(BadValueError, match="is no criterion") as caught:
        gate_page(small, "G1")
    assert "requirements-met" in caught.value.remedy
    ask(small, "G1", bases="sure")
    with pytest.raises(BadValueError, match="bases cannot be 'sure'") as caught:
        gate_list(small)
    assert "guess, estimate, calculated, quoted, measured, no" in caught.value.remedy
    ask(small, "G1", bases="sure", tidy="yes")
    with pytest.raises(ManyProblemsError):
        gate_page(small, "G1")


def test_an_unknown_gate_is_refused(small: Session) -> None:
    with pytest.raises(UnknownKeyError, match="no gate"):
        gate_page(small, "G9")


# The list, and what blocks the next gate.


def test_the_list_names_the_next_gate_and_what_blocks_it(settled: Session) -> None:
    before = gate_list(settled)
    assert before.next == "G1"
    assert [(each.key, each.ready, each.baseline) for each in before.gates] == [
        ("G1", True, ""),
        ("G2", False, ""),
    ]
    assert before.gates[1].blocked_by == ("no-guesses", "bases")
    freeze_gate(settled, "G1")
    after = gate_list(settled)
    assert after.next == "G2"
    assert (after.gates[0].ready, after.gates[0].baseline) == (True, "G1-1")
    freeze_gate(settled, "G2", "all the same")
    assert gate_list(settled).next == ""
    assert gate_list(settled).gates[1].ready is False


def test_a_gate_that_was_passed_over_is_not_next(settled: Session) -> None:
    freeze_gate(settled, "G2", "G1 was left out")
    assert gate_list(settled).next == ""


def test_no_gates_no_list(empty: Session) -> None:
    view = gate_list(empty)
    assert (view.gates, view.next) == ((), "")


def test_readiness_changes_nothing(settled: Session) -> None:
    head = settled.head
    decision = settled.programme.named("D-ARM", Decision)
    gate_list(settled)
    gate_page(settled, "G2")
    assert settled.head == head
    assert settled.programme.named("D-ARM", Decision) is decision
    now = take_footing(
        settled.programme, settled.engine.graph, settled.engine.state.slots, decision.id
    )
    assert decision.footing == now
    torque = settled.programme.named("torque", Quantity)
    slot = settled.engine.state.slots[settled.engine.graph.index[torque.id, ""]]
    assert float(slot[0]) == near(12.0)  # type: ignore[index,arg-type] # an array
    assert id_of(settled, "torque") == torque.id
