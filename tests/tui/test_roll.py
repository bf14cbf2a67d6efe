"""The list widget: cursor, scrolling, keeping its place."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from textual.app import App, ComposeResult
from textual.pilot import Pilot

from tracker.tui.app import WhyboneApp
from tracker.tui.face import Face
from tracker.tui.layout.paper import Fixed, Line, Lines, Rows, Span
from tracker.tui.themes import DARK, themes
from tracker.tui.widgets.roll import Roll

SHEET = [Line((Span(f"line {at}"),), f"t{at}" if at % 10 == 0 else "") for at in range(100)]


class Bench(App[None]):
    """An app with nothing but a roll."""

    CSS_PATH = WhyboneApp.CSS_PATH

    def __init__(self) -> None:
        super().__init__()
        self.chosen: list[str] = []
        for theme in themes():
            self.register_theme(theme)
        self.theme = DARK

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return themes()[0].variables

    def compose(self) -> ComposeResult:
        yield Roll(Face())

    def on_roll_chosen(self, event: Roll.Chosen) -> None:
        self.chosen.append(event.target)
        assert event.control is self.query_one(Roll)


def rows(count: int, looked: list[int] | None = None) -> Lines:
    def lay(at: int) -> Sequence[Line]:
        if looked is not None:
            looked.append(at)
        return (Line((Span(f"row {at}"),), f"r{at}"),)

    return Rows([f"r{at}" for at in range(count)], lay)


def roll_of(pilot: Pilot[None]) -> Roll:
    roll = pilot.app.query_one(Roll)
    roll.focus()
    return roll


async def test_only_what_is_in_view_is_laid_out() -> None:
    looked: list[int] = []
    async with Bench().run_test(size=(80, 24)) as pilot:
        roll_of(pilot).show(lambda _: rows(100_000, looked))
        await pilot.pause()
        assert len(set(looked)) <= 30
        await pilot.press("end")
        assert roll_of(pilot).target == "r99999"
        assert len(set(looked)) <= 60


@pytest.mark.parametrize(
    ("keys", "target"),
    [
        (("down",), "r1"),
        (("down", "down", "up"), "r1"),
        (("up",), "r0"),
        (("pagedown",), "r24"),
        (("space", "pageup"), "r0"),
        (("end",), "r499"),
        (("end", "pageup"), "r475"),
        (("end", "down", "home"), "r0"),
        (("end", "pagedown"), "r499"),
    ],
)
async def test_keys_move_the_cursor(keys: tuple[str, ...], target: str) -> None:
    async with Bench().run_test(size=(80, 24)) as pilot:
        roll = roll_of(pilot)
        roll.show(lambda _: rows(500))
        await pilot.pause()
        await pilot.press(*keys)
        assert roll.target == target
        top = round(roll.scroll_y)
        assert top <= roll._cursor < top + 24


async def test_a_page_scrolls_where_nothing_near_can_be_chosen() -> None:
    async with Bench().run_test(size=(80, 5)) as pilot:
        roll = roll_of(pilot)
        roll.show(lambda _: Fixed(SHEET))
        await pilot.pause()
        assert roll.target == "t0"
        await pilot.press("down")
        assert (roll.target, roll.scroll_y) == ("t0", 1)
        await pilot.press(*["down"] * 6)
        assert roll.target == "t10"
        await pilot.press("pagedown", "pagedown")
        assert roll.target == "t20"
        await pilot.press("up")
        assert roll.scroll_y < 16
        await pilot.press("home")
        assert (roll.target, roll.scroll_y) == ("t0", 0)
        roll.scroll_to(y=52, animate=False)
        await pilot.pause()
        await pilot.press("up")  # the cursor is far above the view
        assert roll.scroll_y == 51


async def test_new_contents_keep_target_and_place() -> None:
    async with Bench().run_test(size=(80, 24)) as pilot:
        roll = roll_of(pilot)
        roll.show(lambda _: rows(500))
        await pilot.pause()
        await pilot.press("pagedown", "pagedown", "down")
        place = roll._cursor - round(roll.scroll_y)

        def shifted(_: int) -> Lines:
            return Rows([f"r{at}" for at in range(-7, 500)], lambda at: (Line((), f"r{at - 7}"),))

        roll.show(shifted)
        await pilot.pause()
        assert roll.target == "r49"
        assert roll._cursor - round(roll.scroll_y) == place
        roll.show(lambda _: rows(20))  # what the cursor was on is gone
        await pilot.pause()
        assert roll.target == "r19"
        roll.show(lambda _: rows(20), keep=False)
        await pilot.pause()
        assert (roll.target, roll.scroll_y) == ("r0", 0)
        roll.show(lambda _: Fixed())
        await pilot.pause()
        assert roll.target == ""
        await pilot.press("enter", "down", "end", "pagedown")
        assert not isinstance(pilot.app, Bench) or pilot.app.chosen == []


async def test_choosing_by_key_and_by_mouse() -> None:
    app = Bench()
    async with app.run_test(size=(80, 24)) as pilot:
        roll = roll_of(pilot)
        roll.show(lambda _: Fixed(SHEET))
        await pilot.pause()
        await pilot.press("enter")
        assert app.chosen == ["t0"]
        await pilot.click(Roll, offset=(3, 1))  # nothing to choose there
        assert app.chosen == ["t0"]
        await pilot.click(Roll, offset=(3, 10))
        assert (app.chosen, roll.target) == (["t0"], "t10")
        await pilot.pause(0.6)  # not a double click
        await pilot.click(Roll, offset=(3, 10))
        assert app.chosen == ["t0", "t10"]
        assert not roll.point_at("nowhere")


async def test_a_resize_lays_the_page_out_again() -> None:
    widths: list[int] = []
    async with Bench().run_test(size=(80, 24)) as pilot:

        def make(width: int) -> Lines:
            widths.append(width)
            return rows(500)

        roll = roll_of(pilot)
        roll.show(make)
        await pilot.pause()
        await pilot.press("down", "down")
        await pilot.resize_terminal(100, 24)
        await pilot.pause()
        assert widths[-1] == widths[0] + 20
        assert roll.target == "r2"
