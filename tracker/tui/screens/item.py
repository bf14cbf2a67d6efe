"""An item's page, and what can be done with the item."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.actions import lean
from tracker.services.item import item_page
from tracker.services.views import ItemPage
from tracker.tui.layout.item import item_lines
from tracker.tui.messages import Stored
from tracker.tui.offering import offer_values
from tracker.tui.places.index import BY_NAME, OF_ITEMS
from tracker.tui.places.place import place_bindings
from tracker.tui.screens.page import Page
from tracker.tui.screens.roots import RootsScreen
from tracker.tui.settable import settables, why_nothing
from tracker.tui.widgets.roll import Roll

__all__ = ["ItemScreen"]


class Opened(Message):
    """The item's page has been read."""

    def __init__(self, page: ItemPage) -> None:
        super().__init__()
        self.page = page


class ItemScreen(Page):
    """One item with its whole why.

    Parameters
    ----------
    key : str
        Its key.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "edit", "edit and try"),
        Binding("l", "lean", "lean"),
        Binding("s", "settle", "settle"),
        Binding("o", "reopen", "reopen"),
        Binding("w", "withdraw", "withdraw"),
        Binding("k", "review", "another look"),
        Binding("i", "into", "why is this so"),
        *place_bindings(OF_ITEMS),
    ]

    def __init__(self, key: str) -> None:
        super().__init__()
        self.key = key
        self._page: ItemPage | None = None

    @property
    def item(self) -> tuple[str, str] | None:
        """Kind and key of the item, once it has been read."""
        return None if self._page is None else (self._page.kind, self.key)

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return self.key

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for the item's page."""
        self.host.ask(self, partial(item_page, key=self.key), Opened, whole=True)

    @on(Opened)
    def _show(self, event: Opened) -> None:
        event.stop()
        page, face = event.page, self.host.face
        self._page = page
        self.roll().show(lambda width: item_lines(page, width, face))
        self.refresh_bindings()

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        if event.target != self.key:
            self.host.open_item(event.target)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Leave out what is only done to decisions where the item is none."""
        page = self._page
        if page is not None:
            if action in _DECIDING and page.kind != "decision":
                return False
            if action == "place" and page.kind not in BY_NAME[str(parameters[0])].kinds:
                return False
        return super().check_action(action, parameters)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done with this item now."""
        page = self._page
        if page is None:
            return "it is still being read" if action in ("edit", *_DECIDING) else ""
        if action == "edit":
            return "" if settables(page) else why_nothing(page)
        found = next((each for each in page.actions if each.name == action), None)
        return "" if found is None or found.enabled else found.why_not

    def _ready(self, action: str) -> ItemPage | None:
        return self._page if self.allowed(action) else None

    async def action_edit(self) -> None:
        """Take one of the item's values into the trial."""
        page = self._ready("edit")
        if page is None:
            return
        await offer_values(self.host, page)

    def action_lean(self) -> None:
        """Apply one of the options for now."""
        page = self._ready("lean")
        if page is None:
            return
        self.host.choose(
            f"Lean to which option of {page.key}",
            [(each.key, each.standing, each.key, each.title) for each in page.options],
            self._lean,
        )

    def _lean(self, option: str) -> None:
        self.host.ask(self, partial(lean, decision=self.key, option=option), Stored)

    def action_settle(self) -> None:
        """Settle the decision, with its reasons."""
        page = self._ready("settle")
        if page is not None:
            self.host.open_settle(page)

    def action_review(self) -> None:
        """Say, with a reason, that the decision holds on the ground it now has."""
        page = self._ready("review")
        if page is not None:
            self.host.open_reason(page, "review")

    def action_into(self) -> None:
        """Walk from here to where it comes from."""
        self.host.go(RootsScreen(self.key))

    def action_reopen(self) -> None:
        """Open the decision again, with a reason."""
        page = self._ready("reopen")
        if page is not None:
            self.host.open_reason(page, "reopen")

    def action_place(self, name: str) -> None:
        """Go to a place that is reached from this item."""
        self.host.go(BY_NAME[name].make(self.key))

    def action_withdraw(self) -> None:
        """Take the decision out of play, with a reason."""
        page = self._ready("withdraw")
        if page is not None:
            self.host.open_reason(page, "withdraw")


_DECIDING = ("lean", "settle", "reopen", "withdraw", "review")
