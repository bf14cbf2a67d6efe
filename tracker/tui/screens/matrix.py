"""The dependency matrix, walked cell by cell."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.services.pictures.dependency import KINDS, dependency
from tracker.services.pictures.dependency_views import DependencyView
from tracker.tui.layout.matrix import MatrixLook, matrix_lines, matrix_window
from tracker.tui.layout.paper import Line
from tracker.tui.screens.picture import PicturePage
from tracker.tui.widgets.pane import Pane

__all__ = ["MatrixScreen"]

_CELL = 2


class Partitioned(Message):
    """The matrix has been worked out."""

    def __init__(self, view: DependencyView) -> None:
        super().__init__()
        self.view = view


class MatrixScreen(PicturePage):
    """Decisions, or checks, against each other."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "walk(-1, 0)", "walk", show=False),
        Binding("down", "walk(1, 0)", "walk down", show=False),
        Binding("left", "walk(0, -1)", "walk left", show=False),
        Binding("right", "walk(0, 1)", "walk right", show=False),
        Binding("pageup", "walk(-10, 0)", "ten rows up", show=False),
        Binding("pagedown", "walk(10, 0)", "ten rows down", show=False),
        Binding("tab", "next_mark(1)", "next dependency"),
        Binding("shift+tab", "next_mark(-1)", "dependency before", show=False),
        Binding("home", "to_diagonal", "to the diagonal", show=False),
        Binding("x", "transpose", "mirror the cell"),
        Binding("space", "other", "decisions or checks"),
        Binding("enter", "choose_item", "open"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._of = KINDS[0]
        self._view: DependencyView | None = None
        self._row = self._column = 0

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Dependency matrix of {self._of}s"

    def load(self) -> None:
        """Ask for the matrix."""
        self.host.ask(self, partial(dependency, of=self._of), Partitioned, whole=True)

    @on(Partitioned)
    def _show(self, event: Partitioned) -> None:
        event.stop()
        if event.view.of != self._of:
            return  # the other one has been asked for since
        self._view = event.view
        last = max(len(event.view.items) - 1, 0)
        self._row, self._column = min(self._row, last), min(self._column, last)
        self._draw()
        self.refresh_bindings()

    @property
    def _look(self) -> MatrixLook | None:
        return None if self._view is None else MatrixLook(self._view, self._row, self._column)

    def _draw(self) -> None:
        self.pane.draw(self._lay)

    def _lay(self, width: int, height: int) -> list[Line]:
        look = self._look
        return [] if look is None else matrix_lines(look, width, height, self.host.face)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        name = action.partition("(")[0]
        if self._view is None or name not in _NEEDS_ITEMS:
            return ""
        if not self._view.items:
            return f"there is no {self._of}"
        return "nothing depends on anything" if name == "next_mark" and not self._view.cells else ""

    def action_walk(self, down: int, across: int) -> None:
        """Move the cursor."""
        if self._view is not None and self.allowed("walk"):
            last = len(self._view.items) - 1
            self._row = min(max(self._row + down, 0), last)
            self._column = min(max(self._column + across, 0), last)
            self._draw()

    def action_next_mark(self, step: int) -> None:
        """Go to the next dependency."""
        if self._view is None or not self.allowed("next_mark"):
            return
        here = (self._row, self._column)
        marks = [(each.row, each.column) for each in self._view.cells]
        if step > 0:
            self._row, self._column = next((each for each in marks if each > here), marks[0])
        else:
            before = [each for each in marks if each < here]
            self._row, self._column = before[-1] if before else marks[-1]
        self._draw()

    def action_transpose(self) -> None:
        """Go to the cell that says the opposite."""
        self._row, self._column = self._column, self._row
        self._draw()

    def action_to_diagonal(self) -> None:
        """Go to the row's own column."""
        self._column = self._row
        self._draw()

    def action_other(self) -> None:
        """Show checks instead of decisions, or the other way round."""
        self._of = KINDS[1 - KINDS.index(self._of)]
        self._view, self._row, self._column = None, 0, 0
        self.freshen()
        self.load()

    def action_choose_item(self) -> None:
        """Open one of the pair, or what passes between them."""
        if self._view is None or not self.allowed("choose_item"):
            return
        view, here = self._view, (self._row, self._column)
        pair = [view.items[at] for at in dict.fromkeys(here)]
        link = next((each for each in view.cells if (each.row, each.column) == here), None)
        choices = [(each.key, each.sign, each.key, each.title) for each in pair]
        choices += [(each, "", each, "passes") for each in (link.quantities if link else ())]
        if len(choices) == 1:
            self.host.open_item(pair[0].key)
            return
        self.host.choose("What to open", choices, self.host.open_item)

    @on(Pane.Pressed)
    def _pointed(self, event: Pane.Pressed) -> None:
        """Move the cursor to a cell."""
        event.stop()
        look = self._look
        if look is None or not look.view.items:
            return
        window = matrix_window(look, *self.pane.room)
        row = event.row - 1 - len(str(len(look.view.items)))
        column = (event.column - window.head) // _CELL
        if 0 <= row < len(window.rows):
            self._row = window.rows[row]
            if 0 <= column < len(window.columns):
                self._column = window.columns[column]
            self._draw()
            if event.twice:
                self.action_choose_item()


_NEEDS_ITEMS = ("walk", "next_mark", "transpose", "to_diagonal", "choose_item")
