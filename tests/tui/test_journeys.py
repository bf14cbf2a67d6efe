"""Journeys of an engineer through the terminal, by keyboard."""

from __future__ import annotations

import pytest

from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.services.session import Session
from tracker.services.wording import CAUTION
from tracker.tui.screens.choose import ChooseScreen, FindScreen
from tracker.tui.screens.deciding import AdoptScreen, ReasonScreen, SettleScreen
from tracker.tui.screens.guide import GuideScreen
from tracker.tui.screens.help import HelpScreen, SmallScreen
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.journal import ChangeScreen, JournalScreen
from tracker.tui.screens.listing import ListScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.themes import CONTRAST, DARK, LIGHT, LOOKS, SIXTEEN

SIZE = (100, 40)


async def test_the_opening_screen_answers_the_three_questions(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        shown = seen(pilot)
    assert "Test cart" in shown
    assert "revision 6" in shown
    assert "What stands  1 of 3 decisions, 3 of 4 requirements met" in shown
    assert "What is broken or shifted  1 broken, 1 shifted, 1 strained" in shown
    assert "What is due at G1  Concept frozen, 2026-03-01: 1 of 2 not in order" in shown
    assert "⊠ broken   D-GEAR" in shown
    assert "↷ shifted  D-TOOLS" in shown
    assert "■ stands   D-BUSH" in shown
    assert CAUTION[:60] in shown


async def test_tab_walks_the_answers_and_enter_opens_one(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "tab", "enter")
        assert page(pilot, ItemScreen).key == "D-GEAR"  # due at the gate


async def test_walking_upstream_and_back(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(100, 60)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        await type_text(pilot, "tooling_each")
        await press(pilot, "enter")
        screen = page(pilot, ItemScreen)
        assert screen.key == "tooling_each"
        assert screen.roll().point_at("C-TOOLS")
        await press(pilot, "enter")
        assert page(pilot, ItemScreen).key == "C-TOOLS"
        assert page(pilot, ItemScreen).roll().point_at("volume")
        await press(pilot, "enter")
        assert page(pilot, ItemScreen).key == "volume"
        assert "4000 vehicle/year" in seen(pilot)
        await press(pilot, "backspace")
        assert page(pilot, ItemScreen).key == "C-TOOLS"
        assert page(pilot, ItemScreen).roll().target == "volume"
        await press(pilot, "escape")
        assert page(pilot, ItemScreen).key == "tooling_each"
        await press(pilot, "h")
        page(pilot, HomeScreen)


async def test_a_decision_shows_its_options_side_by_side(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(120, 50)) as pilot:
        await settled(pilot)
        await press(pilot, "d", "enter")
        shown = seen(pilot)
    line = next(each for each in shown.splitlines() if "* ahead" in each)
    assert line.index("ahead") < line.index("over") < line.index("aft")
    assert "✕ missed C-SENSE.sense" in shown
    assert shown.count("● met C-SENSE.sense") == 2


async def test_trying_a_value_adopting_it_and_undoing(make_app: OpenApp, other: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        page(pilot, TrialScreen)
        await type_text(pilot, "8000")
        shown = seen(pilot)
        assert "D-TOOLS" in shown
        assert "would break: COST-1 is missed" in shown
        assert "376 000 → 596 000 EUR" in shown
        assert "1 of 2 checks run" in shown
        assert CAUTION[:60] in shown
        other.refresh()
        assert other.head.revision == 6  # nothing is stored yet

        await press(pilot, "ctrl+s")
        page(pilot, AdoptScreen)
        assert "volume: 4000 → 8000" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert "needs a reason" in seen(pilot)
        await type_text(pilot, "a second plant")
        await press(pilot, "tab", "right", "ctrl+s")
        page(pilot, ItemScreen)
        assert "Stored as 7: volume: 4000 vehicle/year → 8000 vehicle/year (estimate)" in seen(
            pilot
        )
        assert "breaks D-TOOLS" in seen(pilot)
        assert not app_of(pilot).trial.lines
        other.refresh()
        assert other.head.revision == 7

        await press(pilot, "u")
        assert "Undid change 7 (a second plant)" in seen(pilot)
        assert "value             4000 vehicle/year" in seen(pilot)
        await press(pilot, "U")
        assert "Undid change 8 (undo revision 7)" in seen(pilot)
        assert "value             8000 vehicle/year" in seen(pilot)


async def test_several_edits_stand_in_one_trial(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        await type_text(pilot, "8000")
        await press(pilot, "ctrl+n")
        page(pilot, FindScreen)
        await type_text(pilot, "COST-1")
        await press(pilot, "enter")
        page(pilot, ChooseScreen)
        await type_text(pilot, "upper")
        await press(pilot, "enter")
        page(pilot, TrialScreen)
        await type_text(pilot, "900000 EUR")
        assert app_of(pilot).trial.edits == {"volume": "8000", "COST-1.upper": "900000 EUR"}
        assert "would break" not in seen(pilot)
        assert "D-TOOLS" in seen(pilot)
        await press(pilot, "ctrl+o")
        assert app_of(pilot).trial.edits == {"volume": "8000"}
        assert "would break" in seen(pilot)


async def test_an_option_value_is_tried_in_place(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        await type_text(pilot, "D-BUSH")
        await press(pilot, "enter", "e")
        await type_text(pilot, "soft")
        await press(pilot, "enter")
        await type_text(pilot, "3 kN/mm")
        assert app_of(pilot).trial.edits == {"D-BUSH/soft.bush_rate": "3 kN/mm"}
        assert "would break: RIDE-1 is missed" in seen(pilot)


async def test_what_does_not_hold_is_said_beside_the_field(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        await type_text(pilot, "12 mm")
        lines = seen(pilot).splitlines()
        at = next(number for number, line in enumerate(lines) if line.startswith(" volume"))
        assert "does not measure the same thing" in lines[at + 1]
        assert "Not worked out" in seen(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, TrialScreen)
        assert "Cannot adopt now: a value does not hold" in seen(pilot)
        await press(pilot, "escape", "t")
        assert app_of(pilot).trial.edits == {"volume": "12 mm"}
        assert "12 mm" in seen(pilot)
        await press(pilot, "ctrl+r")
        assert not app_of(pilot).trial.lines
        assert "nothing was stored" in seen(pilot)
        other.refresh()
        assert other.head.revision == 6


async def test_an_edit_the_others_are_not_to_blame_for(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        await type_text(pilot, "nonsense")
        app_of(pilot).trial.type("volume", "5000")
        await press(pilot, "ctrl+n")
        await type_text(pilot, "STEER-1")
        await press(pilot, "enter")
        await type_text(pilot, "lower")
        await press(pilot, "enter")
        await type_text(pilot, "0.9")
        field = {each.name: each for each in page(pilot, TrialScreen).query("Field")}
        assert field["STEER-1.lower"].has_class("wrong")
        assert not field["volume"].has_class("wrong")


async def log_decision(pilot: Driver) -> None:
    """Log D-YEARS with the options short and long, and open its page."""
    await press(pilot, "n")
    await type_text(pilot, "D-YEARS")
    await press(pilot, "tab")
    await type_text(pilot, "How long do we build it")
    await press(pilot, "tab")
    await type_text(pilot, "COST-2")
    await press(pilot, "tab", "tab", "tab")
    await type_text(pilot, "G2")
    await press(pilot, "tab")
    for key, title in (("short", "Four years"), ("long", "Eight years")):
        await type_text(pilot, key)
        await press(pilot, "tab")
        await type_text(pilot, title)
        await press(pilot, "tab", "tab")
    await press(pilot, "ctrl+s")
    assert "Stored as 7: new decision D-YEARS" in seen(pilot)
    await press(pilot, "f")
    await type_text(pilot, "D-YEARS")
    await press(pilot, "enter")


async def settle_on_long(pilot: Driver) -> None:
    """Settle D-YEARS on the option leaned to."""
    await press(pilot, "s", "tab")
    await type_text(pilot, "tools pay back")
    await press(pilot, "tab")
    await type_text(pilot, "too few vehicles")
    await press(pilot, "ctrl+s")


async def test_logging_and_leaning(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(100, 50)) as pilot:
        await settled(pilot)
        await log_decision(pilot)
        assert page(pilot, ItemScreen).key == "D-YEARS"
        assert "How long do we build it" in seen(pilot)
        assert "◌ unproven" not in seen(pilot)
        await press(pilot, "l")
        await type_text(pilot, "long")
        await press(pilot, "enter")
        assert "D-YEARS leans to long" in seen(pilot)


async def test_settling_wants_every_reason_and_keeps_what_is_typed(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(100, 50)) as pilot:
        await settled(pilot)
        await log_decision(pilot)
        await press(pilot, "s", "right", "tab")
        page(pilot, SettleScreen)
        await type_text(pilot, "tools pay back")
        await press(pilot, "ctrl+s")
        assert "it cannot settle without a reason against short" in seen(pilot)
        assert "a reason is wanted here" in seen(pilot)
        await press(pilot, "escape", "s", "tab")
        assert "tools pay back" in seen(pilot)
        await press(pilot, "tab")
        await type_text(pilot, "too few vehicles")
        await press(pilot, "ctrl+s")
        page(pilot, ItemScreen)
        assert "D-YEARS settled on long" in seen(pilot)
        assert "too few vehicles" in seen(pilot)


async def test_a_settled_decision_says_what_cannot_be_done_and_reopens(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(100, 50)) as pilot:
        await settled(pilot)
        await log_decision(pilot)
        await press(pilot, "l")
        await type_text(pilot, "long")
        await press(pilot, "enter")
        await settle_on_long(pilot)
        await press(pilot, "s")
        page(pilot, ItemScreen)
        assert "Cannot settle now: it is settled; reopen it first" in seen(pilot)
        await press(pilot, "e")  # which option is applied can still be tried
        page(pilot, TrialScreen)
        await press(pilot, "escape", "o")
        page(pilot, ReasonScreen)
        await type_text(pilot, "the market moved")
        await press(pilot, "escape", "o")
        assert "the market moved" in seen(pilot)  # Esc lost nothing
        await press(pilot, "ctrl+s")
        assert "D-YEARS reopened" in seen(pilot)


async def test_withdrawing_wants_a_reason(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(100, 50)) as pilot:
        await settled(pilot)
        await press(pilot, "d", "enter", "w", "ctrl+s")
        assert "to withdraw needs a reason" in seen(pilot)
        await type_text(pilot, "nobody asks any more")
        await press(pilot, "ctrl+s")
        assert "D-GEAR is withdrawn" in seen(pilot)


async def test_the_journal_and_a_change(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "j")
        shown = seen(pilot).splitlines()
        rows = [line for line in shown if "2026-01-05" in line]
        assert [row.split()[0].lstrip("▸") for row in rows] == ["6", "5", "4", "3", "2", "1"]
        assert "Ada" in rows[0]
        assert "sales asked for more" in rows[0]
        await press(pilot, "slash")
        await type_text(pilot, "settled")
        assert page(pilot, JournalScreen).roll().target == "3"
        await press(pilot, "enter")
        page(pilot, ChangeScreen)
        assert "they pay back in four years" in seen(pilot)
        assert "D-TOOLS settled on own" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, JournalScreen)
        await press(pilot, "escape")  # the whole journal again
        assert len(page(pilot, JournalScreen).roll()._lines) == 6
        await press(pilot, "home", "z")
        assert "Undid change 6 (sales asked for more)" in seen(pilot)
        await press(pilot, "end", "up", "z")
        assert "later changes touched the same items" in seen(pilot)
        await press(pilot, "enter")
        page(pilot, ChangeScreen)
        await press(pilot, "z")
        assert "later changes touched the same items" in seen(pilot)


@pytest.mark.parametrize(
    ("key", "title", "item"),
    [("r", "Requirements", "COST-1"), ("d", "Decisions", "D-GEAR"), ("q", "Quantities", "volume"),
     ("c", "Checks", "C-TOOLS"), ("g", "Gates", "G1")],
)  # fmt: skip
async def test_every_kind_has_its_list(make_app: OpenApp, key: str, title: str, item: str) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, key)
        page(pilot, ListScreen)
        assert seen(pilot).startswith(f" {title}")
        await press(pilot, "enter")
        assert page(pilot, ItemScreen).key == item


async def test_finding_in_a_list_narrows_it_as_one_types(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "slash")
        await type_text(pilot, "joint tie")
        screen = page(pilot, ListScreen)
        assert "2 of 15" in seen(pilot)
        assert screen.roll().target == "rod_inner"
        await press(pilot, "down")
        assert screen.roll().target == "rod_outer"
        await type_text(pilot, "zzz")
        assert "Nothing meets that." in seen(pilot)
        await press(pilot, "escape")
        assert screen.roll().has_focus
        assert len(screen.roll()._lines) == 15
        await press(pilot, "escape")
        page(pilot, HomeScreen)


async def test_the_keys_page_lists_what_is_valid_and_why_something_is_not(
    make_app: OpenApp,
) -> None:
    async with make_app().run_test(size=(100, 90)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        await type_text(pilot, "D-TOOLS")
        await press(pilot, "enter", "question_mark")
        page(pilot, HelpScreen)
        shown = seen(pilot)
        assert "settle  (not now: it is settled; reopen it first)" in shown
        assert "↷ shifted" in shown
        await press(pilot, "question_mark")  # and once more
        page(pilot, GuideScreen)
        assert "A walk of five minutes through the demo" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, HelpScreen)
        await press(pilot, "escape", "escape", "q", "enter", "question_mark")
        assert "settle" not in seen(pilot)  # a quantity is not decided


async def test_the_palette_reaches_the_actions(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "ctrl+p")
        await type_text(pilot, "journal")
        await pilot.pause(0.3)
        await press(pilot, "enter")
        page(pilot, JournalScreen)


async def test_a_small_terminal_says_so_and_keeps_everything(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "down", "down")
        was = page(pilot, ListScreen).roll().target
        await pilot.resize_terminal(60, 20)
        await settled(pilot)
        assert isinstance(pilot.app.screen, SmallScreen)
        assert "80 columns and 24 lines" in " ".join(seen(pilot).split())
        await pilot.resize_terminal(70, 20)
        await settled(pilot)
        assert "here are 70 and 20" in " ".join(seen(pilot).split())
        await pilot.resize_terminal(120, 40)
        await settled(pilot)
        roll = page(pilot, ListScreen).roll()
        assert roll.target == was
        assert roll.has_focus


async def test_one_look_after_the_other(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        looks = []
        for _ in range(5):
            looks.append(pilot.app.theme)
            await press(pilot, "b")
            assert "The look is " in seen(pilot)
        assert looks == [DARK, LIGHT, CONTRAST, SIXTEEN, DARK]


@pytest.mark.parametrize("name", ["dark", "light", "contrast", "sixteen"])
async def test_every_look_starts(
    make_app: OpenApp, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WHYBONE_LOOK", name)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "d", "enter", "ctrl+p", "escape", "e")
        assert pilot.app.theme == LOOKS[name]


async def test_leaving_asks_once_more_while_something_is_typed(make_app: OpenApp) -> None:
    app = make_app()
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "escape")
        assert "ctrl+q leaves the program" in seen(pilot)
        await press(pilot, "n")
        await type_text(pilot, "D-9")
        await press(pilot, "escape", "ctrl+q")
        assert "Not stored yet: new decision" in seen(pilot)
        await pilot.press("ctrl+q")
    assert app.return_code == 0


async def test_copying_a_page_as_text(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "y")
        assert "Vehicles a year" in pilot.app.clipboard
        assert "clipboard" in seen(pilot)
