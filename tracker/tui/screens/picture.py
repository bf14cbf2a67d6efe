"""What pages that are one picture have in common."""

from __future__ import annotations

from textual.app import ComposeResult

from tracker.tui.screens.page import Page
from tracker.tui.widgets.pane import Pane

__all__ = ["PicturePage"]


class PicturePage(Page):
    """Base of the pages that paint one picture over all of their room."""

    def body(self) -> ComposeResult:
        """Compose the picture."""
        yield Pane(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.pane.focus()

    @property
    def pane(self) -> Pane:
        """What the picture is painted on."""
        return self.query_one(Pane)
