"""A gate: how ready it is now, what offends it, what is due, what was frozen."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.errors import UnknownKeyError
from tracker.services.change_views import Comparison
from tracker.services.filtering import FilteredLine, owed_at
from tracker.services.gates.readiness import gate_list, gate_page
from tracker.services.gates.views import GatePage
from tracker.services.journal import compare
from tracker.services.session import Session
from tracker.tui.layout.differing import differing_lines
from tracker.tui.layout.gate import gate_lines
from tracker.tui.layout.paper import Fixed, Paper
from tracker.tui.screens.freezing import FreezeScreen, PackScreen
from tracker.tui.screens.page import Page
from tracker.tui.widgets.roll import Roll

__all__ = ["GateScreen", "SinceScreen"]

Seen = tuple[GatePage, tuple[FilteredLine, ...], tuple[str, ...]]
"""A gate, what is due there of the kinds that are walked through, and the keys of all gates."""


class Visited(Message):
    """A gate has been read."""

    def __init__(self, seen: Seen) -> None:
        super().__init__()
        self.seen = seen


class Differing(Message):
    """Two revisions have been compared."""

    def __init__(self, view: Comparison) -> None:
        super().__init__()
        self.view = view


def _visit(session: Session, key: str) -> Seen:
    """Return a gate; without a key the one that is frozen next, else the last."""
    gates = gate_list(session)
    keys = tuple(each.key for each in gates.gates)
    if not keys:
        raise UnknownKeyError("there is no gate yet", remedy="A adds one")
    wanted = key or gates.next or keys[-1]
    return gate_page(session, wanted), owed_at(session, wanted), keys


class GateScreen(Page):
    """One gate.

    Parameters
    ----------
    key : str
        Key of the gate; the one that is frozen next when empty.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("z", "freeze", "freeze"),
        Binding("p", "pack", "pack"),
        Binding("k", "since", "what changed since it was frozen"),
        Binding("left", "gate(-1)", "the gate before", show=False),
        Binding("right", "gate(1)", "the next gate", show=False),
    ]

    def __init__(self, key: str = "") -> None:
        super().__init__()
        self.key = key
        self._page: GatePage | None = None
        self._keys: tuple[str, ...] = ()

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Gate {self.key}" if self.key else "Gates"

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    def load(self) -> None:
        """Ask for the gate."""
        self.host.ask(self, partial(_visit, key=self.key), Visited, whole=True)

    @on(Visited)
    def _show(self, event: Visited) -> None:
        event.stop()
        page, due, self._keys = event.seen
        self._page, self.key = page, page.key
        self.freshen()
        self.roll().show(lambda width: gate_lines(page, due, width, self.host.face))
        self.refresh_bindings()

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        self.host.open_item(event.target)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        if action not in ("freeze", "pack", "since"):
            return ""
        if self._page is None:
            return "there is no gate to show"
        if action != "freeze" and not self._page.baselines:
            return "nothing was frozen here yet"
        return ""

    def action_gate(self, by: int) -> None:
        """Go to the gate before, or the next one."""
        if self.key in self._keys:
            at = (self._keys.index(self.key) + by) % len(self._keys)
            self.key = self._keys[at]
            self.load()

    def action_freeze(self) -> None:
        """Keep what the gate is shown, as a baseline."""
        if self.allowed("freeze") and self._page is not None:
            self.host.go(FreezeScreen(self._page))

    def action_pack(self) -> None:
        """Write what was frozen into files."""
        if self.allowed("pack") and self._page is not None:
            self.host.go(PackScreen(self._page))

    def action_since(self) -> None:
        """Say what changed since the gate was frozen last."""
        if self.allowed("since") and self._page is not None:
            self.host.go(SinceScreen(self.key, self._page.baselines[0].revision))


class SinceScreen(Page):
    """What changed since a gate was frozen.

    Parameters
    ----------
    gate : str
        Key of the gate.
    revision : int
        What was frozen.
    """

    def __init__(self, gate: str, revision: int) -> None:
        super().__init__()
        self._gate = gate
        self._frozen = revision

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Since {self._gate} was frozen"

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()
        self.roll().show(self._waiting)

    def _waiting(self, width: int) -> Fixed:
        paper = Paper(width, self.host.face)
        paper.text("Comparing …", "quiet")
        return paper.done()

    def load(self) -> None:
        """Ask what differs."""
        frozen = self._frozen

        def job(session: Session) -> Comparison:
            return compare(session, frozen, session.head.revision)

        self.host.ask(self, job, Differing, whole=True)

    @on(Differing)
    def _show(self, event: Differing) -> None:
        event.stop()
        self.roll().show(lambda width: differing_lines(event.view, width, self.host.face))

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        self.host.open_item(event.target)
