"""Walking the graph: an item in the middle, its neighbours to either side."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message

from tracker.services.item import item_page
from tracker.services.pictures.neighbourhood import MOST_DEPTH, NeighbourhoodView, neighbourhood
from tracker.services.session import Session
from tracker.services.views import ItemPage
from tracker.tui.layout.neighbours import middle_lines, side_lines
from tracker.tui.screens.page import Page
from tracker.tui.widgets.roll import Roll

__all__ = ["NeighboursScreen"]

_TRAIL = 4


class Surrounded(Message):
    """The neighbourhood has been read."""

    def __init__(self, found: tuple[NeighbourhoodView, ItemPage]) -> None:
        super().__init__()
        self.view, self.page = found


def _read(session: Session, key: str, depth: int) -> tuple[NeighbourhoodView, ItemPage]:
    return neighbourhood(session, key, depth), item_page(session, key)


class NeighboursScreen(Page):
    """An item's neighbourhood.

    Parameters
    ----------
    key : str
        The item to begin with.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "side('above')", "what it hangs on", show=False, priority=True),
        Binding("right", "side('below')", "what hangs on it", show=False, priority=True),
        Binding("enter", "walk", "walk there", priority=True),
        Binding("plus,equals_sign", "deeper(1)", "deeper"),
        Binding("minus", "deeper(-1)", "less deep", show=False),
        Binding("i", "open", "open the middle"),
        Binding("full_stop", "open_other", "open the neighbour"),
    ]

    def __init__(self, key: str) -> None:
        super().__init__()
        self.key = key
        self._trail: list[str] = []
        self._depth = 1

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Around {self.key}"

    def body(self) -> ComposeResult:
        """Compose both sides and the middle."""
        with Horizontal(id="around"):
            yield Roll(self.host.face, id="above", shy=True)
            yield Roll(self.host.face, id="middle", shy=True)
            yield Roll(self.host.face, id="below", shy=True)

    def on_mount(self) -> None:
        """Begin."""
        self.roll("middle").can_focus = False
        self.roll("above").focus()

    def load(self) -> None:
        """Ask for the neighbourhood."""
        job = partial(_read, key=self.key, depth=self._depth)
        self.host.ask(self, job, Surrounded, whole=True)

    @on(Surrounded)
    def _show(self, event: Surrounded) -> None:
        event.stop()
        view, page, face = event.view, event.page, self.host.face
        if view.key != self.key:
            return  # the user walked on meanwhile
        trail = tuple(reversed(self._trail[-_TRAIL:]))
        self.roll("above").show(
            lambda width: side_lines("It hangs on", view.above, width, face, cut=view.cut)
        )
        self.roll("below").show(
            lambda width: side_lines("On it hang", view.below, width, face, cut=view.cut)
        )
        self.roll("middle").show(lambda width: middle_lines(page, trail, view.depth, width, face))
        self.refresh_bindings()

    @on(Roll.Chosen)
    def _choose(self, event: Roll.Chosen) -> None:
        """Put a neighbour that was clicked into the middle."""
        event.stop()
        self._walk_to(event.target)

    def _walk_to(self, key: str) -> None:
        self._trail.append(self.key)
        self._go(key)

    def _go(self, key: str) -> None:
        self.key = key
        self.freshen()
        self.load()

    def action_side(self, name: str) -> None:
        """Go to one of the sides."""
        self.roll(name).focus()

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        name = action.partition("(")[0]
        if name in ("open_other", "walk") and not self._neighbour:
            return "no neighbour is at the cursor"
        if action == "deeper(1)" and self._depth >= MOST_DEPTH:
            return f"{MOST_DEPTH} steps are the most"
        return "one step is the least" if action == "deeper(-1)" and self._depth == 1 else ""

    @property
    def _neighbour(self) -> str:
        focused = self.focused
        return focused.target if isinstance(focused, Roll) else ""

    def action_deeper(self, by: int) -> None:
        """Show more steps, or fewer."""
        if self.allowed(f"deeper({by})"):
            self._depth += by
            self.load()

    def action_walk(self) -> None:
        """Put the neighbour at the cursor into the middle."""
        if self.allowed("walk"):
            self._walk_to(self._neighbour)

    def action_back(self) -> None:
        """Put back what was in the middle before, or leave."""
        if self._trail:
            self._go(self._trail.pop())
        else:
            super().action_back()

    def action_open(self) -> None:
        """Open the page of the item in the middle."""
        self.host.open_item(self.key)

    def action_open_other(self) -> None:
        """Open the page of the neighbour at the cursor."""
        if self.allowed("open_other"):
            self.host.open_item(self._neighbour)
