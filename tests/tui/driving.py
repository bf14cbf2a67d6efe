"""Driving the app in tests: waiting for the engine, and reading what is on the screen."""

from __future__ import annotations

import asyncio
from typing import TypeVar

from textual.pilot import Pilot

from tracker.tui.app import WhyboneApp
from tracker.tui.screens.page import Page

Driver = Pilot[int]
P = TypeVar("P", bound=Page)


def app_of(pilot: Driver) -> WhyboneApp:
    app = pilot.app
    assert isinstance(app, WhyboneApp)
    return app


async def settled(pilot: Driver) -> None:
    """Wait until the engine thread has nothing left to do and its answers are shown."""
    for _ in range(3):
        await pilot.pause()
        done = app_of(pilot)._desk._worker.submit(lambda _: None)
        await asyncio.wrap_future(done)
        await pilot.pause()


async def press(pilot: Driver, *keys: str) -> None:
    """Press keys one by one, each fully answered."""
    for key in keys:
        await pilot.press(key)
        await settled(pilot)


async def type_text(pilot: Driver, text: str) -> None:
    """Type a text, then wait."""
    names = {" ": "space", "-": "minus", "_": "underscore", ".": "full_stop", ",": "comma"}
    names |= {"/": "slash", "[": "left_square_bracket", "]": "right_square_bracket"}
    await pilot.press(*(names.get(char, char) for char in text))
    await settled(pilot)


def seen(pilot: Driver) -> str:
    """What is on the screen, as text."""
    app = app_of(pilot)
    strips = app.screen._compositor.render_strips(app.size)
    return "\n".join(strip.text.rstrip() for strip in strips)


def page(pilot: Driver, kind: type[P]) -> P:
    """The screen that is up, which must be of a kind."""
    screen = pilot.app.screen
    assert isinstance(screen, kind)
    return screen
