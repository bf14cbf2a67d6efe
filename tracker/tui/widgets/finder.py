"""A line to type into that narrows what is below it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tracker.tui.face import Face
from tracker.tui.widgets.field import Entry

__all__ = ["Finder"]


class FindEntry(Entry):
    """The line of a finder."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "submit", "open")]


class Finder(Horizontal):
    """Type-to-find.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    always : bool
        Be open from the start.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "line up", show=False),
        Binding("down", "step(1)", "line down", show=False),
    ]

    class Step(Message):
        """The cursor below should move."""

        def __init__(self, by: int) -> None:
            super().__init__()
            self.by = by

    def __init__(self, face: Face, *, always: bool = False) -> None:
        super().__init__()
        self._face = face
        self._always = always

    def compose(self) -> ComposeResult:
        """Compose the line."""
        yield Static("find", classes="label")
        yield FindEntry(compact=True)
        yield Static(classes="count")

    def on_mount(self) -> None:
        """Begin."""
        if self._always:
            self.query_one(Entry).focus()
        else:
            self.add_class("idle")

    @property
    def typed(self) -> str:
        """What has been typed."""
        return self.query_one(Entry).value

    def count(self, found: int, total: int) -> None:
        """Tell how many items meet what was typed."""
        text = f"{found} of {total}" if found != total else f"{total}"
        self.query_one(".count", Static).update(Content(text))

    def begin(self) -> None:
        """Take the keyboard."""
        self.remove_class("idle")
        entry = self.query_one(Entry)
        entry.disabled = False
        entry.focus()

    def end(self) -> bool:
        """Forget what was typed and give the keyboard back; tell whether there was any need."""
        if self.has_class("idle"):
            return False
        self.query_one(Entry).value = ""
        self.add_class("idle")
        return True

    def action_step(self, by: int) -> None:
        """Move the cursor below."""
        self.post_message(self.Step(by))
