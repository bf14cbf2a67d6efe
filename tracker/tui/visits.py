"""Looking at an earlier revision: going there, and what cannot be done there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, cast

from textual import on
from textual.actions import ActionParseResult
from textual.app import App
from textual.binding import Binding, BindingType
from textual.dom import DOMNode
from textual.screen import Screen

from tracker.tui.desk import Desk, Where
from tracker.tui.host import Host
from tracker.tui.looking import why_not_then
from tracker.tui.messages import Visited
from tracker.tui.screens.revisions import EarlierScreen

__all__ = ["VisitingApp", "visited_words"]


def visited_words(revision: int | None) -> str:
    """Say which revision is open from here on."""
    if revision is None:
        return "This is the present again"
    return f"Revision {revision} is open to look at, all of it as it was; R leads back"


class VisitingApp(App[int]):
    """An app whose jobs can be shown an earlier revision."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("R", "revision", "look at an earlier revision, or back to now", show=False)
    ]

    where: Where
    _desk: Desk

    def open_revision(self, revision: int | None) -> None:
        """Open an earlier revision to look at; None leads back to the present."""
        first_page = self.screen_stack[1]  # never left, so the answer finds it
        self._desk.visit(first_page, revision, Visited)

    def action_revision(self) -> None:
        """Choose an earlier revision to look at; from there, go back to the present."""
        if self.where.newest:
            self.open_revision(None)
        else:
            cast("Host", self).go(EarlierScreen())

    @on(Visited)
    def _visited(self, event: Visited) -> None:
        host = cast("Host", self)
        if event.revision is not None:
            host.back(len(self.screen_stack))
        host.say(visited_words(event.revision))

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Do an action, unless it would change an earlier revision that is open to look at."""
        ours = default_namespace is None or isinstance(default_namespace, App | Screen)
        why = why_not_then(self.where, action) if ours else ""
        if why:
            cast("Host", self).say(why, "bad")
        return bool(why) or await super().run_action(action, default_namespace, namespaces)
