"""Driving the app in tests: waiting for the engine, and reading what is on the screen."""

from __future__ import annotations

import asyncio
from typing import TypeVar

from textual.pilot import Pilot

from tracker.tui.app import WhyboneApp
from tracker.tui.layout.guide import Step
from tracker.tui.screens.page import Page
from tracker.tui.widgets.bars import KeyLine

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


def hinted(pilot: Driver, word: str) -> str:
    """The key that the foot of the screen names for a word; there has to be one in view."""
    line = app_of(pilot).screen.query_one(KeyLine)
    return next(key for key, _, what in line.shown() if what == word)


async def walk(pilot: Driver, step: Step) -> list[str]:
    """Take a step of the guide; return what it says and does not show, once all is answered."""
    for each in step.press:
        if each.startswith('"'):
            await type_text(pilot, each[1:])
        else:
            await press(pilot, each)
    missing = list(step.shows)
    for _ in range(200):
        missing = [text for text in step.shows if text not in seen(pilot)]
        if not missing:
            break
        await pilot.pause(0.05)
    return missing
