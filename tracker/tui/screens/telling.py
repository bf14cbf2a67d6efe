"""Opening the change an answer names."""

from __future__ import annotations

from functools import partial
from typing import TypeVar

from textual import on
from textual.message import Message

from tracker.services.change_views import JournalPage
from tracker.services.journal import journal_page
from tracker.tui.layout.asking import revision_at
from tracker.tui.screens.asking import AskingPage

__all__ = ["TellingPage"]

V = TypeVar("V")


class Change(Message):
    """A change has been read."""

    def __init__(self, page: JournalPage) -> None:
        super().__init__()
        self.page = page


class TellingPage(AskingPage[V]):
    """Base of the pages whose answers name changes of the journal."""

    def chosen(self, target: str) -> bool:
        """Open a change."""
        revision = revision_at(target)
        if revision is not None:
            self.host.ask(self, partial(journal_page, limit=1, before=revision + 1), Change)
        return revision is not None

    @on(Change)
    def _open_change(self, event: Change) -> None:
        event.stop()
        for line in event.page.lines:
            self.host.open_change(line)
