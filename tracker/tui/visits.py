"""Looking at an earlier revision: going there, and what cannot be done there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from textual import on
from textual.actions import ActionParseResult
from textual.app import App
from textual.dom import DOMNode
from textual.screen import Screen

from tracker.tui.desk import Desk, Where
from tracker.tui.host import Host
from tracker.tui.messages import Visited

__all__ = ["VisitingApp", "visited_words", "why_not_then"]

_CHANGING = frozenset(
    {
        "adopt", "decide", "edit", "freeze", "lean", "mend", "redo", "reopen", "review", "settle",
        "store", "take", "trial", "try", "undo", "undo_this", "withdraw",
        "place('add')", "place('take_in')", "place('trials')",
    }
)  # fmt: skip
"""Actions that change the programme or try something on it."""


def visited_words(revision: int | None) -> str:
    """Say which revision is open from here on."""
    if revision is None:
        return "This is the present again"
    return f"Revision {revision} is open to look at, all of it as it was; R leads back"


def why_not_then(where: Where, action: object) -> str:
    """Say why an action cannot be done while an earlier revision is open; nothing where it can."""
    name = str(action).rpartition("app.")[2].rpartition("screen.")[2]
    if not where.newest or not _CHANGING & {name, name.partition("(")[0]}:
        return ""
    return (
        f"Revision {where.revision} is open to look at only: nothing can be changed or tried "
        "there. R leads back to the present"
    )


class VisitingApp(App[int]):
    """An app whose jobs can be shown an earlier revision."""

    where: Where
    _desk: Desk

    def open_revision(self, revision: int | None) -> None:
        """Open an earlier revision to look at; None leads back to the present."""
        first_page = self.screen_stack[1]  # never left, so the answer finds it
        self._desk.visit(first_page, revision, Visited)

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
