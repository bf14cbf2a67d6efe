"""The walk from a value to where it begins, one step at a time."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.item import item_page
from tracker.services.views import ItemPage
from tracker.tui.layout.roots import root_lines
from tracker.tui.screens.page import Page
from tracker.tui.widgets.roll import Roll

__all__ = ["RootsScreen"]


class Stepped(Message):
    """The item the walk has come to has been read."""

    def __init__(self, page: ItemPage) -> None:
        super().__init__()
        self.page = page


class RootsScreen(Page):
    """Why an item is as it is, step by step.

    Parameters
    ----------
    key : str
        Where the walk sets out.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,backspace", "back", "a step back"),
        Binding("o", "open", "open its page"),
    ]

    def __init__(self, key: str) -> None:
        super().__init__()
        self._path = [key]

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Why {self._path[0]} is so"

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for the item the walk has come to."""
        self.host.ask(self, partial(item_page, key=self._path[-1]), Stepped, whole=True)

    @on(Stepped)
    def _show(self, event: Stepped) -> None:
        event.stop()
        page, path, face = event.page, tuple(self._path), self.host.face
        if page.key == path[-1]:
            self.roll().show(lambda width: root_lines(path, page, width, face), keep=False)

    @on(Roll.Chosen)
    def _step(self, event: Roll.Chosen) -> None:
        event.stop()
        self._path.append(event.target)
        self.load()

    def action_back(self) -> None:
        """Go a step back, and from the first one leave."""
        if len(self._path) > 1:
            self._path.pop()
            self.load()
        else:
            super().action_back()

    def action_open(self) -> None:
        """Open the page of the item the walk has come to."""
        self.host.open_item(self._path[-1])
