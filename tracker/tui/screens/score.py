"""Weights and ratings as the engineer sees them, added up as they are typed."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from tracker.errors import InputError
from tracker.services.weighing import score
from tracker.services.weighing_views import WeighView
from tracker.tui.layout.paper import Fixed, Paper
from tracker.tui.layout.weighing import score_lines
from tracker.tui.plain import plain
from tracker.tui.screens.page import Page
from tracker.tui.widgets.field import Entry, Typed
from tracker.tui.widgets.rating import Ratings, RatingsHead
from tracker.tui.widgets.roll import Roll

__all__ = ["ScoreScreen"]

_WEIGHT = ""
"""Column of the weights; options have keys."""

_INVITED = "Give the criteria weights (any numbers) and each option a rating: more is better."


class ScoreScreen(Page):
    """A weight for each criterion and a rating for each option; kept as a draft only.

    Parameters
    ----------
    view : WeighView
        The decision's options and what judges them: the criteria.
    """

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back, typed text is kept"),
        Binding("ctrl+r", "drop", "drop them"),
    ]

    def __init__(self, view: WeighView) -> None:
        super().__init__()
        self._view = view
        self._options = tuple(each.key for each in view.options)
        judges = (each.judge for each in view.rows if each.own)
        self._criteria = (*judges, *(each.key for each in view.costs))
        self._draft = f"score {view.decision}"

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Weights and ratings of {self._view.decision}, nothing is stored"

    def body(self) -> ComposeResult:
        """Compose a line for each criterion over the totals."""
        face, typed = self.host.face, self.host.draft(self._draft)
        yield RatingsHead(face, self._options)
        with VerticalScroll(id="criteria", can_focus=False):
            for criterion in self._criteria:
                names = [_cell(each, criterion) for each in (_WEIGHT, *self._options)]
                yield Ratings(face, criterion, {each: typed.get(each, "") for each in names})
        yield Roll(face, id="total")

    def on_mount(self) -> None:
        """Begin."""
        cells = self.query(Entry)
        if cells:
            cells.first().focus()

    def load(self) -> None:
        """Add up what is typed."""
        self.roll("total").show(partial(self._lay), keep=False)

    def _lay(self, width: int) -> Fixed:
        typed = self.host.draft(self._draft)
        if not any(text.strip() for name, text in typed.items() if name.startswith("/")):
            paper = Paper(width, self.host.face)
            paper.text(_INVITED, "quiet")
            return paper.done()
        weights = {each: typed.get(_cell(_WEIGHT, each), "") for each in self._criteria}
        ratings = {
            (option, each): typed.get(_cell(option, each), "")
            for option in self._options
            for each in self._criteria
        }
        try:
            found = score(self._options, weights, ratings)
        except InputError as error:
            paper = Paper(width, self.host.face)
            paper.text(plain(error), "bad")
            return paper.done()
        titles = [(each.key, each.title) for each in self._view.options]
        return score_lines(found, titles, width, self.host.face)

    @on(Typed)
    def _keep(self, event: Typed) -> None:
        event.stop()
        self.host.draft(self._draft)[event.name] = event.text
        self.load()

    def action_drop(self) -> None:
        """Drop the weights and ratings."""
        self.host.forget(self._draft)
        self.host.back()
        self.host.say("The weights and ratings are dropped")


def _cell(column: str, criterion: str) -> str:
    """Name a cell; keys hold no slash, so it is its own."""
    return f"{column}/{criterion}"
