"""The main journeys by mouse."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.tui.places.index import ANYWHERE, BY_NAME
from tracker.tui.screens.deciding import AdoptScreen
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.listing import ListScreen
from tracker.tui.screens.page import Page
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.widgets.field import Pick

SIZE = (120, 40)


async def click_text(pilot: Driver, text: str, *, times: int = 1, last: bool = False) -> None:
    """Click where a text stands on the screen."""
    lines = seen(pilot).splitlines()
    found = [(y, line.index(text)) for y, line in enumerate(lines) if text in line]
    y, place = found[-1 if last else 0]
    x = cell_len(lines[y][:place]) + 1
    await pilot.click(offset=(x, y), times=times)
    await settled(pilot)


async def test_a_first_click_moves_the_cursor_and_a_second_opens(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await click_text(pilot, "D-TOOLS")
        assert page(pilot, HomeScreen).roll("troubled").target == "D-TOOLS"
        await click_text(pilot, "D-TOOLS")
        assert page(pilot, ItemScreen).key == "D-TOOLS"


async def test_a_double_click_opens_a_neighbour(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter")
        await click_text(pilot, "C-TOOLS", times=2)
        assert page(pilot, ItemScreen).key == "C-TOOLS"


async def test_the_keys_at_the_foot_can_be_clicked(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await click_text(pilot, "q quantities", last=True)
        page(pilot, ListScreen)
        await click_text(pilot, "volume", times=2)
        await click_text(pilot, "e edit and try", last=True)
        page(pilot, TrialScreen)
        await type_text(pilot, "9000")
        await click_text(pilot, "^s adopt", last=True)
        page(pilot, AdoptScreen)
        await type_text(pilot, "why not")
        await click_text(pilot, "measured")
        assert page(pilot, AdoptScreen).query_one(Pick).value == "measured"
        await click_text(pilot, "^s store", last=True)
        page(pilot, ItemScreen)
        assert "(measured)" in seen(pilot)
        assert app_of(pilot).where.revision == 7


async def test_a_click_beside_everything_does_nothing(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(200, 40)) as pilot:
        await settled(pilot)
        await pilot.click(offset=(198, 39))  # right of the keys
        await pilot.click(offset=(5, 30))  # below the last line
        await settled(pilot)
        page(pilot, HomeScreen)


async def test_the_palette_opens_from_the_foot(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await click_text(pilot, "^p actions", last=True)
        assert "What to do" in seen(pilot)


@pytest.mark.parametrize("name", [each.name for each in ANYWHERE])
async def test_every_view_is_reached_by_clicks(
    make_app: OpenApp, name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    place = BY_NAME[name]
    async with make_app().run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await click_text(pilot, "v views", last=True)
        await click_text(pilot, place.title, times=2)
        assert type(page(pilot, Page)) is type(place.make(""))


async def test_a_what_if_by_mouse_from_the_opening_screen(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await click_text(pilot, "D-GEAR")  # the cursor is there: a click opens it
        assert page(pilot, ItemScreen).key == "D-GEAR"
        await click_text(pilot, "e edit and try", last=True)
        await click_text(pilot, "the option applied", times=2)
        page(pilot, TrialScreen)
        await click_text(pilot, " aft ")
        assert app_of(pilot).trial.edits == {"D-GEAR": "aft"}
        assert "would stand again" in seen(pilot)
        await click_text(pilot, "^s adopt", last=True)
        await type_text(pilot, "it steers")
        await click_text(pilot, "^s store", last=True)
        assert "Stored as 7: D-GEAR leans to aft" in seen(pilot)
        await click_text(pilot, "C-SENSE", times=2)
        assert page(pilot, ItemScreen).key == "C-SENSE"
