"""Two ways to drive the app: every act by keyboard, and every act by mouse; only typing is both."""

from __future__ import annotations

from abc import ABC, abstractmethod

from rich.cells import cell_len
from textual.command import CommandList
from textual.widget import Widget
from textual.widgets import Input, TextArea

from tests.tui.driving import Driver, press, seen, settled, type_text
from tracker.tui.places.index import BY_NAME
from tracker.tui.widgets.bars import KeyLine
from tracker.tui.widgets.field import Labelled, Pick
from tracker.tui.widgets.finder import Finder
from tracker.tui.widgets.roll import Roll

__all__ = ["Hand", "Keyboard", "Mouse"]

MOST_KEYS = 60
"""Presses after which a place counts as out of reach."""


def the_roll(pilot: Driver) -> Roll:
    """The list or page that is up."""
    return pilot.app.screen.query(Roll).first()


def typed_into(pilot: Driver, name: str) -> Widget:
    """What is typed into in a field of a form."""
    field = next(each for each in pilot.app.screen.query(Labelled) if each.name == name)
    return next(each for each in field.query("*") if isinstance(each, Input | TextArea))


def pick_of(pilot: Driver, name: str) -> Pick:
    """The row of words to pick from."""
    return next(each for each in pilot.app.screen.query(Pick) if each.name == name)


class Hand(ABC):
    """What an engineer does on a screen."""

    @abstractmethod
    async def do(self, pilot: Driver, what: str) -> None:
        """Do something the screen offers, by the words it offers it with."""

    @abstractmethod
    async def view(self, pilot: Driver, name: str) -> None:
        """Go to a place by its name."""

    @abstractmethod
    async def open(self, pilot: Driver, target: str) -> None:
        """Open what a line of the list or page leads to."""

    @abstractmethod
    async def into(self, pilot: Driver, widget: Widget) -> None:
        """Go to something on the page."""

    @abstractmethod
    async def pick(self, pilot: Driver, name: str, word: str) -> None:
        """Pick one of a few words."""

    async def put(self, pilot: Driver, name: str, text: str) -> None:
        """Type into a field, in place of what stands there."""
        await self.into(pilot, typed_into(pilot, name))
        await press(pilot, "ctrl+e", "ctrl+u")
        await type_text(pilot, text)


class Keyboard(Hand):
    """Keys and nothing else."""

    async def do(self, pilot: Driver, what: str) -> None:
        active = pilot.app.screen.active_bindings
        await press(
            pilot, next(key for key, it in active.items() if it.binding.description == what)
        )

    async def view(self, pilot: Driver, name: str) -> None:
        place = BY_NAME[name]
        if place.key:
            await press(pilot, place.key)
            return
        await press(pilot, "v")
        await type_text(pilot, name)
        await press(pilot, "enter")

    async def open(self, pilot: Driver, target: str) -> None:
        roll = the_roll(pilot)
        finding = any(not each.has_class("idle") for each in pilot.app.screen.query(Finder))
        if not finding:
            await self.into(pilot, roll)
            await press(pilot, "home")
        for _ in range(MOST_KEYS):
            if roll.target == target:
                break
            await press(pilot, "down")
        assert roll.target == target
        await press(pilot, "enter")

    async def into(self, pilot: Driver, widget: Widget) -> None:
        for _ in range(MOST_KEYS):
            if widget.has_focus:
                break
            await press(pilot, "tab")
        assert widget.has_focus

    async def pick(self, pilot: Driver, name: str, word: str) -> None:
        pick = pick_of(pilot, name)
        await self.into(pilot, pick)
        for _ in range(MOST_KEYS):
            if pick.value == word:
                break
            await press(pilot, "right")
        assert pick.value == word


async def click(pilot: Driver, x: int, y: int) -> None:
    """Click at a place of the screen."""
    await pilot.click(offset=(x, y))
    await settled(pilot)


class Mouse(Hand):
    """Clicks; what is no button at the foot is among the actions."""

    async def do(self, pilot: Driver, what: str) -> None:
        if not await self._foot(pilot, what):
            await self._action(pilot, what)

    async def _foot(self, pilot: Driver, what: str) -> bool:
        foot, left = pilot.app.screen.query_one(KeyLine), 0
        for _, name, words in foot.shown():
            if words == what:
                await click(pilot, foot.region.x + left + 1, foot.region.y)
                return True
            left += cell_len(f" {name} {words} ")
        return False

    async def _action(self, pilot: Driver, what: str) -> None:
        assert await self._foot(pilot, "actions")
        await type_text(pilot, what)
        await pilot.pause(0.3)
        await settled(pilot)
        title, offered = what[:1].upper() + what[1:], pilot.app.screen.query_one(CommandList).region
        lines = seen(pilot).splitlines()[offered.y : offered.bottom]
        at = next(at for at, line in enumerate(lines) if line.strip().startswith(f"{title}  ("))
        await click(pilot, offered.x + 4, offered.y + at)

    async def view(self, pilot: Driver, name: str) -> None:
        await self.do(pilot, "views")
        await self.open(pilot, name)

    async def open(self, pilot: Driver, target: str) -> None:
        roll = the_roll(pilot)
        place = roll._lines.place_of(target)
        assert place is not None
        y = place - roll.scroll_offset.y
        assert 0 <= y < roll.region.height
        was = roll.target
        await click(pilot, roll.region.x + 2, roll.region.y + y)
        if was != target:  # the first click moves the cursor there
            assert roll.target == target
            await click(pilot, roll.region.x + 2, roll.region.y + y)

    async def into(self, pilot: Driver, widget: Widget) -> None:
        await click(pilot, widget.region.x + 1, widget.region.y)
        assert widget.has_focus

    async def pick(self, pilot: Driver, name: str, word: str) -> None:
        pick = pick_of(pilot, name)
        line = pick.render_line(0).text
        await click(pilot, pick.content_region.x + line.index(word), pick.region.y)
        assert pick.value == word
