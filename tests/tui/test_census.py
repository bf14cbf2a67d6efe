"""What holds for every screen there is: ways out, keys by name, the caution, the signs."""

from __future__ import annotations

import re
import unicodedata

import pytest
from textual import events
from textual.command import DiscoveryHit

from tests.tui.census import WALKS, go
from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, press, seen, settled
from tests.tui.test_hostile_corpus import TYPING
from tracker.services.wording import CAUTION, SIGNS
from tracker.tui.face import Face
from tracker.tui.palette import Actions
from tracker.tui.places.index import ANYWHERE
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.page import Page

SIZE = (110, 40)
PLUMBING = {
    "app.focus_next", "app.focus_previous", "back", "command_palette", "help_quit",
    "screen.copy_text", "stay",
}  # fmt: skip
FREEZING = {"PackScreen", "SinceScreen"}
"""The way there freezes a gate: each is walked to in a programme of its own."""

VERDICTS = re.compile(
    "|".join(f"{re.escape(sign)} {word}" for word, (sign, _) in SIGNS.items() if sign != "…")
)


async def offered(pilot: Driver) -> set[str]:
    """Titles the palette offers on the screen that is up."""
    provider = Actions(pilot.app.screen)
    hits = [hit async for hit in provider.discover()]
    assert all(isinstance(hit, DiscoveryHit) for hit in hits)
    return {str(hit.text).partition("  (")[0].casefold() for hit in hits}


async def test_what_holds_for_every_screen(make_app: OpenApp) -> None:
    """Walk to each: the caution stands by verdicts, the palette knows the keys, Esc leads back."""
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        refused = 0
        for name in WALKS:
            if name not in FREEZING:
                refused += await assert_holds(pilot, name)
        assert refused >= 5


@pytest.mark.parametrize("name", sorted(FREEZING))
async def test_what_holds_for_every_screen_holds_after_freezing(
    name: str, make_app: OpenApp
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await assert_holds(pilot, name)


async def assert_holds(pilot: Driver, name: str) -> int:
    """Walk to a screen and back; tell how many actions it would refuse."""
    await go(pilot, WALKS[name])
    screen = pilot.app.screen
    assert isinstance(screen, Page)
    assert type(screen).__name__ == name
    assert_cautious(pilot, name)
    assert described(screen) <= await offered(pilot), name
    await assert_no_paste_is_a_key(pilot, name)
    refused = await count_refused(pilot, screen)
    for _ in range(8):
        if isinstance(pilot.app.screen, HomeScreen):
            break
        await press(pilot, "escape")
    assert isinstance(pilot.app.screen, HomeScreen), name
    return refused


def assert_cautious(pilot: Driver, name: str) -> None:
    """Verdicts never stand without the caution; the list of keys only explains the signs."""
    shown = " ".join(seen(pilot).split())
    if VERDICTS.search(shown) and name != "HelpScreen":
        assert CAUTION in shown, name


def described(screen: Page) -> set[str]:
    """What the keys of a screen and of the app do, as they are described."""
    return {
        active.binding.description.casefold()
        for active in screen.active_bindings.values()
        if active.node in (screen, screen.app)
        and active.binding.description
        and active.binding.action not in PLUMBING
    }


async def assert_no_paste_is_a_key(pilot: Driver, name: str) -> None:
    if name in TYPING:
        return
    screen, revision = pilot.app.screen, app_of(pilot).where.revision
    pilot.app.post_message(events.Paste("qdwnsu\x11\x1b[A\r\n"))
    await pilot.pause()
    assert pilot.app.screen is screen, name
    assert app_of(pilot).where.revision == revision


async def count_refused(pilot: Driver, screen: Page) -> int:
    """Every action a page would refuse says why and does nothing."""
    refused = 0
    for active in list(screen.active_bindings.values()):
        why = screen.why_not(active.binding.action) if active.node is screen else ""
        if why:
            refused += 1
            await pilot.app.run_action(active.binding.action, screen)
            await pilot.pause()
            assert pilot.app.screen is screen, active.binding.action
            assert why in app_of(pilot).notice[0], active.binding.action
    return refused


async def test_every_place_is_among_the_views_and_in_the_palette(make_app: OpenApp) -> None:
    async with make_app().run_test(size=(110, 60)) as pilot:
        await settled(pilot)
        found = await offered(pilot)
        for place in ANYWHERE:
            assert not place.key or place.title.casefold() in found
        await press(pilot, "v")
        shown = seen(pilot)
        for place in ANYWHERE:
            assert place.title in shown


@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_verdict_and_standing_has_a_sign_of_its_own(ascii_only: bool) -> None:
    """Without colour or grey, by shape and by word alone."""
    face = Face(ascii_only=ascii_only)
    groups = (
        ("met", "tight", "missed", "unknown"),
        ("stands", "strained", "broken", "unproven", "shifted"),
        ("current", "waiting", "failed", "unbound"),
    )
    assert {word for group in groups for word in group} == set(SIGNS)
    for group in groups:
        assert len({face.symbol(word) for word in group}) == len(group)
        assert len({face.sign(word) for word in group}) == len(group)
    for word in SIGNS:
        assert not {unicodedata.category(char) for char in face.symbol(word)} & {"Cc", "Cf"}
