"""The opening screen: three questions, answered at a glance."""

from __future__ import annotations

from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tracker.services.overview import overview
from tracker.services.views import Overview
from tracker.tui.layout.home import Answer, answer_lines, answers, pulse
from tracker.tui.screens.page import Page
from tracker.tui.widgets.roll import Roll

__all__ = ["HomeScreen"]

_PANELS = ("stands", "troubled", "due")


class Surveyed(Message):
    """The opening page has been read."""

    def __init__(self, page: Overview) -> None:
        super().__init__()
        self.page = page


class HomeScreen(Page):
    """What stands, what is broken or shifted, what is due at the next gate."""

    ROOMY: ClassVar[tuple[int, int]] = (100, 34)
    """Width and height from which each item gets two lines."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,backspace", "stay", "back", show=False),
    ]

    def body(self) -> ComposeResult:
        """Compose the three panels."""
        yield Roll(self.host.face, id="pulse")
        with Container(id="answers"):
            for name in _PANELS:
                with Vertical(id=f"{name}-panel"):
                    yield Static(classes="heading", id=f"{name}-heading")
                    yield Roll(self.host.face, id=name, shy=True)

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return ""

    def on_mount(self) -> None:
        """Begin."""
        self.roll("pulse").can_focus = False
        self.roll("troubled").focus()

    def load(self) -> None:
        """Ask for the overview."""
        self.host.ask(self, overview, Surveyed, whole=True)

    @on(Surveyed)
    def _show(self, event: Surveyed) -> None:
        event.stop()
        page, face = event.page, self.host.face
        self.roll("pulse").show(lambda width: pulse(page, width, face))
        for name, answer in zip(_PANELS, answers(page), strict=True):
            self._fill(name, answer)
        self._fit()

    def _fill(self, name: str, answer: Answer) -> None:
        face = self.host.face
        heading = Content.assemble(
            face.line(answer.question), ("  " + face.line(answer.summary), "not bold $quiet")
        )
        self.query_one(f"#{name}-heading", Static).update(heading)
        self.roll(name).show(lambda width: answer_lines(answer, width, face, roomy=self._roomy()))

    def _roomy(self) -> bool:
        width, height = self.ROOMY
        return self.app.size.width >= width and self.app.size.height >= height

    def _fit(self) -> None:
        """Give the pulse the lines it needs."""
        pulse_roll = self.roll("pulse")
        pulse_roll.styles.height = max(pulse_roll.virtual_size.height, 1)

    def on_resize(self, event: events.Resize) -> None:
        """Fit the new size."""
        self.set_class(event.size.width >= self.ROOMY[0], "wide")
        self.call_after_refresh(self._fit)

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        self.host.open_item(event.target)

    def action_stay(self) -> None:
        """Say that there is nothing to go back to."""
        self.host.say("This is the opening screen; ctrl+q leaves the program")
