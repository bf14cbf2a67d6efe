"""Words in a row that are on or off, each with the key that turns it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tracker.tui.face import Face

__all__ = ["Toggles"]

_GAP = 2


class Toggles(Static):
    """Words that are on or off.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    keys : mapping of str to str
        Name → the key that turns it.
    """

    class Turned(Message):
        """A word was clicked."""

        def __init__(self, name: str) -> None:
            super().__init__()
            self.name = name

    def __init__(self, face: Face, keys: Mapping[str, str]) -> None:
        super().__init__()
        self._face = face
        self._keys = keys
        self._places: list[tuple[int, int, int, str]] = []
        self._words: Sequence[tuple[str, str]] = ()
        self._on: Collection[str] = ()

    def put(self, words: Sequence[tuple[str, str]], on: Collection[str]) -> None:
        """Show words.

        Parameters
        ----------
        words : sequence of (name, text)
            What there is to turn.
        on : collection of str
            Names of those that are on.
        """
        self._words, self._on = words, on
        self._paint()

    def on_resize(self) -> None:
        """Break the row where the terminal does."""
        self._paint()

    def _paint(self) -> None:
        width, column, line = max(self.size.width - 2, 20), 0, 0
        parts: list[Content] = []
        self._places = []
        for name, said in self._words:
            lit = name in self._on
            text = self._face.clip(f"{self._keys.get(name, '')} {said}", width - 2)
            shown = f"[{text}]" if lit else f" {text} "
            if column and column + len(shown) > width:
                parts.append(Content("\n"))
                column, line = 0, line + 1
            parts.append(Content.styled(shown, "bold $key") if lit else Content(shown))
            self._places.append((line, column, column + len(shown), name))
            parts.append(Content(" " * _GAP))
            column += len(shown) + _GAP
        self.update(Content("").join(parts))

    def on_click(self, event: events.Click) -> None:
        """Take a click."""
        event.stop()
        at = event.x - self.styles.padding.left
        for line, left, right, name in self._places:
            if event.y == line and left <= at < right:
                self.post_message(self.Turned(name))
                return
