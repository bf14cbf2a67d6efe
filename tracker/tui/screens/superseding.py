"""The form that lets a decision take the place of another."""

from __future__ import annotations

from functools import partial

from textual import on
from textual.app import ComposeResult
from textual.message import Message
from textual.widgets import Input

from tracker.services.actions import supersede
from tracker.services.overview import listing
from tracker.services.views import Listing
from tracker.tui.host import Choice
from tracker.tui.messages import Stored
from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Entry, Field

__all__ = ["SupersedeScreen"]


class Decisions(Message):
    """The decisions there are have been listed."""

    def __init__(self, page: Listing) -> None:
        super().__init__()
        self.page = page


class SupersedeScreen(Form):
    """Asks which decision takes the place of this one, and why.

    Parameters
    ----------
    key : str
        Key of the decision that is superseded.
    """

    def __init__(self, key: str) -> None:
        super().__init__(f"supersede {key}")
        self._key = key
        self._choices: list[Choice] = []

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Supersede {self._key}"

    def heading(self) -> str:
        """Return what the form is about."""
        return f"{self._key} is withdrawn, and says which decision took its place"

    def fields(self) -> ComposeResult:
        """Compose the successor and the reason."""
        value = self.typed.get("new", "")
        yield Field(self.host.face, "new", "Which takes its place", value, tail="↵ picks")
        yield self.lines("why", "Why")

    def on_mount(self) -> None:
        """Begin."""
        self._seen = self.host.where.revision
        self.query_one(Field).take_focus()
        self.host.ask(self, partial(listing, kind="decision"), Decisions)

    @on(Decisions)
    def _listed(self, event: Decisions) -> None:
        event.stop()
        self._choices = [
            (each.key, each.sign, each.key, each.title)
            for each in event.page.lines
            if each.key != self._key
        ]

    @on(Input.Submitted)
    def _pick(self, event: Input.Submitted) -> None:
        event.stop()
        self.host.choose(
            f"Which decision takes the place of {self._key}",
            self._choices,
            self._take,
            "There is no other decision yet",
        )

    def _take(self, key: str) -> None:
        field = self.query_one(Field)
        field.put(key)
        field.query_one(Entry).focus()
        self.typed["new"] = key

    def store(self) -> None:
        """Ask for it to be done."""
        job = partial(
            supersede,
            old=self._key,
            new=self.typed.get("new", "").strip(),
            why=self.typed.get("why", ""),
            based_on=self._seen,
        )
        self.host.ask(self, job, Stored)
