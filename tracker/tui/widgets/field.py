"""Fields to type into, with what is wrong beside them."""

from __future__ import annotations

from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.suggester import Suggester
from textual.widgets import Input, Static, TextArea

from tracker.services.wording import visible
from tracker.tui.face import Face

__all__ = ["Area", "Entry", "Field", "Labelled", "LongField", "Pick", "PickField", "Typed"]


class Entry(Input):
    """One line to type into; what is pasted arrives with nothing invisible in it."""

    def on_paste(self, event: events.Paste) -> None:
        """Make what is pasted visible, its lines one after the other."""
        event.text = " ".join(_pasted(event.text).strip("\n").split("\n"))


class Area(TextArea):
    """Several lines to type into; what is pasted arrives with nothing invisible in it."""

    def on_paste(self, event: events.Paste) -> None:
        """Make what is pasted visible."""
        event.text = _pasted(event.text)


def _pasted(text: str) -> str:
    return visible(text.replace("\r\n", "\n").replace("\r", "\n")).replace("\t", " ")


class Typed(Message):
    """Something was typed into a field."""

    def __init__(self, name: str, text: str) -> None:
        super().__init__()
        self.name = name
        self.text = text


class Labelled(Vertical):
    """A label, something to type into, and a line for what is wrong."""

    def __init__(self, face: Face, name: str, label: str, tail: str = "") -> None:
        super().__init__(name=name)
        self._face = face
        self._label = label
        self._tail = tail

    def compose(self) -> ComposeResult:
        """Compose the field."""
        with Horizontal(classes="typing"):
            yield Static(Content(self._face.line(self._label)), classes="label")
            yield from self.entry()
            if self._tail:
                yield Static(Content(self._face.line(self._tail)), classes="tail")
        yield Static(classes="problem")

    def entry(self) -> ComposeResult:
        """Compose what is typed into."""
        yield from ()

    def blame(self, text: str) -> None:
        """Show what is wrong, or nothing."""
        self.set_class(bool(text), "wrong")
        self.query_one(".problem", Static).update(Content(self._face.clip(text, 400)))

    def follow(self, tail: str) -> None:
        """Change what stands behind the field."""
        self.query_one(".tail", Static).update(Content(self._face.line(tail)))


class Field(Labelled):
    """A field of one line.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    name : str
        Names the field in its messages.
    label : str
        What it is for.
    value : str
        Its text to begin with.
    tail : str
        What stands behind it: a unit.
    suggester : Suggester, optional
        Completes what is typed.
    """

    def __init__(
        self,
        face: Face,
        name: str,
        label: str,
        value: str = "",
        *,
        tail: str = "",
        suggester: Suggester | None = None,
    ) -> None:
        super().__init__(face, name, label, tail)
        self._value = value
        self._suggester = suggester

    def entry(self) -> ComposeResult:
        """Compose the line."""
        yield Entry(visible(self._value), compact=True, suggester=self._suggester)

    @property
    def value(self) -> str:
        """What stands in the field."""
        return self.query_one(Entry).value

    def take_focus(self) -> None:
        """Take the keyboard."""
        self.query_one(Entry).focus()

    @on(Input.Changed)
    def _changed(self, event: Input.Changed) -> None:
        event.stop()
        if event.value != self._value:
            self._value = event.value
            self.post_message(Typed(self.name or "", event.value))

    def put(self, value: str) -> None:
        """Replace the text without saying that it was typed."""
        self._value = visible(value)
        self.query_one(Entry).value = self._value


class LongField(Labelled):
    """A field of several lines; arguments as for `Field`."""

    def __init__(self, face: Face, name: str, label: str, value: str = "") -> None:
        super().__init__(face, name, label)
        self._value = value

    def entry(self) -> ComposeResult:
        """Compose the lines."""
        yield Area(visible(self._value), compact=True, highlight_cursor_line=False)

    def take_focus(self) -> None:
        """Take the keyboard."""
        self.query_one(Area).focus()

    @on(TextArea.Changed)
    def _changed(self, event: TextArea.Changed) -> None:
        event.stop()
        text = event.text_area.text
        if text != self._value:
            self._value = text
            self.post_message(Typed(self.name or "", text))


class Pick(Static, can_focus=True):
    """One of a few words, all of them in view.

    Parameters
    ----------
    face : Face
        Makes texts safe.
    name : str
        Names the field in its messages.
    label : str
        What it is for.
    words : sequence of str
        What there is to pick from.
    value : str
        The word picked to begin with.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1)", "the one before", show=False),
        Binding("right,space", "move(1)", "pick another"),
    ]

    def __init__(
        self, face: Face, name: str, label: str, words: tuple[str, ...], value: str
    ) -> None:
        super().__init__(name=name)
        self._face = face
        self._label = label
        self._words = words
        self.value = value if value in words else next(iter(words), "")

    def on_mount(self) -> None:
        """Begin."""
        self._paint()

    @property
    def _lead(self) -> str:
        return f"{self._face.line(self._label)} " if self._label else ""

    def _paint(self) -> None:
        parts = [Content.styled(self._lead, "$quiet")]
        for word in self._words:
            text = self._face.line(word)
            picked = word == self.value
            parts.append(
                Content.styled(f"[{text}]", "bold $key") if picked else Content(f" {text} ")
            )
        self.update(Content("").join(parts))

    def action_move(self, by: int) -> None:
        """Pick the next word, or the one before."""
        if self._words:
            outside = -1 if by > 0 else 0
            at = self._words.index(self.value) if self.value in self._words else outside
            self.pick(self._words[(at + by) % len(self._words)])

    def pick(self, word: str) -> None:
        """Pick a word."""
        self.put(word)
        self.post_message(Typed(self.name or "", word))

    def put(self, word: str) -> None:
        """Replace the word without saying that it was picked."""
        self.value = word
        self._paint()

    def on_click(self, event: events.Click) -> None:
        """Take a click."""
        left = len(self._lead)
        for word in self._words:
            left += len(self._face.line(word)) + 2
            if event.x - self.styles.padding.left < left:
                self.pick(word)
                return


class PickField(Labelled):
    """One of a few words as a field beside others; arguments as for `Field` and `Pick`."""

    def __init__(
        self, face: Face, name: str, label: str, words: tuple[str, ...], value: str, *, tail: str
    ) -> None:
        super().__init__(face, name, label, tail)
        self._words = words
        self._value = value

    def entry(self) -> ComposeResult:
        """Compose the words; none of them is picked where there is no value yet."""
        pick = Pick(self._face, self.name or "", "", self._words, self._value)
        pick.value = self._value
        yield pick

    @property
    def value(self) -> str:
        """The word picked."""
        return self.query_one(Pick).value

    def take_focus(self) -> None:
        """Take the keyboard."""
        self.query_one(Pick).focus()

    def put(self, value: str) -> None:
        """Replace the word without saying that it was picked."""
        self.query_one(Pick).put(value)
