"""The lines around every page: where it is, what was said, the caution, the keys."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from tracker.services.wording import CAUTION
from tracker.tui.face import Face

__all__ = ["Caution", "KeyLine", "Notice", "TitleLine"]


class TitleLine(Widget):
    """Programme, page, revision and head.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    """

    left: reactive[str] = reactive("")
    right: reactive[str] = reactive("")

    def __init__(self, face: Face) -> None:
        super().__init__()
        self._face = face

    def render(self) -> Content:
        """Paint the line."""
        right = self._face.clip(self.right, self.size.width // 2)
        room = self.size.width - cell_len(right) - 1
        left = self._face.clip(self.left, room)
        gap = " " * max(self.size.width - cell_len(left) - cell_len(right), 1)
        return Content(left + gap + right)


class Notice(Static):
    """The last thing the program had to say; no line at all when there is nothing.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    """

    _LONGEST = 400

    def __init__(self, face: Face) -> None:
        super().__init__(classes="silent")
        self._face = face

    def tell(self, text: str, tone: str = "") -> None:
        """Show a text, or nothing."""
        self.update(Content(self._face.clip(text, self._LONGEST)))
        self.set_class(not text, "silent")
        self.set_class(tone == "bad", "bad")


class Caution(Static):
    """What the verdicts on the page are worth.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    """

    def __init__(self, face: Face) -> None:
        super().__init__(Content(face.line(CAUTION)))


class KeyLine(Widget):
    """The keys that matter here, as many as there is room for; each can be clicked.

    Parameters
    ----------
    face : Face
        Decides between the two sets of characters.
    """

    keys: reactive[tuple[tuple[str, str, str], ...]] = reactive(())
    """Key, its name and what it does."""

    class Pressed(Message):
        """A key was clicked."""

        def __init__(self, key: str) -> None:
            super().__init__()
            self.key = key

    def __init__(self, face: Face) -> None:
        super().__init__()
        self._face = face

    def shown(self) -> Sequence[tuple[str, str, str]]:
        """Return the keys there is room for; the last two always are."""
        room = self.size.width - sum(map(self._width, self.keys[-2:]))
        kept = []
        for each in self.keys[:-2]:
            room -= self._width(each)
            if room < 0:
                break
            kept.append(each)
        return (*kept, *self.keys[-2:])

    def _width(self, key: tuple[str, str, str]) -> int:
        return cell_len(self._face.line(f" {key[1]} {key[2]} "))

    def render(self) -> Content:
        """Paint the line."""
        parts = []
        for _, name, what in self.shown():
            parts.append(Content.styled(f" {self._face.line(name)}", "bold $key"))
            parts.append(Content(f" {self._face.line(what)} "))
        return Content("").join(parts)

    def on_click(self, event: events.Click) -> None:
        """Take a click."""
        right = 0
        for each in self.shown():
            right += self._width(each)
            if event.x < right:
                self.post_message(self.Pressed(each[0]))
                return
