"""The form that logs a decision, and the pages of the journal read as one looks."""

from __future__ import annotations

import pytest
from textual.widgets import Input

from tests.tui.conftest import OpenApp, fixed_tools
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.services.actions import set_values
from tracker.services.session import Session
from tracker.tui.jobs import now_at, try_edits, try_item
from tracker.tui.screens.decision import DecisionScreen, KeySuggester
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.journal import JournalScreen
from tracker.tui.widgets.field import Field

SIZE = (100, 50)


async def type_into(pilot: Driver, name: str, text: str) -> None:
    field = {each.name: each for each in pilot.app.screen.query(Field)}[name]
    field.take_focus()
    await pilot.pause()
    await type_text(pilot, text)


async def test_options_get_a_field_for_each_quantity_set(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "n")
        await type_into(pilot, "key", "D-LIFE")
        await press(pilot, "tab")
        await type_text(pilot, "How long")
        await type_into(pilot, "sets", "volume, years")
        await press(pilot, "enter")
        assert seen(pilot).count("volume =") == 2
        assert seen(pilot).count("years =") == 2
        await type_into(pilot, "1 value years", "7 mm")
        field = {each.name: each for each in pilot.app.screen.query(Field)}
        await type_into(pilot, "1 key", "short")
        assert field["1 value years"].has_class("wrong")
        assert "does not measure the same thing" in seen(pilot)
        await type_into(pilot, "sets", "")
        await pilot.press("ctrl+u")
        await type_text(pilot, "years")
        await press(pilot, "enter")
        assert "volume =" not in seen(pilot)


async def test_a_third_option_and_a_draft_that_stays(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        await type_into(pilot, "key", "D-8")
        await press(pilot, "ctrl+o")
        assert "Option 3" in seen(pilot)
        await type_text(pilot, "third")
        await press(pilot, "escape")
        page(pilot, HomeScreen)
        await press(pilot, "n")
        assert "Option 3" in seen(pilot)
        assert "third" in seen(pilot)
        await press(pilot, "ctrl+r")
        assert "The draft is dropped" in seen(pilot)
        await press(pilot, "n")
        assert "third" not in seen(pilot)


async def test_storing_what_is_not_finished_says_what_is_missing(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        await type_into(pilot, "key", "COST-1")
        await press(pilot, "ctrl+s")
        page(pilot, DecisionScreen)
        assert "the key is taken" in seen(pilot)
        await type_into(pilot, "key", "D-8")
        await type_into(pilot, "serves", "NOPE")
        await press(pilot, "ctrl+s")
        assert "it is missing. Fill it in" in seen(pilot)  # the question
        field = {each.name: each for each in pilot.app.screen.query(Field)}["serves"]
        assert field.value == "NOPE"


async def test_keys_are_completed_as_one_types(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        await type_into(pilot, "serves", "COST-2, STE")
        await pilot.pause(0.1)
        entry = {each.name: each for each in pilot.app.screen.query(Field)}["serves"]
        assert entry.query_one(Input)._suggestion == "COST-2, STEER-1"
        await press(pilot, "right")
        assert entry.value == "COST-2, STEER-1"


async def test_nothing_begun_suggests_nothing() -> None:
    assert await KeySuggester("gate").get_suggestion("G1, ") is None
    assert await KeySuggester("gate").get_suggestion("G") is None


async def test_a_long_journal_is_read_as_one_looks(make_app: OpenApp, other: Session) -> None:
    for number in range(430):
        set_values(other, {"volume": str(5000 + number)}, f"step {number}")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "j")
        screen = page(pilot, JournalScreen)
        assert len(screen._read) == 200
        assert len(screen.roll()._lines) == 436
        await press(pilot, "end")
        await settled(pilot)
        assert "create the programme" in seen(pilot)
        assert len(screen._read) < 436 + 1
        await press(pilot, "home", "slash")
        await type_text(pilot, "step 17")
        await settled(pilot)
        await settled(pilot)
        found = screen.query_one("Finder Static.count")
        assert len(screen._read) == 436
        assert "step 17" in seen(pilot)
        assert found is not None


async def test_a_change_not_read_yet_does_not_open(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "j")
        screen = page(pilot, JournalScreen)
        screen._read.clear()
        screen._asked.update(range(0, 1000, 200))
        screen._fill(keep=True)
        await settled(pilot)
        await press(pilot, "enter")
        page(pilot, JournalScreen)


async def test_picking_moves_round(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "d", "enter", "s", "left")
        assert "[aft]" in seen(pilot)
        assert app_of(pilot).draft("settle D-GEAR") == {"option": "aft"}
        assert "Against aft" not in seen(pilot)
        assert "Against ahead" in seen(pilot)


def test_jobs_leave_out_what_is_not_there(other: Session) -> None:
    assert now_at(other, ("gone", "volume", "COST-1.upper", "parts[knuckle].set_cost")) == {
        "volume": "4000", "COST-1.upper": "400000", "parts[knuckle].set_cost": "78000",
    }  # fmt: skip


def test_a_trial_of_nothing_is_nothing(other: Session) -> None:
    tried = try_edits(other, {})
    assert tried.ripple is None
    assert not tried.errors


def test_edits_that_only_clash_together_blame_none_alone(other: Session) -> None:
    tried = try_edits(other, {"STEER-1.lower": "-0.35", "STEER-1.upper": "-0.5"})
    assert tried.ripple is None
    assert set(tried.errors) == {"STEER-1.upper"} or "" in tried.errors


def test_a_new_item_is_tried_without_being_stored(other: Session) -> None:
    document = {"kind": "decision", "key": "D-9", "question": "?", "options": []}
    assert try_item(other, document) is None
    assert try_item(other, {**document, "key": "no key"}) is not None
    assert other.head.revision == 6


@pytest.mark.parametrize("key", ["G1", "C-TOOLS"])
async def test_items_without_values_say_so(make_app: OpenApp, key: str) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_item(key)
        await settled(pilot)
        await press(pilot, "e")
        assert "Cannot edit now: a" in seen(pilot)
        roll = page(pilot, ItemScreen).roll()
        assert roll.has_focus


def test_fixed_tools_repeat_themselves() -> None:
    one, two = fixed_tools(), fixed_tools()
    assert (one.clock(), one.ids()) == (two.clock(), two.ids())
