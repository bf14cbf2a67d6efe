"""Lists of what is broken, shifted, guessed, mine or due, combined by single keys and clicks."""

from __future__ import annotations

from tests.tui.conftest import OpenApp
from tests.tui.driving import page, press, seen, settled, type_text
from tracker.tui.screens.filters import FilterScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.widgets.roll import Roll

SIZE = (120, 40)


async def test_filters_turn_and_combine(make_app: OpenApp) -> None:
    async with make_app(author="steering").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "J")
        page(pilot, FilterScreen)
        assert "broken or missed or shifted" in seen(pilot).splitlines()[0]
        assert "D-TOOLS" in seen(pilot)
        assert "D-GEAR" in seen(pilot)
        await press(pilot, "6")
        assert "of steering" in seen(pilot).splitlines()[0]
        assert "D-GEAR" in pilot.app.screen.query_one(Roll).text
        assert "D-TOOLS" not in pilot.app.screen.query_one(Roll).text
        await press(pilot, "6", "1", "2", "3")
        assert "known by a guess" in seen(pilot).splitlines()[0]
        assert "years" in pilot.app.screen.query_one(Roll).text
        assert "STEER-1" not in pilot.app.screen.query_one(Roll).text
        await press(pilot, "3")
        assert "everything" in seen(pilot).splitlines()[0]
        await press(pilot, "7")
        await type_text(pilot, "G1")
        await press(pilot, "enter")
        assert "due by G1" in seen(pilot).splitlines()[0]
        text = pilot.app.screen.query_one(Roll).text
        assert "STEER-1" in text
        assert "COST-1" not in text
        await press(pilot, "7")
        assert "COST-1" in pilot.app.screen.query_one(Roll).text
        await press(pilot, "home", "slash")
        await type_text(pilot, "steer-1")
        await press(pilot, "enter")
        page(pilot, ItemScreen)
        await press(pilot, "escape", "escape")
        page(pilot, FilterScreen)


async def test_filters_turn_by_mouse(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "J")
        place = next(
            (line.index("known by a guess"), at)
            for at, line in enumerate(seen(pilot).splitlines())
            if "known by a guess" in line
        )
        await pilot.click(offset=place)
        await settled(pilot)
        assert "known by a guess" in seen(pilot).splitlines()[0]
        await pilot.click(offset=(79, place[1]))
        await settled(pilot)
        assert "known by a guess" in seen(pilot).splitlines()[0]


async def test_items_of_all_kinds_line_up(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        await press(pilot, "J", "3")
        shown = pilot.app.screen.query_one(Roll)
        lines = shown.text.splitlines()
        assert {line.split()[0] for line in lines} == {"decision", "quantity"}
        assert all(line[24] == " " and line[25] != " " for line in lines)
        assert len({len(row.split("\t")) for row in shown.table.split("\n")}) == 1
