"""The guide: a walk through the demo, with the keys to press."""

from __future__ import annotations

from textual.app import ComposeResult

from tracker.tui.layout.guide import WALK, guide_lines
from tracker.tui.screens.page import Page, key_name
from tracker.tui.widgets.roll import Roll

__all__ = ["GuideScreen"]


class GuideScreen(Page):
    """Five minutes through the demo."""

    CAUTIOUS = False

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Guide"

    def body(self) -> ComposeResult:
        """Compose the walk."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Show the walk."""
        self.roll().show(lambda width: guide_lines(WALK, width, self.host.face, key_name))
