"""The command palette: every action that can be done where one is."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from rich.text import Text
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.dom import DOMNode

from tracker.tui.finding import rank

__all__ = ["Actions"]

_PLUMBING = ("command_palette", "app.focus_next", "app.focus_previous", "screen.copy_text")


class Actions(Provider):
    """Offers the actions of the screen and of the app."""

    async def discover(self) -> Hits:
        """Offer everything."""
        for title, node, action in self._actions():
            yield DiscoveryHit(Text(title), partial(self._run, action, node), text=title)

    async def search(self, query: str) -> Hits:
        """Offer what meets the query."""
        needle = query.casefold().strip()
        for title, node, action in self._actions():
            folded = title.casefold()
            score = rank(needle, needle.split(), folded, folded)
            if score < 9:  # noqa: PLR2004 - what nothing meets
                yield Hit(1 - score / 10, Text(title), partial(self._run, action, node), text=title)

    def _actions(self) -> Iterator[tuple[str, DOMNode, str]]:
        seen = set()
        nodes = (self.screen, self.app)
        active_bindings = self.screen.active_bindings.items()
        for key, active in sorted(active_bindings, key=lambda each: each[1].node is self.app):
            binding = active.binding
            if active.node not in nodes or binding.action in seen or binding.action in _PLUMBING:
                continue
            seen.add(binding.action)
            title = binding.description[:1].upper() + binding.description[1:]
            yield f"{title}  ({key})", active.node, binding.action

    async def _run(self, action: str, node: DOMNode) -> None:
        await self.app.run_action(action, node)
