"""Forms whose work takes a while: they say how far it is, and Esc stops it."""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic
from typing import Any

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel
from tracker.services.session import Session
from tracker.tui.screens.form import Form

__all__ = ["LabourForm", "Tell"]

_PACE = 0.1
"""Seconds between two words on how far it got."""


@dataclass(slots=True)
class Run:
    """Work being done; asked to stop, it does so between two pieces of it."""

    stop: bool = False
    told: float = 0.0


class Told(Message):
    """How far the work is."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


class Worked(Message):
    """The work is done."""

    def __init__(self, answer: Any) -> None:  # noqa: ANN401 - what the work gives
        super().__init__()
        self.answer = answer


class Tell:
    """Takes in words how far work got, and passes on as much as can be read.

    Parameters
    ----------
    run : Run
        The work.
    form : LabourForm
        Shows it.
    """

    def __init__(self, run: Run, form: LabourForm) -> None:
        self._run = run
        self._form = form

    def __call__(self, words: str) -> None:
        """Say how far it got."""
        if not self._run.stop and monotonic() - self._run.told >= _PACE:
            self._run.told = monotonic()
            self._form.post_message(Told(words))


class LabourForm(Form):
    """A form that starts work when it is stored."""

    def __init__(self, draft: str, seen: int | None = None) -> None:
        super().__init__(draft, seen)
        self._run: Run | None = None

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> Any:  # noqa: ANN401 - what it gives
        """Do it, on the engine thread."""
        raise NotImplementedError

    def begun(self) -> str:
        """Say what is being done."""
        raise NotImplementedError

    def worked(self, answer: Any) -> None:  # noqa: ANN401 - what the work gives
        """Take in that it is done."""
        raise NotImplementedError

    def body(self) -> ComposeResult:
        """Compose the fields, and how far the work is."""
        yield from super().body()
        yield Static(id="doing")

    def store(self) -> None:
        """Begin."""
        run = self._run = Run()
        self._say(self.begun())

        def job(session: Session) -> Any:  # noqa: ANN401 - what the work gives
            return self.work(session, lambda: run.stop, Tell(run, self))

        self.host.ask(self, job, Worked)

    def _say(self, words: str) -> None:
        text = f"{words}. Esc stops it." if words else ""
        self.query_one("#doing", Static).update(Content(self.host.face.clip(text, 200)))

    @on(Told)
    def _told(self, event: Told) -> None:
        event.stop()
        if self._run is not None:
            self._say(event.words)

    @on(Worked)
    def _worked(self, event: Worked) -> None:
        event.stop()
        self._run, self._busy = None, False
        self._say("")
        self.worked(event.answer)
        self.host.forget(self._draft)

    def refused(self, error: BaseException) -> None:
        """Show why it came to nothing."""
        self._run = None
        self._say("")
        if isinstance(error, CancelledError):
            self._busy = False
            self.host.say("Stopped; nothing was done")
            return
        super().refused(error)

    def action_back(self) -> None:
        """Stop the work, or leave."""
        if self._run is None:
            super().action_back()
        else:
            self._run.stop = True
            self._say("Stopping")
