"""What became of every item between two revisions, and the reasons behind it."""

from __future__ import annotations

import pytest

from tests.unit.services.gate_world import action, deviation, id_of, put, risk
from tracker.errors import UnknownRevisionError
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    reopen,
    review,
    set_values,
    settle,
    withdraw,
)
from tracker.services.causes import Causes
from tracker.services.change_views import CONSEQUENCES, ItemChange
from tracker.services.gates.freezing import freeze_gate
from tracker.services.journal import compare, revision_named
from tracker.services.packs.trace import Trace
from tracker.services.session import Session


def told(session: Session, earlier: int, later: int | None = None) -> dict[str, ItemChange]:
    found = compare(session, earlier, session.head.revision if later is None else later).items
    ranks = [CONSEQUENCES.index(each.consequence) for each in found]
    assert ranks == sorted(ranks)
    return {each.key: each for each in found}


def test_a_value_that_mends_restores(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    set_values(settled, {"load": "100 N"}, "back")
    found = told(settled, 5)
    assert {key: each.consequence for key, each in found.items()} == {
        "D-ARM": "restored",
        "R-TORQUE": "restored",
        "load": "changed",
        "torque": "changed",
    }
    assert found["D-ARM"].what == ("D-ARM stands (was broken)", "D-ARM no longer shows a shift")
    assert [line.reason for line in found["torque"].reasons] == ["back"]


def test_a_value_that_moves_and_stays_met_only_changed(settled: Session) -> None:
    set_values(settled, {"load": "105 N"}, "weighed")
    found = told(settled, 4)
    assert found["R-TORQUE"].consequence == "changed"
    assert found["R-TORQUE"].what == (
        "R-TORQUE is met: 12.6 N*m against at most 16 N*m (was met at 12 N*m)",
    )
    assert found["D-ARM"].consequence == "shifted"


def test_what_shifts_a_decision_stands_beside_its_own_changes(small: Session) -> None:
    settle(small, "D-ARM", "short", "Short", {"long": "x", "later": "y"})
    set_values(small, {"load": "105 N"}, "weighed")
    found = told(small, 2)
    assert found["D-ARM"].consequence == "shifted"
    assert [line.reason for line in found["D-ARM"].reasons] == ["Short", "weighed"]
    assert found["D-ARM"].reasons[1].what == ("load: 100 N → 105 N (guess)",)


def test_a_review_says_that_nothing_shows_any_more(settled: Session) -> None:
    set_values(settled, {"load": "105 N"}, "weighed")
    review(settled, "D-ARM", "Still fine")
    found = told(settled, 5)
    assert found["D-ARM"].consequence == "changed"
    assert found["D-ARM"].what[-1] == "D-ARM no longer shows a shift"


def test_what_becomes_unknown_says_why(settled: Session) -> None:
    reopen(settled, "D-ARM", "again")
    lean(settled, "D-ARM", "later", "wait")
    found = told(settled, 4)
    assert found["D-ARM"].consequence == "unproven"
    assert found["R-TORQUE"].consequence == "unknown"
    assert found["R-TORQUE"].what == (
        "R-TORQUE is unknown: no value against at most 16 N*m (was met at 12 N*m)",
    )
    assert [line.reason for line in found["R-TORQUE"].reasons] == ["again", "wait"]
    assert found["arm"].what == ("arm: 120 mm → unknown mm (decision D-ARM)",)


def test_what_is_new_comes_with_its_verdict(settled: Session) -> None:
    new = {
        "kind": "requirement",
        "key": "R-NEW",
        "statement": "It turns easily",
        "quantity": "torque",
        "upper": "10 N*m",
    }
    add_items(settled, [new, {**new, "key": "R-EASY", "upper": "90 N*m"}], "asked for")
    found = told(settled, 4)
    assert (found["R-NEW"].consequence, found["R-NEW"].what) == (
        "missed",
        ("new requirement R-NEW", "R-NEW is missed: 12 N*m against at most 10 N*m"),
    )
    assert (found["R-EASY"].consequence, found["R-EASY"].what) == (
        "new",
        ("new requirement R-EASY",),
    )
    back = told(settled, 5, 4)
    assert back["R-NEW"].consequence == "gone"


def test_a_withdrawn_decision_and_one_that_was_settled_since(small: Session) -> None:
    settle(small, "D-ARM", "long", "Stiffer", {"short": "x", "later": "y"})
    withdraw(small, "D-MASS", "not asked any more")
    found = told(small, 2)
    assert found["D-MASS"].what == ("D-MASS is withdrawn",)
    assert found["D-ARM"].what == (
        "D-ARM settled on long",
        "D-ARM is strained: R-TORQUE is tight (was unproven)",
    )
    assert found["D-ARM"].consequence == "changed"


def test_a_rule_is_told_of_its_check_when_its_verdict_changes(settled: Session) -> None:
    set_values(settled, {"load": "5 N"}, "nothing hangs on it")
    found = told(settled, 4)
    assert found["C-LEVER"].what == (
        "C-LEVER.torque is missed: 0.6 N*m against at least 1 N*m (was met at 12 N*m)",
    )
    assert found["C-LEVER"].title == "Torque of the arm"


def test_a_point_that_moved_is_found_behind_its_component(settled: Session) -> None:
    set_values(settled, {"hub.z": "280 mm"}, "lowered")
    found = told(settled, 4)
    assert found["R-HUB"].consequence == "missed"
    assert [line.reason for line in found["R-HUB"].reasons] == ["lowered"]


def test_one_change_of_several_causes_is_one_reason(settled: Session) -> None:
    set_values(settled, {"load": "105 N", "R-TORQUE.lower": "2 N*m"}, "both")
    (line,) = told(settled, 4)["R-TORQUE"].reasons
    assert (line.revision, line.reason, len(line.what)) == (5, "both", 2)


def test_a_binding_that_changed_is_a_cause_too(settled: Session) -> None:
    inputs = {"force": "load", "arm": "arm", "angle": {"value": "80 deg"}}
    amend_item(settled, "C-LEVER", {"inputs": inputs}, "at an angle")
    found = told(settled, 4)
    assert [line.reason for line in found["torque"].reasons] == ["at an angle"]
    assert [line.reason for line in found["R-TORQUE"].reasons] == ["at an angle"]


def test_a_bound_a_check_reads_is_a_cause(settled: Session) -> None:
    set_values(settled, {"R-CELL.upper": "1.5 kg"}, "weaker hands")
    found = told(settled, 4)
    assert found["C-MASS"].what[0].startswith("C-MASS.slack is missed")
    causes = Causes(settled, lambda each: each == id_of(settled, "R-CELL"))
    record = settled.programme.find("C-MASS")
    assert record is not None
    assert causes.of(record) == (id_of(settled, "R-CELL"),)


def test_a_trace_knows_no_revision_of_what_never_was(settled: Session) -> None:
    assert Trace(settled).record("nobody") == 0
    assert Trace(settled).lines("nobody") == ()


def test_a_revision_goes_by_number_baseline_or_gate(settled: Session) -> None:
    with pytest.raises(UnknownRevisionError, match="nothing was frozen"):
        revision_named(settled, "G1")
    freeze_gate(settled, "G1")
    set_values(settled, {"load": "105 N"}, "weighed")
    freeze_gate(settled, "G1", "again")
    assert revision_named(settled, "3") == 3
    assert revision_named(settled, "G1-1") == 4
    assert revision_named(settled, "G1") == 6
    for name in ("R-TORQUE", "x", "-1", "12345678901"):
        with pytest.raises(UnknownRevisionError, match="no revision, baseline or gate"):
            revision_named(settled, name)


def test_every_kind_of_item_says_what_it_is_about(settled: Session) -> None:
    put(settled, deviation(settled, "R-TORQUE", "G2"), action(settled, "G1"), risk(settled, "G1"))
    freeze_gate(settled, "G1", "x")
    found = told(settled, 4)
    assert {key: each.title for key, each in found.items()} == {
        "DEV-1": "A little",
        "A-1": "Weigh the arm",
        "RISK-1": "The tool is late",
        "G1-1": "revision 5",
    }
    assert {each.consequence for each in found.values()} == {"new"}
