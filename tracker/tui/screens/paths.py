"""Forms with a path: typed with completion, or taken from the list below."""

from __future__ import annotations

import asyncio
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from tracker.tui.layout.paper import Cell, Fixed, Paper
from tracker.tui.paths import Entries, look, path_typed
from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Entry, Field
from tracker.tui.widgets.roll import Roll

__all__ = ["PathForm"]

_BELOW = "below"


class PathForm(Form):
    """A form that asks for a path in its field `path`."""

    FOLDERS: ClassVar[bool] = False
    """Whether a folder is wanted rather than a file."""
    SUFFIXES: ClassVar[tuple[str, ...]] = ()
    """Ends of the names of files that are listed."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+l", "list", "to the list and back"),
    ]

    def __init__(self, draft: str, seen: int | None = None) -> None:
        super().__init__(draft, seen)
        self._entries = Entries("")
        self._raw: dict[str, str] = {}

    def path_field(self, label: str) -> Field:
        """Make the field of the path."""
        start = self.typed.get("path", "")
        return Field(self.host.face, "path", label, start, tail="↵ takes the first below")

    def body(self) -> ComposeResult:
        """Compose the fields over the list."""
        yield from super().body()
        yield Roll(self.host.face, id=_BELOW, shy=True)

    def on_mount(self) -> None:
        """Begin."""
        self.query(Field).first().take_focus()
        self._begin_look()

    @property
    def _typed_path(self) -> str:
        return self.typed.get("path", "")

    def path(self) -> Path:
        """Return the path typed."""
        text = self._typed_path.strip() or "."
        return path_typed(self._raw.get(text, text))

    def changed(self, name: str) -> None:
        """Look at what the path leads to."""
        if name == "path":
            self._begin_look()

    def _begin_look(self) -> None:
        self.run_worker(self._look(), exclusive=True, group="paths")

    async def _look(self) -> None:
        """List the folder; a slow disk keeps no key waiting."""
        text = self._typed_path
        raw = self._raw.get(text, text)
        job = partial(look, raw, self.SUFFIXES, folders=self.FOLDERS)
        self._entries = await asyncio.to_thread(job)
        self._raw.update({each.text: each.raw for each in self._entries.entries})
        self.looked()

    def looked(self) -> None:
        """Take note that the folder has been listed."""
        self.show_entries()

    def show_entries(self) -> None:
        """Show what the folder holds."""
        found = self._entries
        self.roll(_BELOW).show(lambda width: self._lay(found, width), keep=False)

    def _lay(self, found: Entries, width: int) -> Fixed:
        paper = Paper(width, self.host.face)
        paper.head(found.folder)
        for at, each in enumerate(found.entries):
            tone = "key" if each.folder else ""
            paper.row(Cell(each.name, width, tone), target=str(at))
        if found.trouble:
            paper.text(f"It cannot be read: {found.trouble}", "bad")
        elif not found.entries:
            paper.text("Nothing here begins like that.", "quiet")
        if found.more:
            paper.text(f"and {found.more} more: type some of the name", "quiet")
        return paper.done()

    @on(Roll.Chosen, f"#{_BELOW}")
    def _chosen(self, event: Roll.Chosen) -> None:
        event.stop()
        if event.target.isdigit():
            self._take(int(event.target))
        else:
            self.host.open_item(event.target)

    def _take(self, at: int) -> None:
        """Put an entry of the list into the field."""
        entry = self._entries.entries[at]
        field = next(each for each in self.query(Field) if each.name == "path")
        field.put(entry.text)
        self.typed["path"] = entry.text
        line = field.query_one(Entry)
        line.focus()
        line.cursor_position = len(line.value)
        self.changed("path")

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        """Complete the path with the first of the list, or go on to the next field."""
        event.stop()
        of_path = any(
            isinstance(each, Field) and each.name == "path" for each in event.input.ancestors
        )
        first = next(iter(self._entries.entries), None)
        if of_path and first is not None and first.text != self._typed_path:
            self._take(0)
        else:
            self.focus_next()

    def action_list(self) -> None:
        """Move between the path and what is below it."""
        below = self.roll(_BELOW)
        if below.has_focus:
            self.query(Field).first().take_focus()
        else:
            below.focus()
