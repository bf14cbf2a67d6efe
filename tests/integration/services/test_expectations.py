"""What a chassis engineer may rely on, each shown on a real store."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from tests.integration.services.watching import assert_current, line, value
from tests.unit.services.small import Document, near
from tracker.errors import (
    DecisionError,
    DimensionError,
    InputError,
    UndoConflictError,
    UnknownKeyError,
)
from tracker.model.records import Basis, BasisKind
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    reopen,
    review,
    set_values,
    settle,
    undo,
    withdraw,
)
from tracker.services.item import item_page
from tracker.services.journal import compare
from tracker.services.overview import listing, overview
from tracker.services.session import Session, past
from tracker.store.open import open_store

# No stale value ever shows as current.


def test_after_every_kind_of_change_all_that_shows_is_current(ann: Session) -> None:
    steps: list[Callable[[], object]] = [
        lambda: set_values(ann, {"load": "130 N"}, "heavier"),
        lambda: set_values(ann, {"load": ""}, "lost"),
        lambda: set_values(ann, {"load": "90 N"}, "found"),
        lambda: set_values(ann, {"parts[arm].mass": "3 kg", "hub.z": "320"}, "moved"),
        lambda: set_values(ann, {"R-CELL.upper": "4 kg"}, "agreed"),
        lambda: amend_item(ann, "load", {"key": "pull"}, "renamed"),
        lambda: reopen(ann, "D-ARM", "news"),
        lambda: lean(ann, "D-ARM", "later"),
        lambda: lean(ann, "D-ARM", "long"),
        lambda: amend_item(ann, "C-MASS", {"inputs": {"parts": "parts"}}, "no limit"),
        lambda: withdraw(ann, "D-ARM", "gone"),
        lambda: undo(ann),
        lambda: undo(ann, 5),
    ]
    for step in steps:
        with suppress(UndoConflictError):
            step()
        assert_current(ann)


def test_a_failed_check_never_leaves_its_old_result_standing(ann: Session) -> None:
    documents: list[Document] = [
        {"kind": "quantity", "key": "x", "title": "X", "unit": "mm", "value": 4},
        {"kind": "quantity", "key": "root", "title": "R"},
        {"kind": "requirement", "key": "R-X", "statement": "S", "quantity": "root", "upper": 3},
        {
            "kind": "check",
            "key": "C-X",
            "check": "fickle",
            "decision": "D-MASS",
            "inputs": {"x": "x"},
            "outputs": {"root": "root"},
        },
    ]
    add_items(ann, documents, "a check that can fail")
    assert value(ann, "root") == near(2.0)
    for bad in ("-1", "500", ""):
        set_values(ann, {"x": bad}, "out of range")
        assert value(ann, "root") is None
        assert item_page(ann, "R-X").sign == "unknown"
        assert line(ann, "D-MASS")[0] == "unproven"
        assert_current(ann)


def test_what_another_engineer_stored_shows_after_a_refresh_as_computed_anew(
    ann: Session, bob: Session
) -> None:
    set_values(bob, {"load": "150 N"}, "weighed")
    ann.refresh()
    assert value(ann, "torque") == near(18.0)
    assert overview(ann).revision == 5
    assert_current(ann)


# One edit settles everything.


def test_one_edit_settles_everything(ann: Session) -> None:
    done = set_values(ann, {"load": "150 N"}, "heavier")
    assert done.ripple.broken == ("D-ARM",)
    assert value(ann, "torque") == near(18.0)
    assert item_page(ann, "R-TORQUE").sign == "missed"
    assert line(ann, "D-ARM") == ("broken", True)
    assert [each.key for each in overview(ann).due] == ["D-ARM", "R-TORQUE"]
    assert_current(ann)


def test_an_edit_of_one_option_reaches_every_page(ann: Session) -> None:
    reopen(ann, "D-ARM", "a longer arm")
    set_values(ann, {"D-ARM/short.arm": "15 cm"}, "longer")
    assert value(ann, "arm") == 150.0
    assert value(ann, "torque") == near(15.0)
    assert item_page(ann, "D-ARM").options[0].standing == "strained"
    assert line(ann, "D-MASS") == ("stands", True)


# Every number has a unit, and mixing dimensions is an error.


def test_every_number_shown_has_its_unit(ann: Session) -> None:
    for row in listing(ann, "quantity").lines:
        page = item_page(ann, row.key)
        if isinstance(page.value, float) and page.unit:
            assert f" {page.unit}" in row.text
            assert dict(page.facts)["value"].endswith(f" {page.unit}")
    for requirement in overview(ann).requirements:
        found = requirement.finding
        if found.unit:
            assert found.required.endswith(found.unit)
            assert f" {found.unit} (" in found.distance_text


@pytest.mark.parametrize(
    "action",
    [
        lambda session: set_values(session, {"load": "5 mm"}, "x"),
        lambda session: set_values(session, {"hub.x": "5 N"}, "x"),
        lambda session: set_values(session, {"parts[arm].mass": "5 N"}, "x"),
        lambda session: set_values(session, {"R-TORQUE.upper": "5 N"}, "x"),
        lambda session: set_values(session, {"R-TORQUE.guard": "5 N"}, "x"),
        lambda session: set_values(session, {"load": "5 EUR"}, "x"),
        lambda session: amend_item(session, "load", {"tolerance": "1 mm"}, "x"),
        lambda session: amend_item(
            session, "C-LEVER", {"inputs": {"force": "arm", "arm": "arm"}}, "x"
        ),
        lambda session: amend_item(session, "C-LEVER", {"outputs": {"torque": "mass"}}, "x"),
    ],
)
def test_mixing_dimensions_is_an_error(ann: Session, action: Any) -> None:  # noqa: ANN401 - a table of actions
    head = ann.head
    with pytest.raises(InputError) as caught:
        action(ann)
    assert isinstance(caught.value, DimensionError) or "two sources" in str(caught.value)
    assert caught.value.exit_code == 2
    assert ann.store.head() == head


def test_units_of_one_dimension_convert_and_money_never_does(ann: Session) -> None:
    set_values(ann, {"load": "0.0001 MN"}, "another unit")
    assert value(ann, "load") == near(100.0)
    price = {"kind": "quantity", "key": "price", "title": "P", "unit": "EUR", "value": "5 EUR"}
    add_items(ann, [price], "money")
    with pytest.raises(DimensionError):
        set_values(ann, {"price": "5 USD"}, "x")


# Every verdict explains itself down to its inputs.


def test_every_verdict_leads_down_to_what_was_given(ann: Session) -> None:
    """Follow the links upstream from a verdict: each ends in given values with their basis."""
    given: set[str] = set()
    seen: set[str] = set()
    queue = ["R-TORQUE", "R-MASS", "R-CELL"]
    while queue:
        key = queue.pop()
        if key in seen:
            continue
        seen.add(key)
        page = item_page(ann, key)
        assert page.history[0].author == "Ann"
        up = [each.key for each in page.upstream if each.kind in ("quantity", "check", "decision")]
        queue += up
        if page.kind == "quantity" and not up:
            assert dict(page.facts)["basis"]
            given.add(key)
        if page.kind == "decision" and page.options:
            assert dict(page.paragraphs)["rationale"]
    assert {"load", "parts", "side", "hub"} <= given


def test_an_unknown_names_its_first_cause_all_the_way_down(ann: Session) -> None:
    set_values(ann, {"load": ""}, "lost")
    for key in ("torque", "C-LEVER", "R-TORQUE", "D-ARM"):
        page = item_page(ann, key)
        said = repr(page.facts) + repr([each.reason for each in page.findings])
        assert "load: taken away" in said, key


# Every value answers who, when, why, and on what basis.


def test_every_value_answers_who_when_why_and_on_what_basis(ann: Session, bob: Session) -> None:
    basis = Basis(kind=BasisKind.MEASURED, source="Rig 4, run 12", dated="2031-01-10")
    set_values(bob, {"load": "104 N"}, "the rig says so", basis)
    ann.refresh()
    page = item_page(ann, "load")
    facts, last = dict(page.facts), page.history[-1]
    assert (facts["basis"], facts["from"], facts["dated"], facts["typed as"]) == (
        "measured",
        "Rig 4, run 12",
        "2031-01-10",
        "104 N",
    )
    assert (last.author, last.at, last.reason) == (
        "Bob",
        "2031-01-15T08:00:00Z",
        "the rig says so",
    )
    assert last.what == ("load: 100 N → 104 N (measured, Rig 4, run 12)",)
    option = item_page(ann, "D-ARM").options[0].settings[0]
    assert (option.text, option.basis, option.source) == ("120 mm", "calculated", "Sketch 3")


# A broken link is loud, never a silent zero.


def test_a_link_to_nothing_is_refused(ann: Session) -> None:
    for fields in ({"inputs": {"force": "no", "arm": "arm"}}, {"outputs": {"torque": "no"}}):
        with pytest.raises(UnknownKeyError, match="nothing is called 'no'"):
            amend_item(ann, "C-LEVER", fields, "x")


def test_a_row_or_a_check_that_went_away_leaves_unknown_with_its_reason(ann: Session) -> None:
    set_values(ann, {"parts": [["stop L/R", 0.2, 4, False]]}, "the arm is gone")
    finding = item_page(ann, "R-CELL").findings[0]
    assert (finding.verdict, finding.value) == ("unknown", None)
    assert finding.reason == "parts: it has no row 'arm'"
    amend_item(ann, "C-MASS", {"inputs": {"parts": "parts", "limit": "R-CELL.lower"}}, "x")
    assert item_page(ann, "C-MASS").sign == "waiting"
    assert "no lower bound" in dict(item_page(ann, "C-MASS").facts)["state"]
    assert value(ann, "mass") is None


# Renaming breaks nothing.


def test_renaming_everything_breaks_nothing(ann: Session, place: Path) -> None:
    before = overview(ann)
    for record in list(ann.programme):
        amend_item(ann, record.key, {"key": f"new_{record.key}"}, "a new scheme")
    after = overview(ann)
    assert [each.finding.margin for each in after.requirements] == [
        each.finding.margin for each in before.requirements
    ]
    assert [(each.standing, each.shifted) for each in after.decisions] == [
        (each.standing, each.shifted) for each in before.decisions
    ]
    set_values(ann, {"new_load": "150 N"}, "heavier")
    assert line(ann, "new_D-ARM") == ("broken", True)
    assert compare(ann, 4, ann.head.revision).standings[0].decision == "new_D-ARM"
    assert overview(past(ann, 4)) == before
    again = Session(open_store(place), ann.tools, "Ann")
    assert overview(again) == overview(ann)
    assert again.store.audit(ann.head.hash).ok
    again.store.close()


# A decision cannot settle without a rationale and a reason against each rejected option.


def test_a_decision_cannot_settle_without_its_why(ann: Session) -> None:
    reopen(ann, "D-MASS", "again")
    for why, against in (("", {"forged": "x"}), ("Cheaper", {}), ("Cheaper", {"forged": " "})):
        with pytest.raises(DecisionError):
            settle(ann, "D-MASS", "cast", why, against)
    settle(ann, "D-MASS", "cast", "Cheaper", {"forged": "Too dear"})
    assert dict(item_page(ann, "D-MASS").paragraphs) == {
        "rationale": "Cheaper",
        "against forged": "Too dear",
    }


# A settled decision whose ground moved says so by itself; returning to the footing clears it.


@pytest.mark.parametrize(
    ("away", "back", "decision"),
    [
        ({"load": "101 N"}, {"load": "100 N"}, "D-ARM"),
        ({"R-TORQUE.upper": "17 N*m"}, {"R-TORQUE.upper": "16000 N*mm"}, "D-ARM"),
        ({"R-TORQUE.guard": "0.2"}, {"R-TORQUE.guard": "0.1"}, "D-ARM"),
        ({"parts[arm].count": "3"}, {"parts[arm].count": "2"}, "D-MASS"),
        ({"R-CELL.upper": "2.5 kg"}, {"R-CELL.upper": "2 kg"}, "D-MASS"),
        ({"side": "right"}, {"side": "left"}, "D-MASS"),
        ({"hub.y": "601"}, {"hub.y": "600"}, "D-MASS"),
    ],
)
def test_a_decision_says_that_its_ground_moved_until_it_is_back(
    ann: Session, away: dict[str, object], back: dict[str, object], decision: str
) -> None:
    others = {"D-ARM", "D-MASS"} - {decision}
    done = set_values(ann, away, "moved")
    assert done.ripple.look == (decision,)
    assert line(ann, decision)[1]
    assert item_page(ann, decision).shifts
    assert not any(line(ann, each)[1] for each in others)
    set_values(ann, back, "moved back")
    assert not line(ann, decision)[1]
    assert item_page(ann, decision).shifts == ()


def test_a_review_replaces_the_footing_and_undo_brings_it_back(ann: Session) -> None:
    set_values(ann, {"load": "101 N"}, "moved")
    review(ann, "D-ARM", "still fine")
    assert line(ann, "D-ARM") == ("stands", False)
    undo(ann)
    assert line(ann, "D-ARM") == ("stands", True)
