"""What a programme keeps: its history, everybody's changes, what was acknowledged."""

from __future__ import annotations

import sqlite3
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.integration.services.watching import assert_current, line, value
from tests.unit.services.small import AGAINST, Document
from tracker.errors import (
    CycleError,
    StaleChangeError,
    StoreUnreachableError,
    StoreWriteError,
)
from tracker.evaluate.slots import Absent, Unknown
from tracker.model.records import CheckUse, Quantity
from tracker.services.actions import (
    add_items,
    amend_item,
    reopen,
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
from tracker.services.views import ItemPage
from tracker.store.open import open_store

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
    what = {each.key: each.what for each in compare(ann, 4, last - 1).items}
    assert what["load"] == ("load: 100 N → 150 N (guess)",)
    assert what["R-TORQUE"][0].startswith("R-TORQUE is missed: 18 N*m")


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

    def pages(session: Session) -> dict[str, ItemPage]:
        """All pages, but for why a check last ran: that is a fact of the session."""
        every = (item_page(session, each.key) for each in session.programme)
        return {each.key: replace(each, ran=None) for each in every}

    left = pages(ann)
    again = Session(open_store(place), ann.tools, "Ann")
    assert pages(again) == left
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
