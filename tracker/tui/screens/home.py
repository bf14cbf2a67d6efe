"""The opening screen: three questions, answered at a glance."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from rich.cells import cell_len
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tracker.services.item import item_page
from tracker.services.overview import overview
from tracker.services.views import Overview
from tracker.tui.layout.home import Answer, answer_lines, answers, pulse
from tracker.tui.offering import offer_values
from tracker.tui.screens.page import Page
from tracker.tui.trial_messages import Looked
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
        Binding("e", "edit", "edit and try"),
        Binding("escape,backspace", "stay", "back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._answers: tuple[Answer, ...] = ()

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
        self._answers = answers(page)
        for name, answer in zip(_PANELS, self._answers, strict=True):
            self._fill(name, answer)
        self._fit()
        self.refresh_bindings()

    def _head(self, name: str, answer: Answer) -> None:
        """Write the question and its answer in figures, on two lines where one is too short."""
        line, heading = self.host.face.line, self.query_one(f"#{name}-heading", Static)
        question, summary = line(answer.question), line(answer.summary)
        fits = cell_len(question) + 2 + cell_len(summary) <= heading.content_size.width
        between = "  " if fits else "\n"
        heading.update(Content.assemble(question, (between + summary, "not bold $quiet")))

    def _fill(self, name: str, answer: Answer) -> None:
        face = self.host.face
        self.roll(name).show(lambda width: answer_lines(answer, width, face, roomy=self._roomy()))

    def _roomy(self) -> bool:
        width, height = self.ROOMY
        return self.app.size.width >= width and self.app.size.height >= height

    def _fit(self) -> None:
        """Give the pulse the lines it needs."""
        for name, answer in zip(_PANELS, self._answers, strict=False):
            self._head(name, answer)
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

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        return "" if action != "edit" or self._at else "no item is at the cursor"

    @property
    def _at(self) -> str:
        """The item at the cursor of the answer one is in."""
        return next((each.target for each in self.query(Roll) if each.has_focus), "")

    def action_edit(self) -> None:
        """Take a value of the item at the cursor into the trial."""
        if self.allowed("edit"):
            self.host.ask(self, partial(item_page, key=self._at), Looked)

    @on(Looked)
    async def _offer(self, event: Looked) -> None:
        event.stop()
        await offer_values(self.host, event.page)

    def action_stay(self) -> None:
        """Say that there is nothing to go back to."""
        self.host.say("This is the opening screen; ctrl+q leaves the program")
