"""Choosing one of several by typing a part of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.wording import SIGNS
from tracker.tui.face import Face
from tracker.tui.finding import Haystack
from tracker.tui.host import Choice
from tracker.tui.jobs import Found, everything
from tracker.tui.layout.paper import Cell, Line, Lines, Paper, Rows, row, tone_of
from tracker.tui.screens.finding import FindingPage
from tracker.tui.widgets.finder import Finder
from tracker.tui.widgets.roll import Roll

__all__ = ["ChooseScreen", "FindScreen"]

_SIGN, _GAP = 12, 2


class ChooseScreen(FindingPage):
    """A list to choose one of.

    Parameters
    ----------
    title : str
        What to choose.
    choices : sequence of Choice
        What there is.
    then : callable
        Gets the target chosen, once the screen is gone.
    empty : str
        What to say when there is nothing to choose.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "back")]

    def __init__(
        self, title: str, choices: Sequence[Choice], then: Callable[[str], object], empty: str = ""
    ) -> None:
        super().__init__()
        self._title = title
        self._choices = tuple(choices)
        self._then = then
        self._empty = empty
        self._hay = Haystack((key, words) for _, _, key, words in self._choices)

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return self._title

    def body(self) -> ComposeResult:
        """Compose the list under the line to type into."""
        yield Finder(self.host.face, always=True)
        yield Roll(self.host.face)

    def load(self) -> None:
        """Show the choices."""
        self._fill()

    def offer(self, choices: Sequence[Choice]) -> None:
        """Replace the choices."""
        self._choices = tuple(choices)
        self._hay = Haystack((key, words) for _, _, key, words in self._choices)
        self._fill()

    def _fill(self) -> None:
        finder = self.query_one(Finder)
        found = self._hay.matches(finder.typed)
        finder.count(len(found), len(self._choices))
        shown = [self._choices[at] for at in found]
        self.roll().show(partial(self._lay, shown), keep=False)

    def _lay(self, shown: Sequence[Choice], width: int) -> Lines:
        face = self.host.face
        if not shown:
            paper = Paper(width, face)
            paper.text(self._empty if not self._choices and self._empty else "Nothing meets that.")
            return paper.done()

        rooms = self._rooms(width)

        def lay(at: int) -> tuple[Line]:
            return (_choice_row(face, shown[at], width, rooms),)

        return Rows([each[0] for each in shown], lay)

    def _rooms(self, width: int) -> tuple[int, int]:
        """Return how wide keys and signs are: as the longest needs, at most half of it all."""
        longest = max((len(key) for _, _, key, _ in self._choices), default=0)
        signed = any(sign for _, sign, _, _ in self._choices)
        return min(longest + _GAP, width // 2), _SIGN if signed else 0

    def narrow(self) -> None:
        """Show what meets the text as it is now."""
        self._fill()

    def chosen(self, target: str) -> None:
        """Hand on what was chosen, once the page is gone."""
        self.host.back()
        self.app.call_later(self._then, target)


def _choice_row(face: Face, choice: Choice, width: int, rooms: tuple[int, int]) -> Line:
    target, sign, key, words = choice
    keyed, signed = rooms
    shown = face.sign(sign) if sign in SIGNS else sign
    return row(
        face,
        Cell(key, max(keyed - 1, 0), "key"),
        Cell("", 1),
        Cell(shown, signed, tone_of(sign) or "quiet"),
        Cell(words, width - keyed - signed),
        target=target,
    )


class Indexed(Message):
    """Every item of the programme has been listed."""

    def __init__(self, items: tuple[Found, ...]) -> None:
        super().__init__()
        self.items = items


class FindScreen(ChooseScreen):
    """Every item of the programme to choose from.

    Parameters
    ----------
    then : callable
        Gets the key chosen.
    """

    def __init__(self, then: Callable[[str], object]) -> None:
        super().__init__("Find an item by key or words", (), then, "Reading the items")

    def load(self) -> None:
        """Ask for every item."""
        super().load()
        self.host.ask(self, everything, Indexed, whole=True)

    @on(Indexed)
    def _index(self, event: Indexed) -> None:
        event.stop()
        self._empty = "There are no items yet"
        self.offer(
            [
                (each.line.key, each.line.sign or each.kind, each.line.key, each.line.title)
                for each in event.items
            ]
        )
