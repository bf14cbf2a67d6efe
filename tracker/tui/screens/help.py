"""The keys valid on a screen, and the notice that the terminal is too small."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from tracker.tui.layout.keys import KeyUse, key_lines
from tracker.tui.screens.guide import GuideScreen
from tracker.tui.screens.page import Page, key_name
from tracker.tui.widgets.roll import Roll

__all__ = ["LEAST", "HelpScreen", "SmallScreen", "key_uses"]

_HERE, _EVERYWHERE, _MOVING = "On this page", "Everywhere", "Moving and typing"
_KEYBOARD = ("app.focus_next", "app.focus_previous", "screen.copy_text")
_SIDEWAYS = ("scroll_left", "scroll_right", "page_left", "page_right")

LEAST = (80, 24)
"""Smallest terminal that shows everything, in columns and lines."""


def key_uses(screen: Page) -> Sequence[KeyUse]:
    """Return the keys valid on a screen, with why each cannot be used now."""
    uses: dict[str, KeyUse] = {}
    for key, active in screen.active_bindings.items():
        binding = active.binding
        if not binding.description or binding.action in _SIDEWAYS:
            continue
        names = f"{uses[binding.action].names} " if binding.action in uses else ""
        where = _HERE if active.node is screen else _EVERYWHERE
        if active.node not in (screen, screen.app) or binding.action in _KEYBOARD:
            where = _MOVING
        uses[binding.action] = KeyUse(
            where=where,
            names=names + key_name(key),
            what=binding.description.lower(),
            why_not=screen.why(binding.action) if where == _HERE else "",
        )
    return sorted(uses.values(), key=lambda each: (_HERE, _EVERYWHERE, _MOVING).index(each.where))


class HelpScreen(Page):
    """The keys valid on the screen below.

    Parameters
    ----------
    keys : sequence of KeyUse
        What they do there.
    """

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "guide", "guide: five minutes in the demo"),
    ]

    def __init__(self, keys: Sequence[KeyUse]) -> None:
        super().__init__()
        self._keys = keys

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Keys"

    def body(self) -> ComposeResult:
        """Compose the list."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Show the keys."""
        self.roll().show(lambda width: key_lines(self._keys, width, self.host.face))

    def action_guide(self) -> None:
        """Go on to the guide."""
        self.host.go(GuideScreen())


class SmallScreen(Screen[None]):
    """Covers everything while the terminal is too small to show it."""

    def compose(self) -> ComposeResult:
        """Compose the notice."""
        with Container():
            yield Static(self._words(), id="small")

    def _words(self) -> Content:
        width, height = self.app.size
        return Content(
            f"This needs {LEAST[0]} columns and {LEAST[1]} lines; here are {width} and {height}. "
            "Make the window larger, or the letters smaller. Nothing is lost meanwhile."
        )

    def on_resize(self) -> None:
        """Fit the new size."""
        self.query_one("#small", Static).update(self._words())
