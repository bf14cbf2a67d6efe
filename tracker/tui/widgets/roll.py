"""The one list and page widget: paints only the lines in view, however many there are."""

from __future__ import annotations

from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.scrollbar import ScrollBarRender
from textual.strip import Strip

from tracker.tui.face import Face
from tracker.tui.layout.paper import TONES, Fixed, Line, Lines, Make
from tracker.tui.layout.tabbed import WIDE, tabbed

__all__ = ["Roll"]


def _empty(_: int) -> Lines:
    return Fixed()


class _PlainBar(ScrollBarRender):
    """A scrollbar without block characters."""

    VERTICAL_BARS: ClassVar[list[str]] = [" "] * 8


class Roll(ScrollView, can_focus=True):
    """Lines with a cursor on those that open something.

    Parameters
    ----------
    face : Face
        Decides between the two sets of characters.
    id : str, optional
        Name of the widget on its screen.
    shy : bool
        Show the marker only while the keyboard is here.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"roll--{tone}" for tone in (*TONES, "cursor")}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "choose", "open"),
        Binding("up", "step(-1)", "line up", show=False),
        Binding("down", "step(1)", "line down", show=False),
        Binding("pageup", "leap(-1)", "page up", show=False),
        Binding("pagedown,space", "leap(1)", "page down", show=False),
        Binding("home", "end(-1)", "first line", show=False),
        Binding("end", "end(1)", "last line", show=False),
    ]

    class Chosen(Message):
        """A line was chosen."""

        def __init__(self, roll: Roll, target: str) -> None:
            super().__init__()
            self.roll = roll
            self.target = target

        @property
        def control(self) -> Roll:
            """The widget, for selectors."""
            return self.roll

    def __init__(
        self,
        face: Face,
        *,
        id: str | None = None,  # noqa: A002 - textual's name
        shy: bool = False,
    ) -> None:
        super().__init__(id=id)
        self._shy = shy
        self._face = face
        self._make: Make = _empty
        self._lines: Lines = Fixed()
        self._laid = 0
        self._cursor = -1
        self._strips: dict[tuple[int, bool], Strip] = {}
        self._styles: dict[str, Style] = {}

    def on_mount(self) -> None:
        """Paint the scrollbar with what the terminal has."""
        if self._face.ascii_only:
            self.vertical_scrollbar.renderer = _PlainBar  # type: ignore[misc] # as textual documents it

    def show(self, make: Make, *, keep: bool = True) -> None:
        """Show a page.

        Parameters
        ----------
        make : callable
            Lays the page out for a width; asked again when the width changes.
        keep : bool
            Stay at the target and the place the cursor is at, where the new page has it.
        """
        self._make = make
        self._relay(keep=keep)

    @property
    def target(self) -> str:
        """What the line at the cursor opens."""
        return self._target(self._cursor)

    @property
    def text(self) -> str:
        """The whole page as plain text."""
        every = (self._lines.line(at).text.rstrip() for at in range(len(self._lines)))
        return "\n".join(every)

    @property
    def table(self) -> str:
        """The whole page as a table, its cells divided by tabs."""
        return tabbed(self._make(WIDE))

    def point_at(self, target: str) -> bool:
        """Move the cursor to the line that opens a target; tell whether there is one."""
        place = self._lines.place_of(target)
        if place is None:
            return False
        self._put(place)
        return True

    def _target(self, index: int) -> str:
        return self._lines.line(index).target if 0 <= index < len(self._lines) else ""

    def _relay(self, *, keep: bool) -> None:
        """Lay the page out anew, and find the cursor's place in it."""
        was, offset = self.target, self._cursor - round(self.scroll_y)
        self._laid = self.scrollable_content_region.width
        self._lines = self._make(max(self._laid - 1, 1))
        self._strips.clear()
        self.virtual_size = Size(self._laid, len(self._lines))
        found = self._lines.place_of(was) if keep and was else None
        if found is not None:
            self._cursor = found
            self.scroll_to(y=max(found - offset, 0), animate=False, immediate=True)
        elif not keep or not self.target:
            self._cursor = self._nearest(min(max(self._cursor, 0), len(self._lines)) if keep else 0)
            if not keep:
                self.scroll_to(y=0, animate=False, immediate=True)
        self.refresh()

    def _nearest(self, index: int) -> int:
        found = self._next(index - 1, 1, len(self._lines))
        return self._stop(index, -1) if found is None else found

    def _stop(self, index: int, step: int) -> int:
        """Return the next line that opens something; -1 where there is none."""
        found = self._next(index, step, len(self._lines))
        return -1 if found is None else found

    def _next(self, index: int, step: int, reach: int) -> int | None:
        """Look for the next line that opens something, at most `reach` lines away."""
        for at in range(index + step, index + step * (reach + 1), step):
            if not 0 <= at < len(self._lines):
                return None
            if self._target(at):
                return at
        return None

    def on_resize(self) -> None:
        """Fit the new size."""
        if self.scrollable_content_region.width != self._laid:
            self._relay(keep=True)

    def notify_style_update(self) -> None:
        """Forget painted lines: the theme or the focus changed."""
        super().notify_style_update()
        self._styles.clear()
        self._strips.clear()

    def render_line(self, y: int) -> Strip:
        """Paint one line of the view."""
        index = y + self.scroll_offset.y
        width = self.scrollable_content_region.width
        if not 0 <= index < len(self._lines):
            return Strip.blank(width, self.rich_style)
        at_cursor = index == self._cursor
        held = self._strips.get((index, at_cursor))
        if held is None:
            held = self._painted(self._lines.line(index), width, at_cursor=at_cursor)
            self._strips[index, at_cursor] = held
        return held

    def _painted(self, line: Line, width: int, *, at_cursor: bool) -> Strip:
        base = self.rich_style
        over = self._style("cursor") if at_cursor else None
        hidden = self._shy and not self.has_focus
        segments = [Segment(self._face.marker if at_cursor and not hidden else " ", base)]
        segments += [
            Segment(span.text, base + self._style(span.tone) if span.tone else base)
            for span in line.spans
        ]
        strip = Strip(segments).adjust_cell_length(width, base)
        if over is None:
            return strip
        return Strip([Segment(text, (style or base) + over) for text, style, _ in strip], width)

    def _style(self, tone: str) -> Style:
        if tone not in self._styles:
            self._styles[tone] = self.get_component_rich_style(f"roll--{tone}", partial=True)
        return self._styles[tone]

    def _put(self, index: int) -> None:
        """Move the cursor and bring it into view."""
        before, self._cursor = self._cursor, index
        top, height = round(self.scroll_y), self.scrollable_content_region.height
        if index < top:
            lead = 0 if self._next(index, -1, index) is None else index
            self.scroll_to(y=lead, animate=False, immediate=True)
        elif index >= top + height:
            self.scroll_to(y=index - height + 1, animate=False, immediate=True)
        self.refresh_line(before)
        self.refresh_line(index)

    def _view(self) -> tuple[int, int]:
        top = round(self.scroll_y)
        return top, top + max(self.scrollable_content_region.height, 1)

    def action_step(self, step: int) -> None:
        """Go to the next line that opens something, or scroll where that is out of view."""
        top, bottom = self._view()
        start = self._cursor
        if not top <= start < bottom:
            start = top - 1 if step > 0 else bottom
        found = self._next(start, step, bottom - top)
        if found is not None and top - 1 <= found <= bottom:
            self._put(found)
        else:
            self.scroll_to(y=top + step, animate=False, immediate=True)

    def action_leap(self, step: int) -> None:
        """Go a page up or down."""
        top, bottom = self._view()
        goal = max(0, min(self._cursor + step * (bottom - top), len(self._lines) - 1))
        self.scroll_to(y=top + step * (bottom - top), animate=False, immediate=True)
        top, bottom = self._view()
        stops = [at for at in range(top, min(bottom, len(self._lines))) if self._target(at)]
        if stops:
            self._put(min(stops, key=lambda at: abs(at - goal)))

    def action_end(self, step: int) -> None:
        """Go to the first or the last line."""
        found = self._stop(len(self._lines), -1) if step > 0 else self._stop(-1, 1)
        if found >= 0:
            self._put(found)
        self.scroll_to(y=len(self._lines) if step > 0 else 0, animate=False, immediate=True)

    def action_choose(self) -> None:
        """Open what the line at the cursor opens."""
        if self.target:
            self.post_message(self.Chosen(self, self.target))

    def on_click(self, event: events.Click) -> None:
        """Take a click."""
        index = event.y + self.scroll_offset.y
        target = self._target(index)
        if not target:
            return
        event.stop()
        again = index == self._cursor
        self._put(index)
        if again or event.chain > 1:
            self.post_message(self.Chosen(self, target))
