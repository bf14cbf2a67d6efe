"""One picture of every screen, in every look, from the smallest usable size to a large one."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.census import WALKS, Keys, go, pages
from tests.tui.conftest import OpenApp
from tests.tui.driving import settled
from tracker.services.change_views import JournalPage
from tracker.services.journal import journal_page
from tracker.services.session import Session
from tracker.tui.desk import Where, where_is

Compare = Callable[..., bool]


@dataclass(frozen=True)
class Variant:
    name: str
    look: str
    size: tuple[int, int]
    colour: bool = True


VARIANTS = (
    Variant("dark-80x24", "dark", (80, 24)),
    Variant("light-120x40", "light", (120, 40)),
    Variant("contrast-160x50", "contrast", (160, 50)),
    Variant("monochrome-160x50", "dark", (160, 50), colour=False),
)

SPECIAL: dict[str, Keys] = {
    "settle_refused": ("d", "enter", "s", "tab", '"because it steers', "ctrl+s"),
    "palette": ("ctrl+p",),
}
"""States of screens that are worth a picture of their own."""


def test_every_page_has_a_way_to_it_and_so_a_picture() -> None:
    assert set(WALKS) == set(pages())


def steady(keys: Keys, name: str = "") -> Callable[[Pilot[int]], Awaitable[None]]:
    """Walk to a screen, wait for the engine, and stop the cursor from blinking."""

    async def run(pilot: Pilot[int]) -> None:
        await go(pilot, keys)
        if keys[-1:] == ("ctrl+p",):
            await pilot.pause(0.5)
        for field in pilot.app.screen.query("Input, TextArea"):
            field.cursor_blink = False  # type: ignore[attr-defined] # both have it
        await settled(pilot)
        assert name in ("", type(pilot.app.screen).__name__)

    return run


@pytest.fixture(autouse=True)
def what_stays(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Hide what changes whenever a record gains a field, or with the folder, and says nothing."""

    def steady_where(session: Session) -> Where:
        return replace(where_is(session), hash="0123456789abcdef" * 4)

    def steady_journal(session: Session, **stretch: int) -> JournalPage:
        read = journal_page(session, **stretch)
        lines = tuple(replace(each, hash=f"{each.revision:064x}"[::-1]) for each in read.lines)
        return replace(read, lines=lines)

    monkeypatch.setattr("tracker.tui.desk.where_is", steady_where)
    monkeypatch.setattr("tracker.tui.screens.journal.journal_page", steady_journal)
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("variant", VARIANTS, ids=lambda variant: variant.name)
@pytest.mark.parametrize("name", WALKS)
def test_screen(
    name: str,
    variant: Variant,
    make_app: OpenApp,
    snap_compare: Compare,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("WHYBONE_LOOK", variant.look)
    if not variant.colour:
        monkeypatch.setenv("NO_COLOR", "1")
    walk = steady(WALKS[name], name)
    assert snap_compare(make_app(), terminal_size=variant.size, run_before=walk)


@pytest.mark.parametrize("name", SPECIAL)
def test_state(name: str, make_app: OpenApp, snap_compare: Compare) -> None:
    walk = steady(SPECIAL[name])
    assert snap_compare(make_app(), terminal_size=(80, 24), run_before=walk)


@pytest.mark.parametrize("name", ["HomeScreen", "ItemScreen", "TrialScreen", "HeadroomScreen"])
def test_ascii_screen(name: str, make_app: OpenApp, snap_compare: Compare) -> None:
    app = make_app(ascii_only=True)
    assert snap_compare(app, terminal_size=(80, 24), run_before=steady(WALKS[name]))


def test_sixteen_colours(
    make_app: OpenApp, snap_compare: Compare, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WHYBONE_LOOK", "sixteen")
    assert snap_compare(make_app(), terminal_size=(80, 24), run_before=steady(()))


def test_a_small_terminal(make_app: OpenApp, snap_compare: Compare) -> None:
    assert snap_compare(make_app(), terminal_size=(60, 20), run_before=steady(()))
