"""What screens may ask of the app they run in."""

from __future__ import annotations

from collections.abc import Callable, MutableMapping, Sequence
from typing import Any, Protocol

from textual.message_pump import MessagePump
from textual.screen import Screen

from tracker.services.change_views import JournalLine
from tracker.services.views import ItemPage
from tracker.tui.desk import Job, Reply, Where
from tracker.tui.face import Face
from tracker.tui.settable import Settable
from tracker.tui.trial import Trial
from tracker.tui.trials import Trials

__all__ = ["Choice", "Draft", "Host"]

Draft = MutableMapping[str, str]
"""Texts typed into a form, by field."""

Choice = tuple[str, str, str, str]
"""Target, sign, key and words of something to choose."""


class Host(Protocol):
    """The app, as screens see it."""

    face: Face
    where: Where
    notice: tuple[str, str]

    @property
    def trials(self) -> Trials:
        """The trials there are."""
        ...

    @property
    def trial(self) -> Trial:
        """The one being worked at."""
        ...

    def draft(self, name: str) -> Draft:
        """Return the texts typed into a form so far."""
        ...

    def forget(self, name: str) -> None:
        """Drop a draft: it has been stored."""
        ...

    def ask(self, origin: MessagePump, job: Job[Any], reply: Reply, *, whole: bool = False) -> None:
        """Run a job on the engine thread; the answer comes back to `origin` as a message.

        `whole` tells that the answer is all the screen shows.
        """
        ...

    def ask_latest(self, origin: MessagePump, job: Callable[..., Any], reply: Reply) -> None:
        """Run a job that replaces the last one asked for in this way."""
        ...

    def drop_latest(self) -> None:
        """Forget the replaceable job."""
        ...

    def say(self, text: str, tone: str = "") -> None:
        """Show a notice until the user moves on."""
        ...

    def go(self, screen: Screen[None]) -> None:
        """Bring up a screen."""
        ...

    def open_item(self, key: str) -> None:
        """Open an item's page."""
        ...

    def open_change(self, line: JournalLine) -> None:
        """Open a change's page."""
        ...

    def open_revision(self, revision: int | None) -> None:
        """Open an earlier revision to look at; None leads back to the present."""
        ...

    def open_settle(self, page: ItemPage) -> None:
        """Open the form that settles a decision."""
        ...

    def open_reason(self, page: ItemPage, verb: str) -> None:
        """Open the form that asks for a reason."""
        ...

    def open_adopt(self) -> None:
        """Open the form that adopts the trial."""
        ...

    async def open_trial(self, more: Sequence[Settable] = (), focus: str = "") -> None:
        """Open the trial, with more values to edit."""
        ...

    def choose(
        self, title: str, choices: Sequence[Choice], then: Callable[[str], object], empty: str = ""
    ) -> None:
        """Let the user choose one of several."""
        ...

    def find_item(self, then: Callable[[str], object]) -> None:
        """Let the user choose an item of the programme."""
        ...

    def clear_notice(self) -> None:
        """Forget the notice: the user moved on."""
        ...

    def back(self, screens: int = 1) -> None:
        """Leave the screen, or several."""
        ...
