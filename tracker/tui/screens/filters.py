"""What is broken, shifted, guessed, accepted or to be done, narrowed by owner and gate."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.filtering import FILTERS, Filtered, FilteredLine, filtered
from tracker.services.overview import listing
from tracker.services.session import Session
from tracker.services.views import Listing
from tracker.services.wording import visible
from tracker.tui.face import Face
from tracker.tui.finding import Haystack
from tracker.tui.host import Choice
from tracker.tui.layout.paper import SIGN_WIDTH, Cell, Line, Lines, Paper, Rows, list_row, row
from tracker.tui.screens.finding import FindingPage
from tracker.tui.widgets.finder import Finder
from tracker.tui.widgets.roll import Roll
from tracker.tui.widgets.toggles import Toggles

__all__ = ["FilterScreen"]

_MINE, _GATE = "mine", "gate"
_KEYS = {
    **{name: str(number) for number, name in enumerate(FILTERS, 1)},
    _MINE: str(len(FILTERS) + 1),
    _GATE: str(len(FILTERS) + 2),
}
_KIND = 13


class Filters(Message):
    """What meets the filters has been found."""

    def __init__(self, found: tuple[Filtered, str]) -> None:
        super().__init__()
        self.found, self.author = found


class Gates(Message):
    """The gates have been listed."""

    def __init__(self, gates: Listing) -> None:
        super().__init__()
        self.gates = gates


def _found(session: Session, on: frozenset[str], gate: str) -> tuple[Filtered, str]:
    owner = session.author if _MINE in on else ""
    names = [each for each in FILTERS if each in on]
    return filtered(session, names, owner=owner, gate=gate), visible(session.author)


class FilterScreen(FindingPage):
    """Items of all kinds that meet some filters.

    Parameters
    ----------
    on : frozenset of str
        Filters that are on to begin with.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "narrow", "find here"),
        *(
            Binding(_KEYS[name], f"turn('{name}')", said, show=False)
            for name, (said, _) in FILTERS.items()
        ),
        Binding(_KEYS[_MINE], f"turn('{_MINE}')", "mine", show=False),
        Binding(_KEYS[_GATE], f"turn('{_GATE}')", "due by a gate", show=False),
    ]

    def __init__(self, on: frozenset[str] = frozenset(("broken", "shifted"))) -> None:
        super().__init__()
        self._on = on
        self._gate = ""
        self._author = ""
        self._counts: dict[str, int] = {}
        self._lines: tuple[FilteredLine, ...] = ()
        self._hay = Haystack()

    def name_of_page(self) -> str:
        """Return the filters in words."""
        what = " or ".join(said for name, (said, _) in FILTERS.items() if name in self._on)
        mine = f"of {self._author}" if _MINE in self._on else ""
        due = f"due by {self._gate}" if self._gate else ""
        return ", ".join(each for each in (what or "everything", mine, due) if each)

    def body(self) -> ComposeResult:
        """Compose the filters over what they find."""
        yield Toggles(self.host.face, _KEYS)
        yield Finder(self.host.face)
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for what meets the filters."""
        job = partial(_found, on=self._on, gate=self._gate)
        self.host.ask(self, job, Filters, whole=True)

    @on(Filters)
    def _show(self, event: Filters) -> None:
        event.stop()
        self._author, self._counts = event.author, dict(event.found.counts)
        self._lines = event.found.lines
        self._hay = Haystack((each.line.key, each.line.title) for each in self._lines)
        self._lights()
        self.freshen()
        self._fill(keep=True)

    def _lights(self) -> None:
        words = [
            (name, f"{said} ({self._counts.get(name, 0)})") for name, (said, _) in FILTERS.items()
        ]
        words += [(_MINE, f"only of {self._author}")]
        words += [(_GATE, f"only due by {self._gate}" if self._gate else "only due by a gate")]
        on = self._on | ({_GATE} if self._gate else frozenset())
        self.query_one(Toggles).put(words, on)

    def _fill(self, *, keep: bool) -> None:
        finder = self.query_one(Finder)
        found = self._hay.matches(finder.typed)
        finder.count(len(found), len(self._lines))
        lines = [self._lines[at] for at in found]
        self.roll().show(partial(self._lay, lines), keep=keep)

    def _lay(self, lines: list[FilteredLine], width: int) -> Lines:
        face = self.host.face
        if not lines:
            paper = Paper(width, face)
            paper.text("Nothing meets that.")
            return paper.done()

        def lay(at: int) -> tuple[Line]:
            return (_row(face, lines[at], width),)

        return Rows([each.line.key for each in lines], lay)

    def narrow(self) -> None:
        """Show what meets the text as it is now."""
        self._fill(keep=False)

    @on(Toggles.Turned)
    def _clicked(self, event: Toggles.Turned) -> None:
        event.stop()
        self.action_turn(event.name)

    def action_turn(self, name: str) -> None:
        """Turn a filter on or off."""
        if name == _GATE:
            self._turn_gate()
            return
        self._on ^= {name}
        self.load()

    def _turn_gate(self) -> None:
        if self._gate:
            self._gate = ""
            self.load()
        else:
            self.host.ask(self, partial(listing, kind="gate"), Gates)

    @on(Gates)
    def _offer(self, event: Gates) -> None:
        event.stop()
        choices: list[Choice] = [
            (each.key, "", each.key, f"{each.text}  {each.title}") for each in event.gates.lines
        ]
        self.host.choose("Due by which gate", choices, self._due_by, "There is no gate yet")

    def _due_by(self, gate: str) -> None:
        self._gate = gate
        self.load()

    def action_narrow(self) -> None:
        """Type to find an item in the list."""
        self.query_one(Finder).begin()

    def action_back(self) -> None:
        """Show the whole list again, or leave it."""
        if self.query_one(Finder).end():
            self.roll().focus()
        else:
            super().action_back()


def _row(face: Face, found: FilteredLine, width: int) -> Line:
    """Lay out a row of items of several kinds: those that carry no sign leave its column free."""
    line = found.line
    sign = 0 if line.sign else SIGN_WIDTH
    kind = row(face, Cell(found.kind, _KIND - 1, "quiet"), Cell("", 1), Cell("", sign))
    rest = list_row(face, line, width - _KIND - sign)
    first = kind.spans[2:] if sign else rest.spans[:1]
    return Line((*kind.spans[:2], *first, *rest.spans[1:]), line.key)
