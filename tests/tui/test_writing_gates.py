"""The gate page: what offends, freezing with a reason, packs, what changed since."""

from __future__ import annotations

from pathlib import Path
from threading import Event

from tests.tui.conftest import OpenApp, fixed_tools
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.bootstrap import make_programme
from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel
from tracker.services.actions import add_items, set_values
from tracker.services.session import Session
from tracker.store.open import open_store
from tracker.tui.app import WhyboneApp
from tracker.tui.screens.freezing import FreezeScreen, PackScreen
from tracker.tui.screens.gate import GateScreen, SinceScreen
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.labour import LabourForm, Tell
from tracker.tui.widgets.field import Field
from tracker.tui.widgets.roll import Roll

SIZE = (120, 50)


def text(pilot: Driver) -> str:
    return pilot.app.screen.query_one(Roll).text


async def clear_and_type(pilot: Driver, name: str, said: str) -> None:
    {each.name: each for each in pilot.app.screen.query(Field)}[name].take_focus()
    await pilot.pause()
    await pilot.press("ctrl+e", "ctrl+u")
    await type_text(pilot, said)


async def test_offending_items_are_one_step_away(make_app: OpenApp, other: Session) -> None:
    action = {"kind": "action", "key": "A-1", "title": "Ask for the drawing", "gate": "G1"}
    add_items(other, [action], "to do")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "G")
        assert page(pilot, GateScreen).key == "G1"
        assert "not ready" in text(pilot)
        assert "A-1" in text(pilot)
        await press(pilot, "enter")
        page(pilot, ItemScreen)
        await press(pilot, "escape", "right")
        assert "Gate G2" in seen(pilot)
        await press(pilot, "left", "p")
        assert "nothing was frozen here yet" in seen(pilot)
        await press(pilot, "k")
        page(pilot, GateScreen)


async def test_freezing_packing_and_looking_back(
    make_app: OpenApp, other: Session, tmp_path: Path
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).open_item("G1")
        await settled(pilot)
        await press(pilot, "G", "z")
        page(pilot, FreezeScreen)
        assert "Not ready" in seen(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, FreezeScreen)
        assert "not met" in seen(pilot)
        await type_text(pilot, "shown as it is")
        await press(pilot, "ctrl+s")
        page(pilot, GateScreen)
        assert "is frozen as G1-1" in seen(pilot)
        assert "shown as it is" in text(pilot)
        await press(pilot, "p")
        page(pilot, PackScreen)
        folder = tmp_path / "out"
        await clear_and_type(pilot, "path", str(folder))
        await clear_and_type(pilot, "formats", "md, paper")
        await press(pilot, "ctrl+s")
        assert "is no format" in seen(pilot)
        await clear_and_type(pilot, "formats", "md, json")
        await press(pilot, "ctrl+s")
        page(pilot, GateScreen)
        assert sorted(each.name for each in folder.iterdir()) == ["G1-1.json", "G1-1.md"]
        other.refresh()
        set_values(other, {"volume": "5000"}, "sales again")
        app_of(pilot)._look_around()
        await settled(pilot)
        await press(pilot, "k")
        page(pilot, SinceScreen)
        assert "volume" in text(pilot)


async def test_without_a_gate_the_page_says_how_to_add_one(tmp_path: Path) -> None:
    bare = tmp_path / "bare.db"
    make_programme(bare, "Bare", "EUR", who="Ada", with_tools=fixed_tools()).store.close()
    app = WhyboneApp(lambda: Session(open_store(bare), fixed_tools("new"), "Ada"), pace=0.0)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "G")
        assert "there is no gate yet" in seen(pilot)
        await press(pilot, "z")
        assert "there is no gate to show" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, HomeScreen)


class Slow(LabourForm):
    """Works until it is asked to stop."""

    def __init__(self) -> None:
        super().__init__("slow")
        self.halted = Event()

    def begun(self) -> str:
        return "Beginning"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> str:
        for number in range(10_000):
            tell(f"piece {number} of {session.head.revision}")
            if cancel():
                self.halted.set()
                raise CancelledError("stopped")
            self.halted.wait(0.001)
        return "done"

    def worked(self, answer: str) -> None:
        raise AssertionError(answer)


async def test_esc_stops_work_and_a_second_one_leaves(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        form = Slow()
        app_of(pilot).go(form)
        await settled(pilot)
        await pilot.press("ctrl+s")
        await pilot.pause(0.2)
        assert "piece" in seen(pilot)
        assert "Esc stops it" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, Slow)
        assert form.halted.is_set()
        assert "Stopped; nothing was done" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, HomeScreen)
