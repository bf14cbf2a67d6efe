"""Trials: options leaned to, what mends them, several side by side, and adopting them."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest

from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.errors import CancelledError
from tracker.services.actions import amend_item, set_values
from tracker.services.session import Session
from tracker.tui.screens.deciding import AdoptScreen, ReasonScreen
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.roots import RootsScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.screens.trials import NameScreen, TrialsScreen

SIZE = (110, 44)


async def open_item(pilot: Driver, key: str) -> None:
    app_of(pilot).open_item(key)
    await settled(pilot)


async def try_volume(pilot: Driver, text: str) -> None:
    await open_item(pilot, "volume")
    await press(pilot, "e")
    await type_text(pilot, text)


async def test_another_option_is_tried_and_adopted_with_a_value(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-GEAR")
        await press(pilot, "e")
        assert "D-GEAR" in seen(pilot)
        await type_text(pilot, "option applied")  # one of several values to try
        await press(pilot, "enter")
        page(pilot, TrialScreen)
        assert "[ahead] over" in seen(pilot)
        await press(pilot, "right")
        assert app_of(pilot).trial.edits == {"D-GEAR": "over"}
        assert "D-GEAR            would stand again" in seen(pilot)
        await press(pilot, "left", "left")
        assert app_of(pilot).trial.edits == {"D-GEAR": "aft"}
        await press(pilot, "ctrl+n")
        await type_text(pilot, "years")
        await press(pilot, "enter")
        await type_text(pilot, "7")
        await press(pilot, "ctrl+s")
        page(pilot, AdoptScreen)
        assert "D-GEAR: ahead → aft; years: 6 → 7" in seen(pilot)
        await type_text(pilot, "the supplier agreed")
        await press(pilot, "ctrl+s")
        assert "Stored as 7: D-GEAR leans to aft; years: 6 year → 7 year" in seen(pilot)
        assert not len(app_of(pilot).trial)
        other.refresh()
        assert other.head.revision == 7


async def test_a_settled_decision_is_reopened_only_in_the_trial(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "e", "right")
        assert app_of(pilot).trial.edits == {"D-TOOLS": "shared"}
        assert "D-TOOLS is" not in seen(pilot)
        other.refresh()
        assert other.head.revision == 6


async def test_what_mends_the_trial_is_taken_into_it(make_app: OpenApp, other: Session) -> None:
    """With 8000 vehicles a year the tool of the subframe, good for 30 000, lasts 3.75 years."""
    amend_item(other, "years", {"low": "1", "high": "10"}, "as far as anybody plans")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "volume")
        await press(pilot, "e", "ctrl+g")
        assert "Cannot mend now: no value differs from what it is" in seen(pilot)
        await type_text(pilot, "8000")
        assert "ctrl+g looks for what would mend that" in seen(pilot)
        await press(pilot, "ctrl+g")
        shown = seen(pilot)
        assert "What would mend it: Enter takes one into the trial" in shown
        assert "years: 6 → 3.75 year" in shown
        assert "restores D-TOOLS" in shown
        await press(pilot, "enter")
        assert "Taken into the trial: years" in seen(pilot)
        assert set(app_of(pilot).trial.edits) == {"volume", "years"}
        assert float(app_of(pilot).trial.edits["years"]) == pytest.approx(3.75, rel=1e-6)
        assert "would break" not in seen(pilot)
        await press(pilot, "ctrl+g")
        assert "Cannot mend now: it breaks no decision" in seen(pilot)


async def test_the_line_that_offers_mending_can_be_chosen(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await try_volume(pilot, "8000")
        roll = page(pilot, TrialScreen).roll()
        roll.focus()
        assert roll.point_at("=mend")
        await press(pilot, "enter")
        assert "nothing found beside what is tried (no number may be moved" in seen(pilot)


def endless(_: Session, *__: object, cancel: Callable[[], bool], progress: Any) -> None:  # noqa: ANN401 - a callable
    """Look for what mends until told to stop."""
    step = 0
    while not cancel():
        step += 1
        progress(f"{step} values looked at")
        time.sleep(0.02)
    raise CancelledError("stopped")


@pytest.mark.parametrize("key", ["escape", "5"])
async def test_looking_for_what_mends_shows_progress_and_can_be_stopped(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    monkeypatch.setattr("tracker.tui.screens.trial.mend_trial", endless)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await try_volume(pilot, "8000")
        await pilot.press("ctrl+g")
        for _ in range(100):
            await pilot.pause(0.02)
            if "values looked at. Esc stops looking." in seen(pilot):
                break
        assert "values looked at. Esc stops looking." in seen(pilot)
        await pilot.press(*(["shift+tab"] if key == "5" else []), key)
        await settled(pilot)
        page(pilot, TrialScreen)
        assert "Esc stops looking" not in seen(pilot)
        assert "would break" in seen(pilot)


async def test_adopting_what_moved_unseen_is_refused_with_both_versions(
    make_app: OpenApp, other: Session
) -> None:
    """The app has taken the change in already, but nobody has looked at it yet."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await try_volume(pilot, "8000")
        await press(pilot, "ctrl+s")
        await type_text(pilot, "the plan says so")
        set_values(other, {"volume": "5000"}, "the market says so")
        app_of(pilot)._look_around()
        await settled(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, AdoptScreen)
        shown = " ".join(seen(pilot).split())
        assert "Ben changed it in revision 7: volume: 4000 vehicle/year → 5000" in shown
        assert "Yours was not stored: volume: 5000 vehicle/year → 8000" in shown
        assert "the plan says so" in shown
        await press(pilot, "ctrl+s")
        assert "Stored as 8" in seen(pilot)


async def test_trials_stand_side_by_side(make_app: OpenApp, other: Session) -> None:
    """12 000 a year for 6 years: 4 x 78 + 2 x 128 + 3 x 92 = 844 thousand, budget 400."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "T")
        page(pilot, TrialsScreen)
        assert "Nothing yet" in seen(pilot)
        await press(pilot, "x")
        assert "Cannot drop now: nothing is being tried" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert "Cannot adopt now: no value differs from what it is" in seen(pilot)
        await press(pilot, "escape")
        await try_volume(pilot, "8000")
        await press(pilot, "ctrl+t", "a")
        assert "trial 2 begins with the same values" in seen(pilot)
        await press(pilot, "m")
        page(pilot, NameScreen)
        await press(pilot, "end", "ctrl+u")
        await type_text(pilot, "less")
        await press(pilot, "ctrl+s")
        assert "▸ less" in seen(pilot)
        await press(pilot, "e")
        page(pilot, TrialScreen)
        assert "Trying less, nothing is stored" in seen(pilot)
        await press(pilot, "ctrl+u")
        await type_text(pilot, "12000")
        await press(pilot, "ctrl+t")
        line = next(each for each in seen(pilot).splitlines() if "COST-1  " in each)
        assert line.split("COST-1")[1].split() == [
            "◑", "tight", "+6", "%", "✕", "missed", "-49", "%", "✕", "missed", "-111", "%"
        ]  # fmt: skip
        await press(pilot, "right")
        assert app_of(pilot).trial.name == "trial 1"
        await press(pilot, "escape")
        assert app_of(pilot).screen.query_one("Field").value == "8000"  # type: ignore[attr-defined] # a Field
        await press(pilot, "ctrl+t", "x")
        assert "trial 1 is dropped" in seen(pilot)
        assert [each.name for each in app_of(pilot).trials.every] == ["less"]
        await press(pilot, "ctrl+s")
        await type_text(pilot, "a smaller plan")
        await press(pilot, "ctrl+s")
        assert "Stored as 7: volume" in seen(pilot)
        other.refresh()
        assert other.head.revision == 7


async def test_a_trial_that_does_not_hold_says_so_beside_the_others(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await try_volume(pilot, "3 mm")
        await press(pilot, "ctrl+t")
        assert "trial 1 does not hold: volume: millimetre" in seen(pilot) or (
            "trial 1 does not hold: volume:" in seen(pilot)
        )
        await press(pilot, "ctrl+s")
        assert "Cannot adopt now: it does not hold" in seen(pilot)


async def test_a_new_decision_is_tried_before_it_is_logged(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n", "ctrl+t")
        assert "Cannot try now: it has no key yet" in seen(pilot)
        await type_text(pilot, "D-NEW")
        await press(pilot, "tab")
        await type_text(pilot, "Which one?")
        await press(pilot, "ctrl+t")
        page(pilot, TrialScreen)
        assert "new decision" in seen(pilot)
        assert "would be unproven" in seen(pilot) or "D-NEW" in seen(pilot)
        await press(pilot, "ctrl+t")
        assert "new decision" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert "new decision D-NEW" in seen(pilot)
        await type_text(pilot, "it is asked")
        await press(pilot, "ctrl+s")
        assert "Stored as 7" in seen(pilot)
        other.refresh()
        assert other.programme.find("D-NEW") is not None
        assert not app_of(pilot).draft("new decision")


async def test_a_new_item_is_left_out_again(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        await type_text(pilot, "D-NEW")
        await press(pilot, "ctrl+t", "right")  # there is nothing to pick in it
        assert len(app_of(pilot).trial) == 1
        assert "Not worked out" in seen(pilot)  # it has no question yet
        await press(pilot, "ctrl+o")
        assert not len(app_of(pilot).trial)
        await press(pilot, "escape")
        page(pilot, DecisionScreen)


async def test_the_walk_to_where_a_value_begins(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "COST-1")
        await press(pilot, "i")
        page(pilot, RootsScreen)
        assert "✕" not in seen(pilot)
        await press(pilot, "enter", "enter")
        assert "COST-1 ← tooling ← C-TOOLS" in seen(pilot)
        assert "What" in seen(pilot)
        roll = page(pilot, RootsScreen).roll()
        assert roll.point_at("volume")
        await press(pilot, "enter")
        shown = seen(pilot)
        assert "COST-1 ← tooling ← C-TOOLS ← volume" in shown
        assert "Here it begins" in shown
        assert "Ada: sales asked for more" in shown
        await press(pilot, "escape")
        assert "Why COST-1 is so" in seen(pilot)
        assert "← volume" not in seen(pilot)
        await press(pilot, "o")
        assert page(pilot, ItemScreen).key == "C-TOOLS"
        await press(pilot, "escape", "escape", "escape", "escape")
        assert page(pilot, ItemScreen).key == "COST-1"


async def test_the_walk_ends_at_the_decision_that_sets_a_value(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "bush_rate")
        await press(pilot, "i", "enter")
        shown = seen(pilot)
        assert "bush_rate ← D-BUSH" in shown
        assert "chosen            soft" in shown


async def test_a_shifted_decision_is_held_to_with_a_reason(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await open_item(pilot, "D-TOOLS")
        await press(pilot, "k")
        page(pilot, ReasonScreen)
        assert "volume" in seen(pilot)  # what moved
        await press(pilot, "ctrl+s")
        assert "to review needs a reason" in seen(pilot)
        await type_text(pilot, "it may not pay back")
        await press(pilot, "tab", "right", "ctrl+s")  # reopen needed
        page(pilot, ItemScreen)
        assert "needs another look" in seen(pilot)
        await press(pilot, "k")
        await type_text(pilot, "it pays back sooner")
        await press(pilot, "ctrl+s")
        page(pilot, ItemScreen)
        assert "Stored as 8" in seen(pilot)
        assert "needs another look" not in seen(pilot)
        await press(pilot, "k")
        assert "Cannot review now: its ground has not moved" in seen(pilot)


async def test_what_was_undone_is_done_again_after_a_restart(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "u", "u")
        assert "Undid change 5" in seen(pilot)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "U")
        assert "Undid change 8 (undo revision 5)" in seen(pilot)
        await press(pilot, "U")
        assert "Undid change 7 (undo revision 6)" in seen(pilot)
        await press(pilot, "U")
        assert "Ada has undone nothing since their last other change" in seen(pilot)


async def test_a_change_of_ones_own_ends_what_can_be_redone(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "u")
        set_values(other, {"years": "7"}, "Ben's do not count")
        await try_volume(pilot, "8000")
        await press(pilot, "ctrl+s")
        await type_text(pilot, "it moved on")
        await press(pilot, "ctrl+s", "U")
        assert "Ada has undone nothing since their last other change" in seen(pilot)
