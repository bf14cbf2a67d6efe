"""Choosing a revision from the journal."""

from __future__ import annotations

from collections.abc import Callable

from textual import on

from tracker.tui.screens.journal import JournalScreen
from tracker.tui.widgets.roll import Roll

__all__ = ["EarlierScreen", "RevisionsScreen"]


class RevisionsScreen(JournalScreen):
    """The journal, to choose one of its revisions.

    Parameters
    ----------
    title : str
        What the title line calls it.
    then : callable
        Gets the revision chosen, once the screen is gone.
    """

    CAUTIOUS = False

    def __init__(self, title: str, then: Callable[[int], object]) -> None:
        super().__init__()
        self._title = title
        self._then = then

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return self._title

    @on(Roll.Chosen)
    def _choose(self, event: Roll.Chosen) -> None:
        event.stop()
        event.prevent_default()
        self.host.back()
        self.app.call_later(self._then, int(event.target))


class EarlierScreen(RevisionsScreen):
    """The journal, to open the programme as it was at one of its revisions."""

    def __init__(self) -> None:
        super().__init__("Which revision to look at", self._look)

    def _look(self, revision: int) -> None:
        self.host.open_revision(revision)
