"""The journal over time, month by month, with the gates."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.change_views import JournalLine, JournalPage
from tracker.services.journal import journal_page
from tracker.services.pictures.timeline import STRETCH, Month, TimelineView, timeline
from tracker.tui.layout.journal import journal_row
from tracker.tui.layout.paper import Fixed, Line, Paper
from tracker.tui.layout.timeline import TimelineLook, month_under, months_of, timeline_lines
from tracker.tui.screens.journal import JournalScreen
from tracker.tui.screens.page import Page
from tracker.tui.widgets.pane import Pane
from tracker.tui.widgets.roll import Roll

__all__ = ["TimelineScreen"]

_MOST = 200


class Counted(Message):
    """A stretch of the journal has been counted."""

    def __init__(self, view: TimelineView) -> None:
        super().__init__()
        self.view = view


class Listed(Message):
    """The changes of a month have been read."""

    def __init__(self, page: JournalPage) -> None:
        super().__init__()
        self.page = page


class TimelineScreen(Page):
    """Changes by month and author over the gates, and the changes of one month."""

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "month(-1)", "month", priority=True),
        Binding("right", "month(1)", "next month", show=False, priority=True),
        Binding("shift+left", "busy(-1)", "month with changes before", show=False),
        Binding("shift+right", "busy(1)", "next month with changes", show=False),
        Binding("o", "open_journal", "journal from here"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._view: TimelineView | None = None
        self._months: list[str] = []
        self._chosen = ""
        self._lines: tuple[JournalLine, ...] = ()
        self._listed = ""

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Timeline"

    def body(self) -> ComposeResult:
        """Compose the picture over the list."""
        pane = Pane(self.host.face, id="bars")
        pane.can_focus = False
        yield pane
        yield Roll(self.host.face, id="changes")

    def on_mount(self) -> None:
        """Begin."""
        self.roll("changes").focus()

    @property
    def _pane(self) -> Pane:
        return self.query_one(Pane)

    def load(self) -> None:
        """Ask for the journal, a stretch at a time."""
        job = partial(timeline, so_far=self._view, most=STRETCH)
        self.host.ask(self, job, Counted, whole=True)

    @on(Counted)
    def _show(self, event: Counted) -> None:
        event.stop()
        view = self._view = event.view
        self._months = months_of(view)
        if view.read < view.revision:
            self.load()
        self._listed = ""
        self._draw()

    @property
    def _month(self) -> str:
        """The month at the cursor: the last one with changes, until the user moves."""
        if self._chosen in self._months:
            return self._chosen
        months = self._view.months if self._view else ()
        return months[-1].month if months else next(iter(self._months), "")

    @property
    def _at(self) -> int:
        return self._months.index(self._month) if self._months else 0

    @property
    def _changes(self) -> Month | None:
        months = self._view.months if self._view else ()
        return next((each for each in months if each.month == self._month), None)

    def _draw(self) -> None:
        self._pane.draw(self._lay)
        month = self._changes
        if self._month != self._listed:
            self._listed, self._lines = self._month, ()
            if month is not None:
                top = month.last + 1
                job = partial(journal_page, limit=min(top - month.first, _MOST), before=top)
                self.host.ask(self, job, Listed)
        self._list()
        self.refresh_bindings()

    def _lay(self, width: int, height: int) -> list[Line]:
        if self._view is None:
            return []
        look = TimelineLook(self._view, self._months, self._at)
        return timeline_lines(look, width, height, self.host.face)

    @on(Listed)
    def _take_list(self, event: Listed) -> None:
        event.stop()
        lines = tuple(each for each in event.page.lines if each.at.startswith(self._month))
        if self._month == self._listed and lines:
            self._lines = lines
            self._list()

    def _list(self) -> None:
        self.roll("changes").show(self._lay_list)

    def _lay_list(self, width: int) -> Fixed:
        face, month, view = self.host.face, self._changes, self._view
        paper = Paper(width, face)
        if view is None:
            paper.text("The journal is being read.", "quiet")
            return paper.done()
        for gate in view.gates:
            if self._month and gate.date.startswith(self._month):
                paper.text(f"Gate {gate.key} {gate.title}, {gate.date}", "near", target=gate.key)
        if month is None:
            paper.text(f"{self._month}: no changes", "head")
            return paper.done()
        who = ", ".join(f"{name} {count}" for name, count in month.authors)
        paper.text(f"{month.month}: {month.count} changes: {who}", "head")
        paper.lines += [journal_row(each, width, face) for each in self._lines]
        if len(self._lines) < month.count and self._lines:
            paper.text("The journal shows the rest of this month.", "quiet")
        return paper.done()

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        line = next((each for each in self._lines if str(each.revision) == event.target), None)
        if line is not None:
            self.host.open_change(line)
        else:
            self.host.open_item(event.target)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        name = action.partition("(")[0]
        if name in ("month", "busy", "open_journal") and not self._months:
            return "there is nothing to show over time"
        return "no change was made then" if name == "open_journal" and not self._changes else ""

    def action_month(self, step: int) -> None:
        """Go to the next month, or the one before."""
        if self.allowed("month"):
            self._chosen = self._months[min(max(self._at + step, 0), len(self._months) - 1)]
            self._draw()

    def action_busy(self, step: int) -> None:
        """Go to the next month that has changes, or the one before."""
        if self._view is None or not self.allowed("busy"):
            return
        busy = [self._months.index(each.month) for each in self._view.months]
        here = self._at
        if step > 0:
            goal = next((each for each in busy if each > here), here)
        else:
            goal = next((each for each in reversed(busy) if each < here), here)
        self._chosen = self._months[goal]
        self._draw()

    def action_open_journal(self) -> None:
        """Open the journal at the newest change of the month."""
        month = self._changes
        if self.allowed("open_journal") and month is not None:
            self.host.go(JournalScreen(at=month.last))

    @on(Pane.Pressed)
    def _pointed(self, event: Pane.Pressed) -> None:
        """Go to the month that was clicked."""
        event.stop()
        if self._view is None:
            return
        look = TimelineLook(self._view, self._months, self._at)
        at = month_under(look, self._pane.room[0], event.column)
        if at is not None:
            self._chosen = self._months[at]
            self._draw()
