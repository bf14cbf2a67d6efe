"""What a pack of the small programme holds, piece by piece.

By hand: torque 100 N · 120 mm = 12 N·m against at most 16 N·m: 4 N·m or 25 % to spare; it may rise
by a third before it is missed, so the load may rise to 133.333 N and the arm to 160 mm.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.services.gate_world import (
    Shelf,
    action,
    deviation,
    evidence,
    id_of,
    put,
    risk,
)
from tests.unit.services.small import UNITS
from tests.unit.services.toys import CHECKS
from tracker.host.catalogue import EntryPoints
from tracker.model.parts import Bound, Outcome, Review
from tracker.model.records import Decision, DecisionState
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    review,
    set_values,
    withdraw,
)
from tracker.services.gates.freezing import freeze_gate, frozen_pack
from tracker.services.packs.views import PackContent, PackDecision
from tracker.services.session import Session


def packed(session: Session, gate: str = "G1") -> PackContent:
    freeze_gate(session, gate, "to look at it")
    return frozen_pack(session, gate)


def page_of(content: PackContent, key: str) -> PackDecision:
    return next(each for each in content.decisions if each.key == key)


def test_a_requirement_stands_with_margin_in_unit_and_percent(settled: Session) -> None:
    content = packed(settled)
    row = next(each for each in content.requirements if each.key == "R-TORQUE")
    found = row.finding
    assert (found.verdict, found.value, found.text, found.unit) == ("met", 12.0, "12", "N*m")
    assert (found.distance, found.margin, found.percent) == (4.0, 0.25, 25.0)
    assert (found.margin_text, found.bound, found.required) == (
        "+4 N*m (+25 %)",
        "upper",
        "at most 16 N*m",
    )
    assert (row.verification, row.owner, row.gate, row.decisions) == (
        "test",
        "Steering",
        "G1",
        ("D-ARM",),
    )
    assert next(each for each in content.requirements if each.key == "R-ARM").parents == (
        "R-TORQUE",
    )


def test_the_matrix_runs_from_requirement_to_check(settled: Session) -> None:
    rows = {
        each.requirement: (each.decision, each.quantity, each.check, each.source, each.verdict)
        for each in packed(settled).matrix
    }
    assert rows["R-TORQUE"] == ("D-ARM", "torque", "C-LEVER", "check C-LEVER", "met")
    assert rows["R-ARM"] == ("", "arm", "", "decision D-ARM", "met")
    assert rows["R-CELL"] == ("", "parts[arm].mass", "", "given", "met")


def test_a_decision_has_its_page(settled: Session) -> None:
    page = page_of(packed(settled), "D-ARM")
    assert (page.state, page.standing, page.chosen, page.shifted) == (
        "settled",
        "stands",
        "short",
        False,
    )
    assert (page.rationale, page.owner, page.gate) == ("The short arm holds", "Lead", "G1")
    assert (page.sets, page.serves, page.rests_on, page.checks) == (
        ("arm",),
        ("R-TORQUE",),
        (),
        ("C-LEVER",),
    )
    assert [(each.judge, each.verdict) for each in page.findings] == [
        ("R-TORQUE", "met"),
        ("C-LEVER.torque", "met"),
        ("C-LEVER.dead", "met"),
    ]
    assert [(each.check, each.key, each.kind) for each in page.figures] == [
        ("C-LEVER", "arm", "sketch")
    ]
    assert page.figures[0].series[0].x == (0.0, 120.0)
    assert [(each.revision, each.reason, each.what) for each in page.history] == [
        (2, "begin", ("new decision D-ARM",)),
        (3, "The short arm holds", ("D-ARM settled on short",)),
    ]


def test_options_are_compared_by_what_they_find(settled: Session) -> None:
    options = {each.key: each for each in page_of(packed(settled), "D-ARM").options}
    told = {
        key: (each.chosen, each.standing, each.against, each.findings[0].text)
        for key, each in options.items()
    }
    assert told == {
        "short": (True, "stands", "", "12"),
        "long": (False, "strained", "It bends", "15"),
        "later": (False, "unproven", "The tool must be ordered", "—"),
    }
    stated = options["short"].settings[0]
    assert (stated.value, stated.text, stated.unit, stated.basis, stated.source) == (
        120.0,
        "120",
        "mm",
        "calculated",
        "Sketch 3",
    )
    assert options["later"].settings[0].reason == "the supplier has not answered"
    assert options["later"].settings[0].basis == ""
    assert (settled.engine.state.standings[id_of(settled, "D-ARM")].standing) == "stands"


def test_grounds_are_the_stated_values_a_decision_takes(settled: Session) -> None:
    grounds = {each.quantity: each for each in page_of(packed(settled), "D-ARM").grounds}
    assert set(grounds) == {"arm", "load"}
    assert (grounds["load"].basis, grounds["load"].source, grounds["load"].dated) == (
        "quoted",
        "Supplier sheet 7",
        "2030-11-02",
    )


def test_headroom_says_when_to_reopen(settled: Session) -> None:
    lines = {each.subject: each for each in page_of(packed(settled), "D-ARM").headroom}
    assert lines["load"].high == 133.333
    assert lines["load"].words.startswith("Reopen if load ")
    assert "exceeds 133.333 N (now 100 N; sampled every" in lines["load"].words
    upper = lines["R-TORQUE.upper"]
    assert (upper.low, upper.high, upper.low_breaks, upper.high_breaks) == (12.0, None, True, False)
    assert upper.words == "Reopen if R-TORQUE.upper falls below 12 N*m (now 16 N*m; proven)."
    assert "R-MASS.upper" not in lines


def test_headroom_tells_which_choices_break_a_decision(settled: Session) -> None:
    arm = settled.programme.named("D-ARM", Decision)
    served = [id_of(settled, each) for each in ("R-TORQUE", "R-SIDE", "R-SEAL")]
    put(settled, replace(arm, serves=tuple(served)))
    lines = {each.subject: each for each in page_of(packed(settled), "D-ARM").headroom}
    side, sealed = lines["side"], lines["sealed"]
    assert (side.text, side.lost, side.certified) == ("left", ("right",), True)
    assert (side.low, side.high, side.low_breaks, side.high_breaks) == (None, None, False, False)
    assert side.words == "Reopen if side becomes right (now left; proven)."
    assert sealed.words == "Reopen if sealed becomes no (now yes; proven)."


def test_everything_said_of_a_decision_stands_on_its_page(settled: Session) -> None:
    record = settled.programme.named("D-ARM", Decision)
    put(
        settled,
        replace(
            record,
            participants=("Ann", "Bo"),
            dissent={"Bo": "The long one is in stock"},
            assumptions=("The lock stays as drawn",),
        ),
        evidence(settled, "rig.txt", "ab" * 32),
        replace(risk(settled, "G1", response="Order now"), about=(record.id,)),
        replace(action(settled, "G1"), about=(record.id,)),
        deviation(settled, "R-TORQUE", "G2", decision=record.id, upper=Bound(value=18.0)),
    )
    content = packed(settled)
    page = page_of(content, "D-ARM")
    assert page.participants == ("Ann", "Bo")
    assert page.dissent == (("Bo", "The long one is in stock"),)
    assert page.assumptions == ("The lock stays as drawn",)
    assert (page.evidence, page.risks, page.actions, page.deviations) == (
        ("E-1",),
        ("RISK-1",),
        ("A-1",),
        ("DEV-1",),
    )
    (told,) = content.risks
    assert (told.likelihood, told.consequence, told.response, told.about) == (
        "medium",
        "high",
        "Order now",
        ("D-ARM",),
    )
    assert (content.actions[0].title, content.actions[0].closed) == ("Weigh the arm", "")
    assert content.deviations[0].allowed == "at most 18 N*m"
    assert content.deviations[0].state == "not needed"


@pytest.mark.parametrize(
    ("load", "upper", "state", "covers"),
    [
        ("150 N", 18.5, "valid", "DEV-1"),
        ("150 N", None, "valid", "DEV-1"),
        ("150 N", 17.0, "exceeded", ""),
        ("100 N", 17.0, "not needed", ""),
    ],
)
def test_a_deviation_stands_beside_the_miss_it_covers(
    settled: Session, load: str, upper: float | None, state: str, covers: str
) -> None:
    bound = None if upper is None else Bound(value=upper)
    put(settled, deviation(settled, "R-TORQUE", "G2", upper=bound))
    if load != "100 N":
        set_values(settled, {"load": load}, "x")
    content = packed(settled)
    assert content.deviations[0].state == state
    finding = next(each for each in content.requirements if each.key == "R-TORQUE").finding
    assert finding.deviation == covers


def test_an_expired_deviation_says_so(settled: Session) -> None:
    put(settled, deviation(settled, "R-TORQUE", "G1"))
    assert packed(settled).deviations[0].state == "not needed"
    assert packed(settled, "G2").deviations[0].state == "expired"


@pytest.mark.parametrize(
    ("place", "digest", "state"),
    [
        ("rig.txt", "ab" * 32, "intact"),
        ("rig.txt", "cd" * 32, "changed"),
        ("gone.txt", "ab" * 32, "missing"),
        ("https://lab.example/rig", "ab" * 32, "not checked"),
        ("//server/share/rig.txt", "ab" * 32, "not checked"),
        ("rig.txt", "", "not checked"),
    ],
)
def test_evidence_comes_with_its_state(
    settled: Session, place: str, digest: str, state: str
) -> None:
    settled.tools = replace(settled.tools, files=Shelf(**{"rig.txt": "ab" * 32}))
    put(settled, evidence(settled, place, digest))
    content = packed(settled)
    (told,) = content.evidence
    assert (told.place, told.state, told.about) == (place, state, ("D-ARM",))
    listed = [each.key for each in content.unchecked if each.about == "evidence"]
    assert listed == (["E-1"] if state == "not checked" else [])


def test_a_reviewed_decision_shows_its_review(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed")
    before = page_of(packed(settled), "D-ARM")
    assert before.shifted
    assert [(each.what, each.before, each.after) for each in before.shifts] == [
        ("load", "100 N", "110 N")
    ]
    review(settled, "D-ARM", "13.2 N·m is still below 16")
    after = page_of(packed(settled), "D-ARM")
    assert not after.shifted
    assert after.shifts == ()
    assert [line.reason for line in after.history][-1] == "13.2 N·m is still below 16"
    record = settled.programme.named("D-ARM", Decision)
    looked = Review(by="Bo", outcome=Outcome.CONFIRMED, reason="Fine", on="2031-01-16T08:00:00Z")
    put(settled, replace(record, reviews=(*record.reviews, looked)))
    told = page_of(packed(settled), "D-ARM").reviews[-1]
    assert (told.by, told.on, told.outcome, told.reason) == (
        "Bo",
        "2031-01-16T08:00:00Z",
        "confirmed",
        "Fine",
    )


def test_a_superseded_decision_and_its_heir_name_each_other(settled: Session) -> None:
    heir = {
        "kind": "decision",
        "key": "D-HEIR",
        "question": "Which arm now?",
        "options": [{"key": "cast", "title": "Cast"}, {"key": "welded", "title": "Welded"}],
    }
    add_items(settled, [heir], "asked anew")
    withdraw(settled, "D-MASS", "asked anew as D-HEIR")
    record = settled.programme.named("D-MASS", Decision)
    put(settled, replace(record, superseded_by=id_of(settled, "D-HEIR")))
    content = packed(settled)
    old, new = page_of(content, "D-MASS"), page_of(content, "D-HEIR")
    assert (old.state, old.standing, old.superseded_by) == ("withdrawn", "", "D-HEIR")
    assert new.supersedes == ("D-MASS",)
    assert [each.standing for each in old.options] == ["stands", "stands"]  # as if applied
    assert settled.programme.named("D-MASS", Decision).state is DecisionState.WITHDRAWN


def test_quantities_say_where_they_come_from(settled: Session) -> None:
    rows = {each.key: each for each in packed(settled).quantities}
    told = {key: (each.source, each.basis, each.typed) for key, each in rows.items()}
    assert told["load"] == ("given", "quoted", "100 N")
    assert told["arm"] == ("decision D-ARM", "calculated", "12 cm")
    assert told["torque"] == ("check C-LEVER", "", "")
    assert told["tread"] == ("given", "", "")
    assert rows["tread"].reason == "not chosen"
    assert rows["tread"].text == "unknown"
    assert rows["load"].tolerance == "± 5 N (normal)"
    assert rows["hub"].value == (0.0, 600.0, 300.0)
    assert rows["parts"].value == (("arm", 1.6, 2, False), ("stop L/R", 0.2, 4, False))
    assert rows["parts"].columns[1] == ("mass", "kg")
    assert rows["side"].value == "left"
    assert rows["sealed"].value is True


def test_checks_say_what_ran(settled: Session) -> None:
    rows = {each.key: each for each in packed(settled).checks}
    lever = rows["C-LEVER"]
    assert (lever.check, lever.version, lever.state, lever.decision) == (
        "lever",
        "1",
        "current",
        "D-ARM",
    )
    assert lever.sources == ("Any text on statics, moment of a force; recalled",)
    assert lever.cautions == ("The arm is rigid.",)
    assert [(each.port, each.bound) for each in lever.inputs] == [
        ("force", "load"),
        ("arm", "arm"),
        ("angle", "90 deg"),
    ]
    assert [(each.port, each.bound) for each in lever.outputs] == [("torque", "torque")]
    assert ("limit", "R-CELL.upper") in [(e.port, e.bound) for e in rows["C-MASS"].inputs]


def test_an_input_left_to_its_default_is_named_with_it(settled: Session) -> None:
    bound = {"parts": "parts", "limit": "R-CELL.upper"}
    amend_item(settled, "C-MASS", {"inputs": bound}, "let it be")
    inputs = {each.port: each.bound for each in packed(settled).checks[1].inputs}
    assert inputs == {**bound, "side": "left (default)"}


def test_a_check_that_is_not_there_has_no_version(settled: Session) -> None:
    others = {key: check for key, check in CHECKS.items() if key != "lever"}
    without = replace(settled.tools, catalogue=EntryPoints(UNITS, others))
    content = packed(Session(settled.store, without, "Ann"))
    row = content.checks[0]
    assert (row.state, row.version, row.sources, row.cautions) == ("unbound", "", (), ())
    assert [each.port for each in row.inputs] == ["arm", "force"]
    listed = {each.key: each.about for each in content.unchecked if each.kind == "check"}
    assert listed == {"C-LEVER": "check not current"}


def test_what_no_check_has_shown_is_listed(settled: Session) -> None:
    listed = {(each.key, each.about) for each in packed(settled).unchecked}
    assert ("R-ARM", "not served") in listed
    assert ("R-ARM", "no check") in listed
    assert ("R-TORQUE", "not by analysis") in listed
    assert ("tread", "unknown") in listed
    assert ("hub", "on a guess") in listed
    assert ("parts", "on a guess") in listed
    assert ("load", "on a guess") not in listed
    assert ("R-MASS", "no check") not in listed


def test_a_rule_with_nothing_to_judge_is_listed(settled: Session) -> None:
    amend_item(settled, "C-MASS", {"inputs": {"parts": "parts"}}, "no limit")
    content = packed(settled)
    (line,) = [each for each in content.unchecked if each.about == "no rule"]
    assert line.key == "C-MASS"
    assert line.why.startswith("C-MASS.slack: it does not exist here")
    assert [each.judge for each in content.rules] == [
        "C-LEVER.torque",
        "C-LEVER.dead",
        "C-MASS.slack",
    ]


def test_changes_are_counted_from_the_baseline_before(settled: Session) -> None:
    assert packed(settled).changes == ()
    set_values(settled, {"load": "150 N"}, "The sheet was wrong")
    content = packed(settled, "G2")
    assert (content.cover.previous, content.cover.previous_revision) == ("G1-1", 4)
    told = [(each.consequence, each.kind, each.key) for each in content.changes]
    assert told == [
        ("broken", "decision", "D-ARM"),
        ("missed", "requirement", "R-TORQUE"),
        ("changed", "quantity", "load"),
        ("changed", "quantity", "torque"),
        ("new", "baseline", "G1-1"),
    ]
    reasons = {each.key: [line.reason for line in each.reasons] for each in content.changes}
    assert reasons["torque"] == ["The sheet was wrong"]
    assert content.changes[0].reasons[0].what == ("load: 100 N → 150 N (guess)",)


def test_signatures_are_asked_for(settled: Session) -> None:
    roles = [each.role for each in packed(settled).signatures]
    assert roles == ["Prepared by", "Reviewed by", "Responsible engineer", "Gate authority"]


def test_hidden_characters_are_spelt_out(settled: Session) -> None:
    amend_item(settled, "D-ARM", {"question": "How long\u202e?"}, "x")
    assert page_of(packed(settled), "D-ARM").question == "How long<U+202E>?"


def test_an_open_decision_freezes_too(small: Session) -> None:
    page = page_of(packed(small), "D-ARM")
    assert (page.state, page.standing, page.chosen) == ("open", "unproven", "")
    assert page.headroom == ()
    assert [each.chosen for each in page.options] == [False, False, False]
    lean(small, "D-ARM", "long")
    assert page_of(packed(small), "D-ARM").options[1].chosen
