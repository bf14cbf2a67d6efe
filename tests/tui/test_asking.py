"""Asking how far, how likely, what drives, what mends, which sets are alive, and why.

The small programme is worked out by hand: a set of subframe tools lasts 30 000 vehicles and is
the first to wear out, so with 6 years of production a second set is bought, and the budget
broken, beyond 5000 vehicles a year.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest

from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.errors import CancelledError
from tracker.services.actions import add_items, amend_item, set_values
from tracker.services.gates.freezing import freeze_gate
from tracker.services.session import Session
from tracker.tui.screens.amounts import AmountsScreen
from tracker.tui.screens.asking import AskingPage
from tracker.tui.screens.comparing import CompareScreen
from tracker.tui.screens.drivers import DriversScreen
from tracker.tui.screens.headroom import HeadroomScreen
from tracker.tui.screens.help import HelpScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.journal import ChangeScreen
from tracker.tui.screens.listing import ListScreen
from tracker.tui.screens.mending import MendScreen
from tracker.tui.screens.option_sets import SetsScreen
from tracker.tui.screens.prices import PricesScreen
from tracker.tui.screens.reasons import ReasonsScreen
from tracker.tui.screens.revisions import RevisionsScreen
from tracker.tui.screens.spread import SpreadScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.widgets.field import Entry, Field

SIZE = (110, 50)


async def open_item(pilot: Driver, key: str) -> None:
    app_of(pilot).open_item(key)
    await settled(pilot)


def words(pilot: Driver) -> str:
    return " ".join(seen(pilot).replace("▸", " ").split())


# --- headroom


@pytest.fixture
def ranged(other: Session) -> Session:
    """The volume may be anything from 3000 to 6000 a year."""
    amend_item(other, "volume", {"low": "3000", "high": "6000"}, "as far as the line goes")
    return other


async def test_headroom_of_a_value_ends_where_a_second_set_of_tools_is_bought(
    make_app: OpenApp, ranged: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "volume")
        await press(pilot, "H")
        page(pilot, HeadroomScreen)
        shown = words(pilot)
        found = re.search(r"above ([\d.]+) vehicle/year first D-TOOLS breaks, on COST-1", shown)
        assert found is not None
        assert float(found.group(1)) == pytest.approx(5000, rel=1e-4)
        assert "sampled at most" in shown
        assert "below" not in shown  # nothing breaks down to 3000
        assert "Each decision by itself, in vehicle/year" in shown
        assert "Screening calculations" in shown
        roll = page(pilot, HeadroomScreen).roll()
        assert roll.point_at("D-TOOLS")
        await press(pilot, "enter")
        assert page(pilot, ItemScreen).key == "D-TOOLS"
        await press(pilot, "escape")
        assert "first D-TOOLS breaks" in words(pilot)  # what was found stays


async def test_headroom_of_a_decision_and_of_everything(make_app: OpenApp, ranged: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "H")
        everything = words(pilot)
        assert "Values, the nearest to breaking first volume" in everything
        assert "Bounds COST-1.upper" in everything
        assert "RIDE-1.upper" in everything
        await press(pilot, "escape")
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "H")
        own = words(pilot)
        assert "volume" in own
        assert "COST-1.upper" in own
        assert "RIDE-1.upper" not in own
        await press(pilot, "escape", "escape")
        await open_item(pilot, "D-GEAR")
        await press(pilot, "H")
        assert "D-GEAR does not stand now: there is no headroom to keep" in words(pilot)


async def test_what_cannot_be_moved_says_why(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "tooling")
        await press(pilot, "H")
        assert "tooling" in words(pilot)
        assert "a asks again" in words(pilot)


# --- taking its time


def endless(_: Session, *__: object, cancel: Callable[[], bool], progress: Any, **___: Any) -> None:  # noqa: ANN401 - a callable
    """Look until told to stop."""
    step = 0
    while not cancel():
        step += 1
        progress(f"{step} values looked at")
        time.sleep(0.02)
    raise CancelledError("stopped")


async def begun(pilot: Driver) -> None:
    """Wait for the first words on how far it got."""
    for _ in range(200):
        await pilot.pause(0.02)
        if "values looked at. Esc stops." in seen(pilot):
            return
    raise AssertionError(seen(pilot))


async def test_esc_stops_and_says_how_far_it_got(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracker.services.exploring.headroom", endless)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("H")
        await begun(pilot)
        await pilot.press("question_mark")
        await settled_screen(pilot, HelpScreen)
        await pilot.press("escape")
        await begun(pilot)  # looking at the keys stops nothing
        await pilot.press("escape")
        await settled(pilot)
        page(pilot, HeadroomScreen)
        assert re.search(r"Stopped, got as far as: \d+ values looked at", seen(pilot))
        await pilot.press("a")
        await begun(pilot)
        await pilot.press("a")
        await begun(pilot)
        await pilot.press("escape", "escape")
        await settled(pilot)
        assert not isinstance(app_of(pilot).screen, AskingPage)


async def settled_screen(pilot: Driver, kind: type[object]) -> None:
    for _ in range(100):
        await pilot.pause(0.02)
        if isinstance(app_of(pilot).screen, kind):
            return
    raise AssertionError(app_of(pilot).screen)


async def test_walking_on_stops_it_and_leaving_the_program_does_too(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracker.services.exploring.headroom", endless)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("H")
        await begun(pilot)
        await pilot.press("r")
        await settled(pilot)
        page(pilot, ListScreen)
        assert "COST-1" in seen(pilot)
        await press(pilot, "escape")
        assert "Stopped, got as far as:" in seen(pilot)
        await pilot.press("a")
        await begun(pilot)
        await pilot.press("ctrl+q")


def silent(_: Session, *__: object, cancel: Callable[[], bool], **___: Any) -> None:  # noqa: ANN401 - a callable
    """Work without a word until told to stop."""
    while not cancel():
        time.sleep(0.02)
    raise CancelledError("stopped")


async def test_a_page_says_that_it_has_begun(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracker.services.exploring.headroom", silent)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("H")
        await settled_screen(pilot, HeadroomScreen)
        await pilot.pause()
        assert "Begun. Esc stops." in seen(pilot)
        await pilot.press("escape")
        await settled(pilot)
        assert "Stopped, got as far as: nothing was looked at yet" in seen(pilot)


async def test_samples_are_closer_on_demand(make_app: OpenApp, ranged: Session) -> None:
    """From 3000 to 6000 in 128 stretches is 23.4 each; in 512, 5.86."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "volume")
        await press(pilot, "H")
        assert "sampled at most 23.4 vehicle/year apart" in words(pilot)
        await press(pilot, "plus")
        assert "sampled at most 5.86 vehicle/year apart" in words(pilot)
        await press(pilot, "plus", "plus", "plus", "plus")
        assert "Cannot sample finer now: samples are as close as they get" in words(pilot)


async def test_an_answer_stays_and_says_when_the_programme_moved_on(
    make_app: OpenApp, ranged: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "volume")
        await press(pilot, "H")
        set_values(ranged, {"years": "5"}, "a shorter life")
        app_of(pilot)._look_around()
        await settled(pilot)
        assert "This is of revision 7, now it is 8: a asks again." in seen(pilot)
        assert "first D-TOOLS breaks" in words(pilot)
        await press(pilot, "a")
        assert "This is of revision" not in seen(pilot)
        assert "nothing breaks" in words(pilot).lower()  # 30 000 vehicles are 6000 a year now


# --- drivers


async def test_drivers_come_the_strongest_first_with_their_direction_in_words(
    make_app: OpenApp,
) -> None:
    async with make_app().run_test(size=(110, 80)) as pilot:
        await settled(pilot)
        await open_item(pilot, "STEER-1")
        await press(pilot, "D")
        page(pilot, DriversScreen)
        shown = seen(pilot)
        bars = [len(each) for each in re.findall(r"█+|▓+", shown) if len(each) > 1]
        assert len(bars) > 2
        assert bars == sorted(bars, reverse=True)
        assert " raises gain by " in shown
        assert " lowers gain by " in shown
        assert "from differences" in shown or "exact" in shown
        await press(pilot, "enter")
        assert page(pilot, ItemScreen).key.startswith(("rod_", "joint_", "shaft", "rack"))


# --- spread


@pytest.fixture
def scattering(other: Session) -> Session:
    """4000 vehicles a year, give or take 1500, every value as likely."""
    tolerance = {"tolerance": "1500", "tolerance_shape": "rectangular"}
    amend_item(other, "volume", tolerance, "sales does not know better")
    return other


async def test_the_spread_of_a_uniform_volume_is_what_the_share_below_5000_is(
    make_app: OpenApp, scattering: Session
) -> None:
    """Of 2500 to 5500, 2500 in 3000 lie below 5000: 83.3 %."""
    async with make_app().run_test(size=(110, 70)) as pilot:
        await settled(pilot)
        await press(pilot, "S")
        page(pilot, SpreadScreen)
        shown = seen(pilot)
        line = next(each for each in shown.splitlines() if "D-TOOLS" in each and "%" in each)
        share = float(re.findall(r"([\d.]+) %", line)[0])
        assert share == pytest.approx(250 / 3, abs=0.6)
        assert "COST-1: missed in" in shown
        assert "o works out whose scatter it is" in shown
        assert "volume" in shown
        await press(pilot, "o")
        assert "by the scatter of volume 100 %" in seen(pilot)
        await press(pilot, "plus")
        assert "±0.25 %" in seen(pilot)
        before = re.search(r"^ (\S+): \S+, required", seen(pilot), re.MULTILINE)
        await press(pilot, "right")
        after = re.search(r"^ (\S+): \S+, required", seen(pilot), re.MULTILINE)
        assert before is not None
        assert after is not None
        assert before.group(1) != after.group(1)


async def test_the_spread_of_one_decision_and_of_one_requirement(
    make_app: OpenApp, scattering: Session
) -> None:
    async with make_app().run_test(size=(80, 40)) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "S")
        shown = seen(pilot)
        assert "D-BUSH" not in shown
        assert "COST-1" in shown
        await press(pilot, "escape", "escape")
        await open_item(pilot, "COST-1")
        await press(pilot, "S")
        assert "missed in 16." in seen(pilot) or "missed in 17" in seen(pilot)
        assert "COST-2" not in seen(pilot)


async def test_where_nothing_scatters_that_is_said(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "S")
        assert "tolerance" in words(pilot)
        await press(pilot, "right")
        assert "Cannot pick now" in seen(pilot)


# --- mend


@pytest.fixture
def broken(other: Session) -> Session:
    """8000 vehicles a year for 6 years wear out a second set of tools; the years may move."""
    amend_item(other, "years", {"low": "1", "high": "10"}, "as far as anybody plans")
    set_values(other, {"volume": "8000"}, "the market says so")
    return other


async def test_what_mends_a_decision_is_taken_into_the_trial(
    make_app: OpenApp, broken: Session
) -> None:
    """30 000 vehicles at 8000 a year are 3.75 years."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "M")
        screen = page(pilot, MendScreen)
        shown = words(pilot)
        assert "1. years 6 → 3.75 year" in shown
        assert "restores D-TOOLS" in shown
        assert "D-GEAR" not in shown
        screen.roll().point_at("=0/0")
        await press(pilot, "enter")
        page(pilot, TrialScreen)
        assert float(app_of(pilot).trial.edits["years"]) == pytest.approx(3.75, rel=1e-6)
        assert "Taken into trial 1: years" in seen(pilot)
        assert "would stand again" in seen(pilot)
        await press(pilot, "escape")
        assert "1. years 6 → 3.75 year" in words(pilot)


async def test_all_that_is_broken_is_mended_and_what_is_strained_on_demand(
    make_app: OpenApp, broken: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "M")
        shown = words(pilot)
        assert "D-TOOLS" in shown
        assert "D-GEAR" in shown
        await press(pilot, "s")
        assert "each broken or strained decision stand again, unstrained" in words(pilot)
        await press(pilot, "plus", "plus", "plus", "plus", "plus")
        assert "samples are as close as they get" in words(pilot)


def _cost(pilot: Driver) -> float:
    found = re.search(r"costs ([\d.]+)", words(pilot))
    assert found is not None
    return float(found.group(1))


async def test_a_price_decides_what_a_mending_costs(make_app: OpenApp, broken: Session) -> None:
    """2.25 years at 2 a year are 4.5; without a price, a quarter of the range of 9 years.

    Less than half a per cent of a budget comes on top.
    """
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "M")
        assert _cost(pilot) == pytest.approx(0.25, abs=0.005)
        await press(pilot, "p")
        page(pilot, PricesScreen)
        await type_text(pilot, "cheap")
        await press(pilot, "ctrl+s")
        assert "it is no number of at least 0" in seen(pilot)
        await press(pilot, "ctrl+u")
        await type_text(pilot, "2")
        await press(pilot, "ctrl+s")
        page(pilot, MendScreen)
        assert _cost(pilot) == pytest.approx(4.5, abs=0.005)
        assert not app_of(pilot).draft("what moves cost")
        await press(pilot, "escape", "escape")
        await open_item(pilot, "D-BUSH")
        await press(pilot, "M", "p")
        assert "no number that may be moved is known here yet" in seen(pilot)


async def test_hostile_reasons_stay_text_on_every_page(make_app: OpenApp, broken: Session) -> None:
    set_values(broken, {"years": "6.5"}, "as [bold]they[/bold] say [@click=app.quit]go[/]")
    amend_item(broken, "D-TOOLS", {"question": "[red]Own[/red] them?"}, "[on red]why[/]")
    async with make_app().run_test(size=(120, 60)) as pilot:
        await settled(pilot)
        for key in ("K", "M", "P", "H"):
            await press(pilot, key)
            shown = seen(pilot)
            assert all(char.isprintable() for char in shown.replace("\n", "")), key
            if key == "K":
                assert "[red]Own[/red]" in shown
                await pilot.click("Roll", offset=(5, 8))
                await settled(pilot)
            await press(pilot, "escape")
            app_of(pilot).action_home()
            await settled(pilot)
        assert app_of(pilot).is_running


async def test_a_proposal_is_taken_by_the_mouse(make_app: OpenApp, broken: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "M")
        lines = seen(pilot).splitlines()
        row = next(at for at, line in enumerate(lines) if "1. years" in line)
        await pilot.click(offset=(10, row), times=2)
        await settled(pilot)
        page(pilot, TrialScreen)
        assert "years" in app_of(pilot).trial.edits


async def test_nothing_broken_is_good_news(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-BUSH")
        await press(pilot, "M")
        assert "There is nothing to mend." in seen(pilot)


# --- option sets


async def test_option_sets_count_rule_out_and_are_tried(make_app: OpenApp) -> None:
    """The hard bush, 2.4 kN/mm, misses 2 kN/mm by itself; the gear as built steers backwards."""
    async with make_app().run_test(size=(110, 60)) as pilot:
        await settled(pilot)
        await press(pilot, "P")
        screen = page(pilot, SetsScreen)
        assert "a asks again" in seen(pilot)  # nothing is open
        await press(pilot, "plus")
        assert "Cannot list more now: nothing is listed yet" in seen(pilot)
        await press(pilot, "l")
        shown = words(pilot)
        assert "2 of 6 combinations are alive" in shown
        assert "hard ✕ in none" in shown
        assert "RIDE-1 missed" in shown
        assert "ahead ✕ in none" in shown
        assert "Independent of each other" in shown
        await press(pilot, "plus")
        assert "every combination alive is listed" in seen(pilot)
        assert screen.roll().point_at("=0")
        await press(pilot, "enter")
        page(pilot, TrialScreen)
        assert app_of(pilot).trial.edits.get("D-GEAR") in ("over", "aft")
        assert "Taken into trial 1: D-GEAR, D-BUSH" in seen(pilot) or (
            "Taken into trial 1: D-BUSH, D-GEAR" in seen(pilot)
        )


async def test_the_best_set_is_by_a_chosen_quantity(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(110, 60)) as pilot:
        await settled(pilot)
        await press(pilot, "P", "l", "o")
        await type_text(pilot, "small")
        await press(pilot, "enter")
        await type_text(pilot, "bush_rate")
        await press(pilot, "enter")
        shown = words(pilot)
        assert "Best, by smallest bush_rate" in shown
        assert "1.2 kN/mm" in shown
        await press(pilot, "o")
        await type_text(pilot, "margin")
        await press(pilot, "enter")
        assert "Best, by largest least margin" in words(pilot)


# --- why, and revisions compared


async def test_why_names_the_change_that_broke_it_and_opens_it(
    make_app: OpenApp, broken: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "COST-1")
        await press(pilot, "W")
        screen = page(pilot, ReasonsScreen)
        shown = words(pilot)
        assert "Last met at revision 7; then Ben, revision 8: the market says so" in shown
        assert "volume 4000 → 8000 vehicle/year revision 8, Ben: the market says so" in shown
        assert screen.roll().point_at("=8")
        await press(pilot, "enter")
        page(pilot, ChangeScreen)
        assert "Change 8" in seen(pilot)


async def test_why_of_what_is_met_or_never_was(make_app: OpenApp, other: Session) -> None:
    never = {"kind": "requirement", "key": "FEW-1", "statement": "We build few",
             "quantity": "volume", "upper": "10 vehicle/year"}  # fmt: skip
    add_items(other, [never], "somebody dreams")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "COST-1")
        await press(pilot, "W")
        assert "There is nothing to explain." in seen(pilot)
        await press(pilot, "escape", "escape")
        await open_item(pilot, "FEW-1")
        await press(pilot, "W")
        assert "It was never met" in seen(pilot)


async def test_two_revisions_are_compared_and_their_changes_open(
    make_app: OpenApp, broken: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "K")
        screen = page(pilot, CompareScreen)
        shown = words(pilot)
        assert "Revision 7 → revision 8" in shown
        assert "broken D-TOOLS was strained" in shown or "broken D-TOOLS was stands" in shown
        assert "revision 8, Ben: the market says so" in shown
        assert screen.roll().point_at("=8")
        await press(pilot, "enter")
        page(pilot, ChangeScreen)
        await press(pilot, "escape", "e")
        assert screen is not app_of(pilot).screen
        app_of(pilot).screen.query_one("Roll").point_at("5")  # type: ignore[attr-defined] # a Roll
        await press(pilot, "enter")
        assert "Revision 5 → revision 8" in words(pilot)
        await press(pilot, "l")
        app_of(pilot).screen.query_one("Roll").point_at("5")  # type: ignore[attr-defined] # a Roll
        await press(pilot, "enter")
        assert "Nothing differs." in seen(pilot)


async def test_a_revision_is_chosen_by_a_gate_or_a_baseline(
    make_app: OpenApp, broken: Session
) -> None:
    frozen = broken.head.revision
    freeze_gate(broken, "G1", "shown as it is")
    set_values(broken, {"years": "5"}, "a shorter life")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "K", "e", "k")
        shown = words(pilot)
        assert f"gate revision {frozen}, frozen last as G1-1: Concept frozen" in shown
        assert f"baseline revision {frozen}" in shown
        await type_text(pilot, "G1-1")
        await press(pilot, "enter")
        screen = page(pilot, CompareScreen)
        assert f"Revision {frozen} → revision {broken.head.revision}" in words(pilot)
        await press(pilot, "l", "k", "enter")
        assert app_of(pilot).screen is screen
        assert "Nothing differs." in seen(pilot)


async def test_where_nothing_was_frozen_that_is_said(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "K", "e", "k")
        assert "Nothing was frozen yet" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, RevisionsScreen)


# --- how much is looked at


async def retype(pilot: Driver, name: str, text: str) -> None:
    entry = next(each for each in app_of(pilot).screen.query(Field) if each.name == name)
    entry.query_one(Entry).value = text
    await settled(pilot)


async def test_the_seed_and_the_samples_of_a_spread_are_said(
    make_app: OpenApp, scattering: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "S", "m")
        page(pilot, AmountsScreen)
        await retype(pilot, "half_width", "0")
        await retype(pilot, "seed", "-1")
        await retype(pilot, "owner_samples", "3000")
        await retype(pilot, "most", "many")
        await press(pilot, "ctrl+s")
        shown = words(pilot)
        assert "it has to be above 0, at most 0.5" in shown
        assert "it has to be a whole number, 0 to 2147483648" in shown
        assert "it has to be 0 or a power of two, 0 to 1048576" in shown
        assert "it has to be a whole number, 4096 to 4194304" in shown
        await retype(pilot, "half_width", "0.001")
        await retype(pilot, "seed", "7")
        await retype(pilot, "owner_samples", "256")
        await retype(pilot, "most", "4096")
        await press(pilot, "ctrl+s")
        view = page(pilot, SpreadScreen).view
        assert view is not None
        assert (view.seed, view.half_width) == (7, 0.001)
        assert view.n <= 4096
        assert "4096 samples, seed 7" in words(pilot)
        assert "Not yet known to ±0.1 %" in words(pilot)
        assert "by the scatter of volume" in words(pilot)


async def test_the_stretches_of_headroom_are_said(make_app: OpenApp, ranged: Session) -> None:
    """From 3000 to 6000 in 300 stretches is 10 each; in four times as many, 2.5."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "volume")
        await press(pilot, "H", "m")
        await retype(pilot, "points", "300")
        await press(pilot, "ctrl+s")
        assert "sampled at most 10 vehicle/year apart" in words(pilot)
        await press(pilot, "plus")
        assert "sampled at most 2.5 vehicle/year apart" in words(pilot)


async def test_the_stretches_of_a_mending_are_said(make_app: OpenApp, broken: Session) -> None:
    """Beyond 100 000 stretches none are sampled, so from half of that no finer ones."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "M", "m")
        await retype(pilot, "points", "100001")
        await press(pilot, "ctrl+s")
        assert "it has to be a whole number, 2 to 100000" in words(pilot)
        await retype(pilot, "points", "50000")
        await press(pilot, "ctrl+s")
        assert "1. years 6 → 3.75 year" in words(pilot)
        await press(pilot, "plus")
        assert "samples are as close as they get" in words(pilot)


async def test_the_limit_of_option_sets_is_said(make_app: OpenApp) -> None:
    """Two decisions of 3 and 2 options: listed is no more than one, looked at no more than two."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "P", "l", "m")
        await retype(pilot, "most", "1")
        await press(pilot, "ctrl+s")
        view = page(pilot, SetsScreen).view
        assert view is not None
        assert (len(view.sets), view.count) == (1, 2)
        await press(pilot, "m")
        await retype(pilot, "limit", "2")
        await press(pilot, "ctrl+s")
        assert "3 combinations" in words(pilot)


# --- an earlier revision


async def test_an_earlier_revision_is_open_to_look_at_only(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "volume")
        await press(pilot, "R")
        app_of(pilot).screen.query_one("Roll").point_at("5")  # type: ignore[attr-defined] # a Roll
        await press(pilot, "enter")
        assert "Revision 5 is open to look at, all of it as it was; R leads back" in seen(pilot)
        assert "revision 5 of 6, look only" in seen(pilot)
        app_of(pilot)._look_around()
        await settled(pilot)
        assert "revision 5 of 6, look only" in seen(pilot)  # it stays there
        await open_item(pilot, "volume")
        assert "3500" in seen(pilot)
        for key in ("e", "t", "u", "U", "n", "T"):
            await press(pilot, key)
            assert page(pilot, ItemScreen).key == "volume"
            assert "Revision 5 is open to look at only" in seen(pilot)
        await press(pilot, "escape")
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "s")
        assert "Revision 5 is open to look at only" in seen(pilot)
        await press(pilot, "S")
        page(pilot, SpreadScreen)  # asking is looking
        await press(pilot, "escape", "R")
        assert "This is the present again" in seen(pilot)
        assert "revision 6 ·" in seen(pilot)
        assert page(pilot, ItemScreen).key == "D-TOOLS"
        other.refresh()
        assert other.head.revision == 6


async def test_a_proposal_is_not_tried_on_an_earlier_revision(
    make_app: OpenApp, broken: Session
) -> None:
    set_values(broken, {"volume": "4000"}, "it did not")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_revision(8)
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "M")
        page(pilot, MendScreen).roll().point_at("=0/0")
        await press(pilot, "enter")
        page(pilot, MendScreen)
        assert "nothing can be tried there" in seen(pilot)
        assert not len(app_of(pilot).trial)


async def test_what_stores_behind_the_back_is_refused_there(make_app: OpenApp) -> None:
    """Whatever way a change takes to the store, it is refused where only looking is meant."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_revision(5)
        await settled(pilot)
        await open_item(pilot, "D-BUSH")
        page(pilot, ItemScreen)._lean("hard")
        await settled(pilot)
        assert "revision 5 is open to look at only" in seen(pilot)
        app_of(pilot).open_revision(99)
        await settled(pilot)
        assert "there is no revision 99" in seen(pilot)
