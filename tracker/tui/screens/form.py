"""What every form has: fields that keep their drafts, and a place for what is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from tracker.errors import InputError, StaleChangeError
from tracker.tui.host import Draft
from tracker.tui.jobs import newest
from tracker.tui.messages import Seen, Stored
from tracker.tui.plain import plain, problems
from tracker.tui.screens.page import Page
from tracker.tui.widgets.field import Field, Labelled, LongField, Typed

__all__ = ["Form"]


class Form(Page):
    """A form; what is typed stays in its draft until it is stored.

    Parameters
    ----------
    draft : str
        Name of the draft.
    seen : int, optional
        Revision the form was made from: what others changed since is not overwritten unseen.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "store", "store"),
        Binding("escape", "back", "back, typed text is kept"),
    ]

    def __init__(self, draft: str, seen: int | None = None) -> None:
        super().__init__()
        self._draft = draft
        self._seen = seen
        self._busy = False

    @property
    def typed(self) -> Draft:
        """What has been typed, by field."""
        return self.host.draft(self._draft)

    def heading(self) -> str:
        """Return what the form is about."""
        return ""

    def body(self) -> ComposeResult:
        """Compose the fields."""
        with VerticalScroll(id="fields", can_focus=False):
            yield Static(Content(self.host.face.line(self.heading())), id="about")
            yield from self.fields()
        yield Static(id="wrong")

    def fields(self) -> ComposeResult:
        """Compose the fields themselves."""
        yield from ()

    def line(self, name: str, label: str, default: str = "") -> Field:
        """Make a field of one line."""
        return Field(self.host.face, name, label, self.typed.get(name, default))

    def lines(self, name: str, label: str, default: str = "") -> LongField:
        """Make a field of several lines."""
        return LongField(self.host.face, name, label, self.typed.get(name, default))

    @on(Typed)
    def _keep(self, event: Typed) -> None:
        event.stop()
        self.typed[event.name] = event.text
        self.changed(event.name)

    def changed(self, name: str) -> None:
        """Take note that a field changed."""

    def store(self) -> None:
        """Ask for what is typed to be stored."""

    def action_store(self) -> None:
        """Store what is typed."""
        if not self._busy:
            self._busy = True
            self.blame({}, "")
            self.store()

    @on(Stored)
    def _done(self, event: Stored) -> None:
        event.stop()
        self.host.forget(self._draft)
        self.stored()

    def stored(self) -> None:
        """Leave the form: what was typed is stored."""
        self.host.back()

    def refused(self, error: BaseException) -> None:
        """Show what is wrong beside the fields; everything typed stays."""
        self._busy = False
        if isinstance(error, StaleChangeError):  # both versions are on the screen from here on
            self.host.ask(self, newest, Seen)
        places, rest = self.blamed(error)
        self.blame(places, rest)

    @on(Seen)
    def _saw(self, event: Seen) -> None:
        event.stop()
        self._seen = event.revision

    def blamed(self, error: BaseException) -> tuple[dict[str, str], str]:
        """Sort what is wrong by field; what belongs to none comes back as one text."""
        places: dict[str, str] = {}
        rest = []
        names = {each.name for each in self._labelled()}
        for each in problems(error):
            name = self.field_of(each) if isinstance(each, InputError) else ""
            if name in names:
                places.setdefault(name, plain(each, named=False))
            else:
                rest.append(plain(each))
        return places, "; ".join(rest)

    def field_of(self, error: InputError) -> str:
        """Return the name of the field an error is about."""
        return error.field

    def blame(self, places: dict[str, str], rest: str) -> None:
        """Show what is wrong."""
        for each in self._labelled():
            each.blame(places.get(each.name or "", ""))
        wrong = self.query_one("#wrong", Static)
        wrong.update(Content(self.host.face.clip(rest, 600)))
        wrong.set_class(bool(rest), "shown")

    def _labelled(self) -> Iterator[Field | LongField]:
        yield from (each for each in self.query(Labelled) if isinstance(each, Field | LongField))
