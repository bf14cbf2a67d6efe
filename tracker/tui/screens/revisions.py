"""Choosing a revision from the journal."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.model.records import Baseline
from tracker.services.gates.order import gates_in_order, latest_baseline
from tracker.services.session import Session
from tracker.tui.host import Choice
from tracker.tui.screens.journal import JournalScreen
from tracker.tui.widgets.roll import Roll

__all__ = ["EarlierScreen", "RevisionsScreen"]


class Frozen(Message):
    """What was frozen so far has been listed."""

    def __init__(self, choices: tuple[Choice, ...]) -> None:
        super().__init__()
        self.choices = choices


def _frozen(session: Session) -> tuple[Choice, ...]:
    """List gates with what was frozen at them last, then every baseline, the latest first."""
    programme = session.programme
    found = ((each, latest_baseline(programme, each)) for each in gates_in_order(programme))
    gates = [
        _choice("gate", gate.key, last.revision, f", frozen last as {last.key}: {gate.title}")
        for gate, last in found
        if last is not None
    ]
    baselines = sorted(programme.of(Baseline), key=lambda each: each.revision, reverse=True)
    return (*gates, *(_choice("baseline", each.key, each.revision) for each in baselines))


def _choice(kind: str, key: str, revision: int, more: str = "") -> Choice:
    return str(revision), kind, key, f"revision {revision}{more}"


class RevisionsScreen(JournalScreen):
    """The journal, to choose one of its revisions.

    Parameters
    ----------
    title : str
        What the title line calls it.
    then : callable
        Gets the revision chosen, once the screen is gone.
    """

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("k", "frozen", "of a gate or baseline")]

    def __init__(self, title: str, then: Callable[[int], object]) -> None:
        super().__init__()
        self._title = title
        self._then = then

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return self._title

    @on(Roll.Chosen)
    def _choose(self, event: Roll.Chosen) -> None:
        event.stop()
        event.prevent_default()
        self.host.back()
        self.app.call_later(self._then, int(event.target))

    def action_frozen(self) -> None:
        """Choose by a gate or a baseline instead."""
        self.host.ask(self, _frozen, Frozen)

    @on(Frozen)
    def _offer(self, event: Frozen) -> None:
        event.stop()
        self.host.choose(self._title, event.choices, self._chosen_frozen, "Nothing was frozen yet")

    def _chosen_frozen(self, revision: str) -> None:
        self.host.back()
        self.app.call_later(self._then, int(revision))


class EarlierScreen(RevisionsScreen):
    """The journal, to open the programme as it was at one of its revisions."""

    def __init__(self) -> None:
        super().__init__("Which revision to look at", self._look)

    def _look(self, revision: int) -> None:
        self.host.open_revision(revision)
