"""A list of all items of one kind."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.overview import listing
from tracker.services.views import Listing, ListLine
from tracker.tui.finding import Haystack
from tracker.tui.layout.paper import Lines, Paper, Rows, list_row
from tracker.tui.screens.finding import FindingPage
from tracker.tui.widgets.finder import Finder
from tracker.tui.widgets.roll import Roll

__all__ = ["ListScreen"]


class Listed(Message):
    """The list has been read."""

    def __init__(self, page: Listing) -> None:
        super().__init__()
        self.page = page


class ListScreen(FindingPage):
    """All items of one kind.

    Parameters
    ----------
    kind : str
        One of the kinds of items.
    title : str
        What the list is called.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("slash", "narrow", "find here")]

    def __init__(self, kind: str, title: str) -> None:
        super().__init__()
        self.kind = kind
        self._title = title
        self._lines: tuple[ListLine, ...] = ()
        self._hay = Haystack()

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return self._title

    def body(self) -> ComposeResult:
        """Compose the list under its finder."""
        yield Finder(self.host.face)
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for the list."""
        self.host.ask(self, partial(listing, kind=self.kind), Listed, whole=True)

    @on(Listed)
    def _show(self, event: Listed) -> None:
        event.stop()
        self._lines = event.page.lines
        self._hay = Haystack((line.key, line.title) for line in self._lines)
        self._fill(keep=True)

    def _fill(self, *, keep: bool) -> None:
        finder = self.query_one(Finder)
        found = self._hay.matches(finder.typed)
        finder.count(len(found), len(self._lines))
        lines = [self._lines[at] for at in found]
        self.roll().show(partial(self._lay, lines), keep=keep)

    def _lay(self, lines: list[ListLine], width: int) -> Lines:
        face = self.host.face
        if not lines:
            paper = Paper(width, face)
            paper.text(f"No {self.kind} here." if not self._lines else "Nothing meets that.")
            return paper.done()
        signed = any(each.sign for each in lines)
        return Rows(
            [each.key for each in lines],
            lambda at: (list_row(face, lines[at], width, signed=signed),),
        )

    def narrow(self) -> None:
        """Show what meets the text as it is now."""
        self._fill(keep=False)

    def action_narrow(self) -> None:
        """Type to find an item in the list."""
        self.query_one(Finder).begin()

    def action_back(self) -> None:
        """Show the whole list again, or leave it."""
        if self.query_one(Finder).end():
            self.roll().focus()
        else:
            super().action_back()
