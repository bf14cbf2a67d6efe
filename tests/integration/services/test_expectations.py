"""What a chassis engineer may rely on, each shown on a real store."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.unit.services.small import AGAINST, Document, near
from tracker.errors import (
    CycleError,
    DecisionError,
    DimensionError,
    InputError,
    StaleChangeError,
    StoreUnreachableError,
    StoreWriteError,
    UndoConflictError,
    UnknownKeyError,
)
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Absent, Unknown
from tracker.model.records import Basis, BasisKind, CheckUse, Quantity
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    reopen,
    review,
    set_values,
    settle,
    try_values,
    undo,
    withdraw,
)
from tracker.services.documents import document_of
from tracker.services.item import item_page
from tracker.services.journal import compare, journal_page
from tracker.services.overview import KINDS, listing, overview
from tracker.services.session import Session, past
from tracker.store.open import open_store


def value(session: Session, key: str) -> Any:  # noqa: ANN401 - a Value
    return item_page(session, key).value


def line(session: Session, key: str) -> tuple[str, bool]:
    found = next(each for each in overview(session).decisions if each.key == key)
    return found.standing, found.shifted


def assert_current(session: Session) -> None:
    """Compare everything shown with a programme computed from scratch, to the bit."""
    engine = Engine(session.tools.catalogue, session.programme.copy())
    ours, scratch = session.engine.state, engine.state
    places = {key: slot for slot, key in enumerate(engine.graph.keys)}
    for key, held in zip(session.engine.graph.keys, ours.slots, strict=True):
        fresh = scratch.slots[places[key]]
        if isinstance(held, np.ndarray):
            assert isinstance(fresh, np.ndarray)
            assert held.tobytes() == fresh.tobytes(), key
        else:
            assert held == fresh, key
    assert ours.findings == scratch.findings
    assert ours.standings == scratch.standings
    assert ours.shifts == scratch.shifts


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


# Any two revisions compare in words.


def test_any_two_revisions_compare(ann: Session) -> None:
    set_values(ann, {"load": "150 N"}, "heavier")
    undo(ann)
    last = ann.head.revision
    for earlier in range(last + 1):
        for later in range(last + 1):
            told = compare(ann, earlier, later)
            same = overview(past(ann, earlier)).decisions == overview(past(ann, later)).decisions
            assert bool(told.standings or told.look) <= (not same)
            assert all(what for each in told.items for what in each.what)
    assert compare(ann, 4, last).items == ()
    assert compare(ann, 4, last - 1).items[0].what == ("load: 100 N → 150 N (guess)",)


# Undo is everywhere and is itself in the history.


@pytest.mark.parametrize(
    "action",
    [
        lambda session: set_values(session, {"load": "1 N", "hub.x": "5"}, "x"),
        lambda session: set_values(session, {"R-TORQUE.upper": "1 N*m"}, "x"),
        lambda session: reopen(session, "D-ARM", "x"),
        lambda session: withdraw(session, "D-ARM", "x"),
        lambda session: amend_item(session, "D-ARM", {"key": "ARM", "owner": "Y"}, "x"),
        lambda session: amend_item(session, "C-MASS", {"inputs": {"parts": "parts"}}, "x"),
        lambda session: add_items(
            session, [{"kind": "quantity", "key": "q", "title": "Q", "value": 1}], "x"
        ),
    ],
    ids=["values", "bound", "reopen", "withdraw", "amend", "rebind", "add"],
)
def test_every_change_can_be_undone_and_done_again(ann: Session, action: Any) -> None:  # noqa: ANN401 - a table of actions
    before = {each.key: each for each in ann.programme}
    action(ann)
    after = {each.key: each for each in ann.programme}
    assert after != before
    undo(ann)
    assert {each.key: each for each in ann.programme} == before
    assert_current(ann)
    undo(ann, ann.head.revision)
    assert {each.key: each for each in ann.programme} == after
    assert_current(ann)
    lines = journal_page(ann).lines
    assert [each.undoes for each in lines[:3]] == [6, 5, 0]
    assert all(each.author == "Ann" and each.what for each in lines)
    assert ann.store.audit(ann.head.hash).ok


# Two engineers never overwrite each other silently.


def test_a_page_drawn_before_is_not_written_over_what_came_since(
    ann: Session, bob: Session
) -> None:
    """Bob's session merges Ann's change with his own; his screen still shows the old load."""
    page = item_page(bob, "load")
    set_values(ann, {"load": "120 N"}, "Ann weighed it")
    set_values(bob, {"tread": "1400 mm"}, "Bob measured it")
    with pytest.raises(StaleChangeError) as caught:
        set_values(bob, {"load": "80 N"}, "Bob thinks", based_on=page.revision)
    assert caught.value.exit_code == 3
    assert value(bob, "load") == 120.0
    set_values(bob, {"load": "80 N"}, "Bob has seen it", based_on=item_page(bob, "load").revision)
    assert value(bob, "load") == 80.0


def test_a_stale_change_names_both_and_loses_nothing(ann: Session, bob: Session) -> None:
    set_values(ann, {"load": "120 N"}, "Ann weighed it")
    with pytest.raises(StaleChangeError) as caught:
        set_values(bob, {"load": "80 N"}, "Bob thinks")
    for words in ("Ann", "Ann weighed it", "100 N → 120 N", "100 N → 80 N", "revision 5"):
        assert words in str(caught.value)
    assert ann.store.head().revision == 5
    bob.refresh()
    set_values(bob, {"load": "80 N"}, "Bob insists")
    ann.refresh()
    assert value(ann, "load") == 80.0
    assert [each.author for each in item_page(ann, "load").history] == ["Ann", "Ann", "Bob"]


def test_two_innocent_changes_that_close_a_ring_are_refused(ann: Session, bob: Session) -> None:
    lengths: list[Document] = [
        {"kind": "quantity", "key": key, "title": key, "unit": "mm"} for key in ("p", "q")
    ]
    add_items(ann, lengths, "lengths")
    bob.refresh()

    def relay(key: str, source: str, target: str) -> Document:
        ports = {"inputs": {"x": source}, "outputs": {"y": target}}
        return {"kind": "check", "key": key, "check": "relay", "decision": "D-ARM", **ports}

    add_items(ann, [relay("C-1", "p", "q")], "q follows p")
    with pytest.raises(CycleError):
        add_items(bob, [relay("C-2", "q", "p")], "p follows q")
    assert ann.store.head().revision == 6
    assert_current(bob)
    assert ann.store.audit().ok


def test_a_locked_store_says_so_and_keeps_everything(ann: Session, bob: Session) -> None:
    with ann.store.writing():
        before = overview(bob)
        with pytest.raises(StoreUnreachableError):
            set_values(bob, {"load": "80 N"}, "meanwhile")
        assert overview(bob) == before
    set_values(bob, {"load": "80 N"}, "now")
    assert value(bob, "load") == 80.0


# Acknowledged means durable; a failed write leaves everything as it was.


def test_a_full_disk_refuses_the_change_and_leaves_all_as_it_was(ann: Session, place: Path) -> None:
    before = overview(ann)
    raw = sqlite3.connect(place)
    raw.execute(
        "CREATE TRIGGER full BEFORE INSERT ON journal_change "
        "BEGIN SELECT RAISE(ABORT, 'disk full'); END"
    )
    raw.commit()
    with pytest.raises(StoreWriteError):
        set_values(ann, {"load": "150 N"}, "heavier")
    assert overview(ann) == before
    assert_current(ann)
    raw.execute("DROP TRIGGER full")
    raw.commit()
    raw.close()
    set_values(ann, {"load": "150 N"}, "heavier")
    assert ann.store.audit().ok


def test_a_programme_opens_again_as_it_was_left(ann: Session, place: Path) -> None:
    set_values(ann, {"load": "150 N", "parts[arm].mass": "1e-3 t"}, "heavier")
    pages = {each.key: item_page(ann, each.key) for each in ann.programme}
    again = Session(open_store(place), ann.tools, "Ann")
    assert {each.key: item_page(again, each.key) for each in again.programme} == pages
    assert overview(again) == overview(ann)
    again.store.close()


def test_every_past_revision_shows_what_it_showed_then(ann: Session) -> None:
    shown = {ann.head.revision: overview(ann)}
    for load in ("150 N", "", "90 N"):
        set_values(ann, {"load": load}, "step")
        shown[ann.head.revision] = overview(ann)
    assert {revision: overview(past(ann, revision)) for revision in shown} == shown


# Read models carry their revision and nothing of the inside.


def test_pages_are_plain_frozen_data_with_their_revision(ann: Session) -> None:
    pages: list[Any] = [
        overview(ann),
        *(listing(ann, kind) for kind in KINDS),
        *(item_page(ann, each.key) for each in ann.programme),
        try_values(ann, {"load": "1 N"}),
        journal_page(ann),
    ]
    for page in pages:
        assert page.revision == 4
        with pytest.raises(AttributeError):
            page.revision = 5
        assert_plain(asdict(page))


def assert_plain(plain: object) -> None:
    if isinstance(plain, dict):
        for each in plain.values():
            assert_plain(each)
    elif isinstance(plain, list | tuple):
        for each in plain:
            assert_plain(each)
    else:
        assert isinstance(plain, str | int | float | bool | None), type(plain)
        assert not isinstance(plain, np.generic | Unknown | Absent)


def test_what_is_exported_builds_the_same_programme(ann: Session, tmp_path: Path) -> None:
    from tracker.bootstrap import make_programme

    set_values(ann, {"hub.x": "1 cm"}, "measured")
    told = [document_of(ann.programme, each) for each in ann.programme if each.key != "programme"]
    twin = make_programme(
        tmp_path / "twin.db", "Small", "EUR", who="Bob", with_tools=replace(ann.tools)
    )
    add_items(twin, told, "import")
    again = [
        document_of(twin.programme, each) for each in twin.programme if each.key != "programme"
    ]
    assert sorted(again, key=str) == sorted(told, key=str)
    mine, theirs = overview(ann), overview(twin)
    assert {each.key: each for each in theirs.requirements} == {
        each.key: each for each in mine.requirements
    }
    assert {each.key: each.standing for each in theirs.decisions} == {
        each.key: each.standing for each in mine.decisions
    }
    assert twin.programme.named("C-LEVER", CheckUse).plugin == "lever"
    assert twin.programme.named("hub", Quantity).given is not None
    twin.store.close()


def test_the_rejected_option_can_be_taken_after_all(ann: Session) -> None:
    reopen(ann, "D-ARM", "the supplier went away")
    settle(ann, "D-ARM", "long", "It reaches", {**AGAINST, "short": "Not made any more"})
    assert line(ann, "D-ARM") == ("strained", False)
    assert line(ann, "D-MASS") == ("stands", True)
