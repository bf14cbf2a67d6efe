"""A page that asks a question of many values: it takes its time, can be stopped, stays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from time import monotonic
from typing import Any, ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.command import CommandPalette
from textual.message import Message

from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel
from tracker.services.session import Session
from tracker.tui.desk import Refused
from tracker.tui.layout.asking import Asked, item_of, status_lines
from tracker.tui.layout.paper import Fixed, Paper
from tracker.tui.plain import plain
from tracker.tui.screens.help import HelpScreen, SmallScreen
from tracker.tui.screens.page import Page
from tracker.tui.widgets.roll import Roll

__all__ = ["AskingPage", "Tell"]

V = TypeVar("V")
Tell = Callable[[str], None]
"""Takes in words how far it got."""

_PACE = 0.1
"""Seconds between two words on how far it got."""


_BESIDE = (HelpScreen, SmallScreen, CommandPalette)
"""What covers a page without asking the engine for anything."""


@dataclass(slots=True)
class _Run:
    """One asking; asked to stop, it does so between two checks."""

    stop: bool = False


class Told(Message):
    """How far an asking has got."""

    def __init__(self, run: _Run, words: str) -> None:
        super().__init__()
        self.run = run
        self.words = words


class Answered(Message):
    """An asking has its answer, with the revision it holds for."""

    def __init__(self, run: _Run, answer: tuple[int, Any]) -> None:
        super().__init__()
        self.run = run
        self.answer = answer


class AskingPage(Page, Generic[V]):
    """Base of the pages that ask; what they found stays until it is asked again."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("a", "again", "ask again")]

    def __init__(self) -> None:
        super().__init__()
        self.view: V | None = None
        self._run: _Run | None = None
        self._asked = Asked("")
        self._of = 0

    # --- what a page brings

    def question(self) -> str:
        """Return what is asked, in words."""
        raise NotImplementedError

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> V:
        """Work the answer out, on the engine thread."""
        raise NotImplementedError

    def lay(self, paper: Paper, view: V) -> None:
        """Lay the answer out."""
        raise NotImplementedError

    # --- asking

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask; once there is an answer, only say that it is an older one."""
        if self.view is None and self._run is None and not self._asked.words:
            self.ask()
        else:
            self.paint()

    def ask(self) -> None:
        """Ask, in place of what is still being worked out."""
        if self._run is not None:
            self._run.stop = True
        run = self._run = _Run()
        told = [0.0]

        def tell(words: str) -> None:
            if not run.stop and monotonic() - told[0] >= _PACE:
                told[0] = monotonic()
                self.post_message(Told(run, words))

        def job(session: Session, cancel: Cancel) -> tuple[int, V]:
            view = self.work(session, lambda: run.stop or cancel(), tell)
            return session.head.revision, view

        self._asked = Asked(self.question(), running=True)
        self.host.ask_latest(self, job, partial(Answered, run))
        self.paint()

    @on(Told)
    def _told(self, event: Told) -> None:
        event.stop()
        if event.run is self._run:
            self._asked = Asked(self.question(), running=True, words=event.words)
            self.paint()

    @on(Answered)
    def _answered(self, event: Answered) -> None:
        event.stop()
        if event.run is not self._run:
            return
        self._run = None
        self._of, self.view = event.answer
        self._asked = Asked(self.question())
        self.found(event.answer[1])
        self.paint(keep=False)

    def found(self, view: V) -> None:
        """Take in a new answer, before it is painted."""

    @on(Refused)
    def _came_to_nothing(self, event: Refused) -> None:
        """Show on the page why the question has no answer."""
        if self._run is None or isinstance(event.error, CancelledError):
            return
        event.stop()
        event.prevent_default()
        self._run = None
        self._asked = Asked(self.question(), words=plain(event.error), failed=True)
        self.paint()

    def _stop(self) -> None:
        """Stop what is being worked out and say how far it got."""
        if self._run is None:
            return
        self._run.stop = True
        self._run = None
        words = self._asked.words or "nothing was looked at yet"
        self._asked = Asked(self.question(), words=f"Stopped, got as far as: {words}")
        self.paint()

    def on_screen_suspend(self) -> None:
        """Stop when the user walks on: what they walk to needs the engine."""
        if not isinstance(self.app.screen, _BESIDE):
            self._stop()

    def on_unmount(self) -> None:
        """Stop when the page is left for good."""
        if self._run is not None:
            self._run.stop = True

    # --- showing

    def paint(self, *, keep: bool = True) -> None:
        """Show how it stands and what was found; from its beginning unless the place is kept."""
        for roll in self.query(Roll):
            roll.show(self._lay, keep=keep)
        self.refresh_bindings()

    def _lay(self, width: int) -> Fixed:
        paper = Paper(width, self.host.face)
        asked, view = self._asked, self.view
        answered = None if view is None else self._of
        where = self.host.where.revision
        status_lines(
            paper,
            Asked(asked.title, asked.running, asked.words, asked.failed, answered, where),
        )
        if view is not None:
            self.lay(paper, view)
        return paper.done()

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        if not self.chosen(event.target):
            self.host.open_item(item_of(event.target))

    def chosen(self, target: str) -> bool:  # noqa: ARG002 - pages with more than items on them do
        """Do what choosing a line does beside opening an item; tell whether that was it."""
        return False

    def action_again(self) -> None:
        """Ask again."""
        self.ask()

    def action_back(self) -> None:
        """Stop what is being worked out, or leave the page."""
        if self._run is not None:
            self._stop()
        else:
            super().action_back()
