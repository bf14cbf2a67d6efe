"""What goes wrong is said in plain words, and nothing typed is lost."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.tui.conftest import OpenApp
from tests.tui.driving import app_of, page, press, seen, settled, type_text
from tracker.bootstrap import make_programme
from tracker.errors import StoreUnreachableError, StoreWriteError
from tracker.services.actions import set_values
from tracker.services.session import Session
from tracker.store.sql_store import SqlStore
from tracker.tui import app as app_module
from tracker.tui.screens.deciding import AdoptScreen
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.listing import ListScreen
from tracker.tui.screens.trial import TrialScreen

SIZE = (100, 40)


async def test_a_failed_write_keeps_the_text(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        await type_text(pilot, "8000")
        await press(pilot, "ctrl+s")
        await type_text(pilot, "the plan says so")
        with monkeypatch.context() as patch:

            def full(_: SqlStore) -> None:
                raise StoreWriteError("the disk is full", remedy="Make room and store again")

            patch.setattr(SqlStore, "writing", full)
            await press(pilot, "ctrl+s")
        page(pilot, AdoptScreen)
        assert "the disk is full. Make room and store again" in seen(pilot)
        assert "the plan says so" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert "Stored as 7" in seen(pilot)


async def test_a_conflict_names_who_and_keeps_the_text(make_app: OpenApp, other: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        await type_text(pilot, "8000")
        await press(pilot, "ctrl+s")
        await type_text(pilot, "the plan says so")
        set_values(other, {"volume": "5000"}, "the market says so")
        await press(pilot, "ctrl+s")
        page(pilot, AdoptScreen)
        shown = " ".join(seen(pilot).split())
        assert "Ben changed it in revision 7" in shown
        assert "the market says so" in shown
        assert "the plan says so" in shown
        assert "volume: 5000 → 8000" in shown  # what it would be now
        await press(pilot, "ctrl+s")
        assert "Stored as 8" in seen(pilot)


async def test_what_others_store_is_taken_in_without_moving_the_cursor(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "down", "down", "down")
        was = page(pilot, ListScreen).roll().target
        set_values(other, {"volume": "5000"}, "the market says so")
        app_of(pilot)._look_around()
        await settled(pilot)
        assert "5000 vehicle/year" in seen(pilot)
        assert "revision 7" in seen(pilot)
        assert page(pilot, ListScreen).roll().target == was


async def test_a_value_that_moved_under_a_trial_is_said(make_app: OpenApp, other: Session) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter", "e")
        await type_text(pilot, "8000")
        set_values(other, {"volume": "5000", "years": "7"}, "the market says so")
        app_of(pilot)._look_around()
        await settled(pilot)
        shown = " ".join(seen(pilot).split())
        assert "volume changed meanwhile from 4000 to 5000: look again before you adopt" in shown
        assert "5000 → 8000 vehicle/year" in shown
        await press(pilot, "ctrl+n")
        await type_text(pilot, "years")
        await press(pilot, "enter")
        set_values(other, {"years": "8"}, "longer")
        app_of(pilot)._look_around()
        await settled(pilot)
        assert app_of(pilot).trial.edits == {"volume": "8000"}
        assert page(pilot, TrialScreen).query("Field").last().value == "8"  # type: ignore[attr-defined] # a Field


async def test_a_store_out_of_reach_is_said_once_and_so_is_its_return(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        with monkeypatch.context() as patch:

            def gone(_: SqlStore) -> None:
                raise StoreUnreachableError("the file is gone", remedy="Plug the disk in")

            patch.setattr(SqlStore, "head", gone)
            app_of(pilot)._look_around()
            await settled(pilot)
            assert "the file is gone. Plug the disk in" in seen(pilot)
            app_of(pilot).clear_notice()
            app_of(pilot)._look_around()
            await settled(pilot)
            assert app_of(pilot).notice == ("", "")
        app_of(pilot)._look_around()
        await settled(pilot)
        assert "The store is back in reach" in seen(pilot)


async def test_the_look_for_what_others_stored_runs_by_itself(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app(pace=0.05).run_test(size=SIZE) as pilot:
        await settled(pilot)
        set_values(other, {"volume": "5000"}, "the market says so")
        for _ in range(100):
            await pilot.pause(0.05)
            if "revision 7" in seen(pilot):
                break
        assert "revision 7" in seen(pilot)


async def test_nothing_to_undo_or_redo_is_said(make_app: OpenApp) -> None:
    async with make_app(author="Cleo").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "u")
        assert "Cleo has no change left to undo" in seen(pilot)
        assert "whybone log" not in seen(pilot)  # a shell command is no help here
        await press(pilot, "U")
        assert "Cleo has undone nothing since their last other change" in seen(pilot)


async def test_an_item_that_cannot_be_tried_says_why(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "t")
        assert "Nothing is being tried" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert "Cannot adopt now: no value differs from what it is" in seen(pilot)
        await press(pilot, "ctrl+r")
        assert "Cannot drop now: nothing is being tried" in seen(pilot)
        await press(pilot, "ctrl+o")
        assert "nothing is being tried" in seen(pilot)
        await press(pilot, "ctrl+n")
        await type_text(pilot, "tooling_each")
        await press(pilot, "enter")
        assert "tooling_each cannot be tried: check C-TOOLS computes it" in seen(pilot)


async def test_an_error_of_our_own_is_owned_up_to(
    make_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by zero")

    monkeypatch.setattr("tracker.tui.screens.item.item_page", broken)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "q", "enter")
        assert page(pilot, ItemScreen).key == "volume"
        assert "whybone itself stumbled, and stored nothing: ZeroDivisionError" in seen(pilot)
        await press(pilot, "e")
        assert "it is still being read" in seen(pilot)


async def test_an_empty_programme_says_what_is_missing(tmp_path: Path) -> None:
    session = make_programme(tmp_path / "new.db", "New", "EUR", who="Ada")
    session.store.close()
    from tracker.bootstrap import open_session

    app = app_module.WhyboneApp(lambda: open_session(tmp_path / "new.db", "Ada"), pace=0)
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        page(pilot, HomeScreen)
        assert "Nothing stands yet." in seen(pilot)
        assert "no gate is planned" in seen(pilot)
        await press(pilot, "d")
        assert "No decision here." in seen(pilot)
        await press(pilot, "f")
        assert "There are no items yet" in seen(pilot)


def test_a_programme_that_cannot_be_opened_ends_with_its_exit_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    plain_run = app_module.WhyboneApp.run
    monkeypatch.setattr(
        app_module.WhyboneApp, "run", lambda self: plain_run(self, headless=True, size=SIZE)
    )
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    code = app_module.run(str(tmp_path / "nowhere.db"), "Ada")
    assert code == StoreUnreachableError.exit_code == 4
    assert "nowhere.db" in capsys.readouterr().err
