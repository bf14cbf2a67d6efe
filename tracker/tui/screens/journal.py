"""The journal, newest first, and the page of one change."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.change_views import JournalLine, JournalPage
from tracker.services.journal import journal_page
from tracker.tui.finding import Haystack
from tracker.tui.jobs import undo_named
from tracker.tui.layout.journal import change_lines, journal_row, waiting_row
from tracker.tui.layout.paper import Line, Lines, Rows
from tracker.tui.messages import Undid
from tracker.tui.screens.finding import FindingPage
from tracker.tui.screens.page import Page
from tracker.tui.widgets.finder import Finder
from tracker.tui.widgets.roll import Roll

__all__ = ["ChangeScreen", "JournalScreen"]

_STRETCH = 200


class Stretch(Message):
    """A stretch of the journal has been read."""

    def __init__(self, page: JournalPage) -> None:
        super().__init__()
        self.page = page


class JournalScreen(FindingPage):
    """Every change, newest first, read as far as one looks.

    Parameters
    ----------
    at : int
        The change to begin at; the newest when 0.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "narrow", "find here"),
        Binding("z", "undo_this", "undo this change"),
    ]

    def __init__(self, at: int = 0) -> None:
        super().__init__()
        self._first = at
        self._head = 0
        self._read: dict[int, JournalLine] = {}
        self._asked: set[int] = set()

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Journal"

    def body(self) -> ComposeResult:
        """Compose the list under its finder."""
        yield Finder(self.host.face)
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for what was stored since."""
        self.host.ask(self, partial(journal_page, limit=_STRETCH), Stretch, whole=True)

    @on(Stretch)
    def _show(self, event: Stretch) -> None:
        event.stop()
        self._head = event.page.revision
        self._read.update({line.revision: line for line in event.page.lines})
        if self._finding():
            self._want_rest()
        self._fill(keep=True)
        if self._first and self.roll().point_at(str(self._first)):
            self._first = 0

    def _want(self, revision: int) -> None:
        """Ask for the stretch a revision is in, unless that has been done."""
        top = -(-revision // _STRETCH) * _STRETCH
        if revision > 0 and revision not in self._read and top not in self._asked:
            self._asked.add(top)
            job = partial(journal_page, limit=_STRETCH, before=top + 1)
            self.host.ask(self, job, Stretch)

    def _want_rest(self) -> None:
        """Ask for the newest stretch not read yet: finding looks through all of the journal."""
        revisions = range(self._head, 0, -1)
        self._want(next((each for each in revisions if each not in self._read), 0))

    def _finding(self) -> bool:
        return bool(self.query_one(Finder).typed.strip())

    def _fill(self, *, keep: bool) -> None:
        revisions = self._revisions()
        self.query_one(Finder).count(len(revisions), self._head)
        self.roll().show(partial(self._lay, revisions), keep=keep)

    def _revisions(self) -> range | list[int]:
        if not self._finding():
            return range(self._head, 0, -1)
        lines = [self._read[each] for each in sorted(self._read, reverse=True)]
        hay = Haystack((str(each.revision), _words(each)) for each in lines)
        return [lines[at].revision for at in hay.matches(self.query_one(Finder).typed)]

    def _lay(self, revisions: range | list[int], width: int) -> Lines:
        face = self.host.face

        def lay(at: int) -> tuple[Line]:
            line = self._read.get(revisions[at])
            if line is None:
                self._want(revisions[at])
                return (waiting_row(revisions[at], width, face),)
            return (journal_row(line, width, face),)

        return Rows([str(each) for each in revisions], lay)

    def narrow(self) -> None:
        """Show what meets the text as it is now."""
        self._want_rest()
        self._fill(keep=False)

    def chosen(self, target: str) -> None:
        """Open the change chosen."""
        line = self._read.get(int(target))
        if line is not None:
            self.host.open_change(line)

    def action_narrow(self) -> None:
        """Type to find a change."""
        self.query_one(Finder).begin()

    def action_back(self) -> None:
        """Show the whole journal again, or leave it."""
        if self.query_one(Finder).end():
            self.roll().focus()
        else:
            super().action_back()

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        return (
            "no change is at the cursor" if action == "undo_this" and not self.roll().target else ""
        )

    def action_undo_this(self) -> None:
        """Undo the change at the cursor."""
        if self.allowed("undo_this"):
            revision = int(self.roll().target)
            self.host.ask(self, partial(undo_named, revision=revision), Undid)


def _words(line: JournalLine) -> str:
    return " ".join((line.author, line.reason, line.hash, *line.what))


class ChangeScreen(Page):
    """One change: what, who, why, and its place in the chain.

    Parameters
    ----------
    line : JournalLine
        The change.
    """

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("z", "undo_this", "undo this change")]

    def __init__(self, line: JournalLine) -> None:
        super().__init__()
        self._line = line

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Change {self._line.revision}"

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Show the change: it never changes."""
        self.roll().show(lambda width: change_lines(self._line, width, self.host.face))

    def action_undo_this(self) -> None:
        """Undo this change."""
        self.host.ask(self, partial(undo_named, revision=self._line.revision), Undid)
