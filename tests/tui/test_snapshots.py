"""One picture of every screen, at the smallest size that is fully usable and at a common one."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import OpenApp
from tests.tui.driving import press, settled, type_text
from tracker.services.change_views import JournalPage
from tracker.services.journal import journal_page
from tracker.services.session import Session
from tracker.tui.desk import Where, where_is

SIZES = [(80, 24), (120, 40)]
Compare = Callable[..., bool]


async def try_volume(pilot: Pilot[int]) -> None:
    await press(pilot, "q", "enter", "e")
    await type_text(pilot, "8000")


async def adopt(pilot: Pilot[int]) -> None:
    await try_volume(pilot)
    await press(pilot, "ctrl+s")


async def refused(pilot: Pilot[int]) -> None:
    await press(pilot, "d", "enter", "s", "tab")
    await type_text(pilot, "because it steers")
    await press(pilot, "ctrl+s")


async def palette(pilot: Pilot[int]) -> None:
    await press(pilot, "ctrl+p")
    await pilot.pause(0.5)


def keys(*names: str) -> Callable[[Pilot[int]], Awaitable[None]]:
    async def walk(pilot: Pilot[int]) -> None:
        await press(pilot, *names)

    return walk


SCREENS: dict[str, Callable[[Pilot[int]], Awaitable[None]]] = {
    "opening": keys(),
    "opening_light": keys("b"),
    "requirements": keys("r"),
    "decision": keys("d", "enter"),
    "requirement": keys("r", "enter"),
    "find": keys("f"),
    "trial": try_volume,
    "adopt": adopt,
    "settle_refused": refused,
    "withdraw": keys("d", "enter", "w"),
    "new_decision": keys("n"),
    "journal": keys("j"),
    "change": keys("j", "enter"),
    "keys": keys("question_mark"),
    "palette": palette,
}


def steady(
    walk: Callable[[Pilot[int]], Awaitable[None]],
) -> Callable[[Pilot[int]], Awaitable[None]]:
    """Walk to a screen, wait for the engine, and stop the cursor from blinking."""

    async def run(pilot: Pilot[int]) -> None:
        await settled(pilot)
        await walk(pilot)
        for field in pilot.app.screen.query("Input, TextArea"):
            field.cursor_blink = False  # type: ignore[attr-defined] # both have it
        await settled(pilot)

    return run


@pytest.fixture(autouse=True)
def hashes_that_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hide what changes whenever a record gains a field, and says nothing about the screens."""

    def steady_where(session: Session) -> Where:
        return replace(where_is(session), hash="0123456789abcdef" * 4)

    def steady_journal(session: Session, **stretch: int) -> JournalPage:
        read = journal_page(session, **stretch)
        lines = tuple(replace(each, hash=f"{each.revision:064x}"[::-1]) for each in read.lines)
        return replace(read, lines=lines)

    monkeypatch.setattr("tracker.tui.desk.where_is", steady_where)
    monkeypatch.setattr("tracker.tui.screens.journal.journal_page", steady_journal)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", SCREENS)
def test_screen(name: str, size: tuple[int, int], make_app: OpenApp, snap_compare: Compare) -> None:
    assert snap_compare(make_app(), terminal_size=size, run_before=steady(SCREENS[name]))


@pytest.mark.parametrize("name", ["opening", "decision", "trial"])
def test_ascii_screen(name: str, make_app: OpenApp, snap_compare: Compare) -> None:
    app = make_app(ascii_only=True)
    assert snap_compare(app, terminal_size=(80, 24), run_before=steady(SCREENS[name]))


@pytest.mark.parametrize("name", ["opening", "decision"])
def test_screen_without_colour(
    name: str, make_app: OpenApp, snap_compare: Compare, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    assert snap_compare(make_app(), terminal_size=(80, 24), run_before=steady(SCREENS[name]))


def test_a_small_terminal(make_app: OpenApp, snap_compare: Compare) -> None:
    assert snap_compare(make_app(), terminal_size=(60, 20), run_before=steady(keys()))
