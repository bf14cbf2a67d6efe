"""What pages with a list under a finder have in common: typing narrows, the list is chosen from."""

from __future__ import annotations

from textual import on
from textual.widgets import Input

from tracker.tui.screens.page import Page
from tracker.tui.widgets.finder import Finder
from tracker.tui.widgets.roll import Roll

__all__ = ["FindingPage"]


class FindingPage(Page):
    """Base of the pages that list what meets a typed text."""

    def narrow(self) -> None:
        """Show what meets the text as it is now."""
        raise NotImplementedError

    def chosen(self, target: str) -> None:
        """Do what choosing a line does: open its item."""
        self.host.open_item(target)

    @on(Input.Changed)
    def _narrow(self, event: Input.Changed) -> None:
        event.stop()
        self.narrow()

    @on(Input.Submitted)
    def _submit(self, event: Input.Submitted) -> None:
        event.stop()
        self.roll().action_choose()

    @on(Finder.Step)
    def _step(self, event: Finder.Step) -> None:
        event.stop()
        self.roll().action_step(event.by)

    @on(Roll.Chosen)
    def _choose(self, event: Roll.Chosen) -> None:
        event.stop()
        self.chosen(event.target)
