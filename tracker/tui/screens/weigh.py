"""Weighing a decision's options: in columns, each under its own trial."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.evaluate.engine import Cancel
from tracker.services.actions import lean
from tracker.services.item import item_page
from tracker.services.session import Session
from tracker.services.views import ItemPage
from tracker.services.weighing import weigh
from tracker.services.weighing_views import OptionColumn, WeighView
from tracker.tui.layout.weighing import weigh_lines
from tracker.tui.messages import Stored
from tracker.tui.screens.page import Page
from tracker.tui.screens.score import ScoreScreen
from tracker.tui.settable import settables
from tracker.tui.widgets.roll import Roll

__all__ = ["WeighScreen"]


class Weighed(Message):
    """The options have been worked out."""

    def __init__(self, view: WeighView, page: ItemPage) -> None:
        super().__init__()
        self.view = view
        self.page = page


class WeighScreen(Page):
    """Options in columns, what judges them and what they cost in rows.

    Parameters
    ----------
    key : str
        Key of the decision.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "pick(-1)", "option to the left", show=False),
        Binding("right", "pick(1)", "option to the right", show=False),
        Binding("t", "try", "try it"),
        Binding("l", "lean", "lean to it"),
        Binding("s", "settle", "settle, dead ones dropped"),
        Binding("p", "points", "weights and ratings"),
    ]

    def __init__(self, key: str) -> None:
        super().__init__()
        self.key = key
        self._view: WeighView | None = None
        self._page: ItemPage | None = None
        self._picked = -1

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Weigh {self.key}"

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for every option to be worked out."""
        key = self.key

        def job(session: Session, cancel: Cancel) -> tuple[WeighView, ItemPage]:
            return weigh(session, key, cancel), item_page(session, key)

        self.host.ask_latest(self, job, lambda found: Weighed(*found))

    @on(Weighed)
    def _show(self, event: Weighed) -> None:
        event.stop()
        self._view, self._page = event.view, event.page
        if self._picked < 0:
            chosen = [each.chosen for each in event.view.options]
            self._picked = chosen.index(True) if True in chosen else 0
        self._paint()

    def _paint(self) -> None:
        view, picked, face = self._view, self._picked, self.host.face
        if view is not None:
            self.roll().show(lambda width: weigh_lines(view, picked, width, face))
        self.refresh_bindings()

    @property
    def _option(self) -> OptionColumn | None:
        options = self._view.options if self._view else ()
        return options[self._picked] if self._picked < len(options) else None

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        self.host.open_item(event.target)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        if action not in ("try", "lean", "settle", "points"):
            return ""
        if self._page is None or self._option is None:
            return "it is still being worked out" if self._page is None else "it has no options"
        if action == "try":
            return "" if settables(self._page) else "it is withdrawn; reopen it first"
        found = next((each for each in self._page.actions if each.name == action), None)
        return "" if found is None or found.enabled else found.why_not

    def action_pick(self, by: int) -> None:
        """Go to the next option, or the one before."""
        if self._view is not None and self._view.options:
            self._picked = (self._picked + by) % len(self._view.options)
            self._paint()

    def action_lean(self) -> None:
        """Apply the option picked for now."""
        if self.allowed("lean") and self._option is not None:
            option, seen = self._option.key, self._view.revision if self._view else None
            self.host.ask(
                self, partial(lean, decision=self.key, option=option, based_on=seen), Stored
            )

    async def action_try(self) -> None:
        """Take the option picked into the trial."""
        if self.allowed("try") and self._page is not None and self._option is not None:
            what = settables(self._page)[0]
            self.host.trial.add(what, self._option.key)
            await self.host.open_trial((what,), what.address)

    def action_settle(self) -> None:
        """Settle on the option picked, with what kills the others filled in."""
        if not self.allowed("settle") or self._page is None or self._option is None:
            return
        draft = self.host.draft(f"settle {self.key}")
        draft["option"] = self._option.key
        for each in self._view.options if self._view else ():
            name = f"against {each.key}"
            if each.kills and not (draft.get(name, "").strip() or each.against):
                draft[name] = each.kills
        self.host.open_settle(self._page)

    def action_points(self) -> None:
        """Give weights and ratings."""
        if self.allowed("points") and self._view is not None:
            self.host.go(ScoreScreen(self._view))
