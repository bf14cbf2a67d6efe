"""A page that fills its widget exactly: pictures, whose keys are the screen's."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.binding import BindingType
from textual.message import Message

from tracker.tui.face import Face
from tracker.tui.layout.paper import Fixed, Line
from tracker.tui.widgets.roll import Roll

__all__ = ["Draw", "Pane"]

Draw = Callable[[int, int], list[Line]]
"""Lays a picture out for a width and a height."""


def _nothing(_width: int, _height: int) -> list[Line]:
    return []


class Pane(Roll, inherit_bindings=False):
    """Lines laid out for the height too; it takes no keys of its own.

    Parameters
    ----------
    face : Face
        Decides between the two sets of characters.
    id : str, optional
        Name of the widget on its screen.
    """

    BINDINGS: ClassVar[list[BindingType]] = []

    class Pressed(Message):
        """A place of the picture was clicked."""

        def __init__(self, column: int, row: int, *, twice: bool) -> None:
            super().__init__()
            self.column = column
            self.row = row
            self.twice = twice

    def __init__(self, face: Face, *, id: str | None = None) -> None:  # noqa: A002 - textual's name
        super().__init__(face, id=id, shy=True)
        self._draw: Draw = _nothing
        self._drawn = 0

    def draw(self, draw: Draw) -> None:
        """Show a picture; it is laid out again whenever the size changes."""
        self._draw = draw
        self._again()

    @property
    def room(self) -> tuple[int, int]:
        """Cells there are for the picture."""
        region = self.scrollable_content_region
        return max(region.width - 1, 1), max(region.height, 1)

    def _again(self) -> None:
        self._drawn = self.room[1]
        self.show(lambda width: Fixed(self._draw(width, self._drawn)), keep=False)

    def on_resize(self) -> None:
        """Fit the new height."""
        if self.room[1] != self._drawn:
            self._again()

    def on_click(self, event: events.Click) -> None:
        """Tell which cell was clicked."""
        event.stop()
        event.prevent_default()
        self.post_message(self.Pressed(event.x - 1, event.y, twice=event.chain > 1))
