"""Writing items: forms for every kind, links by two keys, numbers that say what they mean."""

from __future__ import annotations

import pytest
from textual.widgets import Static

from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.model.records import Requirement
from tracker.services.actions import amend_item
from tracker.services.session import Session
from tracker.tui.blanks import KINDS_WRITTEN
from tracker.tui.screens.choose import ChooseScreen
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.writing import AddScreen, WritingScreen
from tracker.tui.widgets.field import Field, Labelled, LongField

SIZE = (110, 60)


def field(pilot: Driver, name: str) -> Field:
    return {each.name: each for each in pilot.app.screen.query(Field)}[name]


async def fill(pilot: Driver, name: str, text: str) -> None:
    every = [*pilot.app.screen.query(Field), *pilot.app.screen.query(LongField)]
    {each.name: each for each in every}[name].take_focus()
    await pilot.pause()
    await type_text(pilot, text)


def tail(pilot: Driver, name: str) -> str:
    return str(field(pilot, name).query_one(".tail", Static).render())


async def test_a_requirement_is_added_with_links_of_two_keys(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        page(pilot, AddScreen)
        await type_text(pilot, "requir")
        await press(pilot, "enter")
        page(pilot, WritingScreen)
        await fill(pilot, "key", "RIDE-2")
        await fill(pilot, "statement", "Stiff enough")
        field(pilot, "quantity").take_focus()
        await press(pilot, "enter")
        page(pilot, ChooseScreen)
        await type_text(pilot, "bush")
        await press(pilot, "enter")
        assert field(pilot, "quantity").value == "bush_rate"
        await fill(pilot, "lower", "900 N/mm")
        assert "= 0.9 kN/mm" in tail(pilot, "lower")
        assert "kN/mm" in tail(pilot, "upper")
        assert "changes no decision" in seen(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, HomeScreen)
        assert "RIDE-2" in seen(pilot)
    other.refresh()
    made = other.programme.find("RIDE-2")
    assert made is not None
    assert getattr(made, "lower").typed == "900 N/mm"  # noqa: B009 - any record


async def test_what_is_wrong_stands_beside_its_field_while_typing(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        await type_text(pilot, "requir")
        await press(pilot, "enter")
        await fill(pilot, "quantity", "bush_rate")
        await fill(pilot, "upper", "3 mm")
        await fill(pilot, "parents", "NOPE")
        wrong = {each.name for each in pilot.app.screen.query(Labelled) if each.has_class("wrong")}
        assert wrong == {"upper", "parents"}
        assert "does not measure the same thing" in seen(pilot)
        assert "Still missing: " in seen(pilot)
        await press(pilot, "ctrl+s")
        wrong = {each.name for each in pilot.app.screen.query(Labelled) if each.has_class("wrong")}
        assert "key" in wrong


async def test_amending_changes_what_was_touched_and_nothing_else(
    make_app: OpenApp, other: Session
) -> None:
    before = other.programme.find("COST-1")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_item("COST-1")
        await settled(pilot)
        await press(pilot, "a")
        page(pilot, WritingScreen)
        assert field(pilot, "upper").value == "400000 EUR"
        field(pilot, "owner").take_focus()
        await pilot.pause()
        await pilot.press("ctrl+u")
        await type_text(pilot, "tools desk")
        await press(pilot, "ctrl+s")
        assert "needs a reason" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, ItemScreen)
        await press(pilot, "a")
        assert field(pilot, "owner").value == "tools desk"
        await fill(pilot, "why", "they moved")
        await press(pilot, "ctrl+s")
        page(pilot, ItemScreen)
    other.refresh()
    after = other.programme.find("COST-1")
    assert after is not None
    assert before is not None
    names = [name for name in before.__slots__ if getattr(before, name) != getattr(after, name)]
    assert names == ["owner"]


@pytest.mark.parametrize("kind", KINDS_WRITTEN)
async def test_every_kind_has_its_form(make_app: OpenApp, kind: str) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        await type_text(pilot, kind)
        await press(pilot, "enter")
        form = pilot.app.screen
        assert isinstance(form, DecisionScreen if kind == "decision" else WritingScreen)
        assert "Key" in seen(pilot)


async def test_a_check_gets_a_field_for_every_port(make_app: OpenApp, other: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        await type_text(pilot, "check")
        await press(pilot, "enter")
        await fill(pilot, "key", "C-TWO")
        field(pilot, "check").take_focus()
        await press(pilot, "enter")
        await type_text(pilot, "tooling-b")
        await press(pilot, "enter")
        assert field(pilot, "inputs.volume_per_year")
        await fill(pilot, "decision", "D-TOOLS")
        await fill(pilot, "inputs.parts", "parts")
        await fill(pilot, "inputs.volume_per_year", "volume")
        await fill(pilot, "inputs.years", "= 6 year")
        assert "= 6 year" in tail(pilot, "inputs.years")
        await press(pilot, "ctrl+s")
        page(pilot, HomeScreen)
    other.refresh()
    assert other.programme.find("C-TWO") is not None


async def test_links_pile_up_where_there_may_be_several(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        await type_text(pilot, "action")
        await press(pilot, "enter")
        for key in ("volume", "COST-1", "volume"):
            field(pilot, "about").take_focus()
            await press(pilot, "enter")
            await type_text(pilot, key)
            await press(pilot, "enter")
        assert field(pilot, "about").value == "volume, COST-1"
        await press(pilot, "ctrl+t")
        assert "it has no key yet" in seen(pilot)
        await press(pilot, "ctrl+r")
        assert "The draft is dropped" in seen(pilot)


async def test_a_new_item_goes_into_the_trial(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        await type_text(pilot, "quantity")
        await press(pilot, "enter")
        await fill(pilot, "key", "preload")
        await fill(pilot, "title", "Preload")
        await fill(pilot, "unit", "N")
        await fill(pilot, "value", "1.5 kN")
        assert "= 1500 N" in tail(pilot, "value")
        await press(pilot, "ctrl+t")
        assert "new quantity" in seen(pilot)


async def test_another_decision_takes_the_place(make_app: OpenApp, other: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_item("D-BUSH")
        await settled(pilot)
        await press(pilot, "p", "enter")
        page(pilot, ChooseScreen)
        await type_text(pilot, "D-GEAR")
        await press(pilot, "enter")
        assert field(pilot, "new").value == "D-GEAR"
        await fill(pilot, "why", "one question")
        await press(pilot, "ctrl+s")
        page(pilot, ItemScreen)
    other.refresh()
    made = other.programme.find("D-BUSH")
    assert made is not None
    assert getattr(made, "superseded_by")  # noqa: B009 - any record


async def test_a_link_is_picked_by_mouse(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "A")
        await type_text(pilot, "risk")
        await press(pilot, "enter")
        await pilot.click(field(pilot, "gate").query_one(".tail"))
        await settled(pilot)
        page(pilot, ChooseScreen)
        await press(pilot, "enter")
        assert field(pilot, "gate").value == "G1"
        await pilot.click(field(pilot, "owner").query_one(".tail"))
        await settled(pilot)
        page(pilot, WritingScreen)


async def test_what_is_not_amended_says_so(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).go(WritingScreen("", "nothing"))
        await settled(pilot)
        page(pilot, HomeScreen)
        assert "nothing is called" in seen(pilot)
        app_of(pilot).open_item("years")
        await settled(pilot)
        await press(pilot, "a", "ctrl+s")
        page(pilot, WritingScreen)
        assert "Nothing is changed yet" in seen(pilot)
        await press(pilot, "ctrl+t")
        assert "e on its page tries its values" in seen(pilot)
        assert {each.name for each in pilot.app.screen.query(Field)}.isdisjoint({"unit", "choices"})


async def test_amending_a_check_keeps_its_bindings(make_app: OpenApp, other: Session) -> None:
    before = other.programme.find("C-SENSE")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_item("C-SENSE")
        await settled(pilot)
        await press(pilot, "a")
        assert field(pilot, "inputs.driver_side").value == "= left"
        assert field(pilot, "outputs.sense").value == "sense"
        await fill(pilot, "title", " now")
        await fill(pilot, "why", "clearer")
        await press(pilot, "ctrl+s")
        page(pilot, ItemScreen)
        await press(pilot, "a")
        field(pilot, "check").take_focus()
        await pilot.pause()
        await pilot.press("ctrl+e", "ctrl+u")
        await settled(pilot)
        assert not [each for each in pilot.app.screen.query(Field) if "." in str(each.name)]
    other.refresh()
    after = other.programme.find("C-SENSE")
    assert after is not None
    names = [name for name in after.__slots__ if getattr(before, name) != getattr(after, name)]
    assert names == ["title"]


async def test_a_page_is_copied_as_a_table(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "d", "Y")
        assert "on the clipboard as a table" in seen(pilot)
        rows = [row.split("\t") for row in pilot.app.clipboard.splitlines()]
        assert rows[0][1:3] == ["D-GEAR", "Which steering gear sits behind the axle?"]
        assert len({len(row) for row in rows}) == 1


async def test_others_changes_in_between_are_not_overwritten_unseen(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_item("COST-1")
        await settled(pilot)
        await press(pilot, "a")
        amend_item(other, "COST-1", {"owner": "somebody else"}, "theirs")
        await fill(pilot, "source", " two")
        await fill(pilot, "why", "mine")
        await press(pilot, "ctrl+s")
        page(pilot, WritingScreen)
        assert "Ben" in seen(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, ItemScreen)
    other.refresh()
    made = other.programme.named("COST-1", Requirement)
    assert (made.owner, made.source) == ("somebody else", "two")
