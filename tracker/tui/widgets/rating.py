"""A criterion with its weight and a rating for each option, on one line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Input, Static

from tracker.services.wording import visible
from tracker.tui.face import Face
from tracker.tui.widgets.field import Entry, Typed

__all__ = ["Ratings", "RatingsHead"]


class RatingsHead(Horizontal):
    """Names the columns of the ratings below it.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    options : sequence of str
        Keys of the options.
    """

    def __init__(self, face: Face, options: Sequence[str]) -> None:
        super().__init__()
        self._face = face
        self._options = options

    def compose(self) -> ComposeResult:
        """Compose the names."""
        yield Static(Content("criterion"), classes="criterion")
        for each in ("weight", *self._options):
            yield Static(Content(self._face.clip(each, 14)), classes="cell")


class Ratings(Horizontal):
    """What is typed for one criterion.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    criterion : str
        Its key, and its name in messages.
    fields : mapping of str to str
        Name of each field in messages → its text to begin with, from left to right.
    """

    def __init__(self, face: Face, criterion: str, fields: Mapping[str, str]) -> None:
        super().__init__(name=criterion)
        self._face = face
        self._criterion = criterion
        self._fields = dict(fields)

    def compose(self) -> ComposeResult:
        """Compose the criterion and its cells."""
        yield Static(Content(self._face.line(self._criterion)), classes="criterion")
        for name, text in self._fields.items():
            yield Entry(visible(text), compact=True, name=name, classes="cell")

    @on(Input.Changed)
    def _changed(self, event: Input.Changed) -> None:
        event.stop()
        name = event.input.name or ""
        if event.value != self._fields[name]:
            self._fields[name] = event.value
            self.post_message(Typed(name, event.value))
