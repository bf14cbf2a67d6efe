"""How far values may move before something breaks."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from tracker.evaluate.engine import Cancel
from tracker.model.records import Decision
from tracker.services.explore_views import HeadroomView
from tracker.services.session import Session
from tracker.tui.layout.headroom import headroom_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.screens.amounts import Amount, Amounts, AmountsScreen
from tracker.tui.screens.asking import AskingPage, Tell

__all__ = ["HeadroomScreen"]

_FINER, _FEWEST, _FINEST = 4, 2, 100_000


class HeadroomScreen(AskingPage[tuple[HeadroomView, str]]):
    """Headroom of a value, of all that a decision depends on, or of everything.

    Parameters
    ----------
    key : str
        A quantity, a requirement or a decision; everything adjustable when empty.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("plus", "sample_finer", "sample finer"),
        Binding("m", "amounts", "how many samples"),
    ]

    def __init__(self, key: str = "") -> None:
        super().__init__()
        self.key = key
        self._points = 0

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Headroom of {self.key}" if self.key else "Headroom"

    def question(self) -> str:
        """Return what is asked, in words."""
        of = f"Headroom of {self.key}: how" if self.key else "How"
        return f"{of} far may a value move until a decision that stands is broken or unproven?"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> tuple[HeadroomView, str]:
        """Work the answer out, on the engine thread."""
        from tracker.services.exploring import headroom  # late: read on the engine thread

        decision = isinstance(session.programme.find(self.key), Decision) if self.key else False
        asked = "" if decision else self.key
        view = headroom(session, asked, points=self._stretches(), cancel=cancel, progress=tell)
        return view, self.key if decision else ""

    def lay(self, paper: Paper, view: tuple[HeadroomView, str]) -> None:
        """Lay the answer out."""
        headroom_lines(paper, view[0], decision=view[1])

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        finest = action == "sample_finer" and self._points * _FINER > _FINEST
        return "samples are as close as they get" if finest else ""

    def _stretches(self) -> int:
        """Return the stretches between samples: as said, else as many as usual."""
        from tracker.explore.headroom import POINTS  # late: read on the engine thread

        return self._points or POINTS

    def action_sample_finer(self) -> None:
        """Sample four times as finely where nothing is certified."""
        if self.allowed("sample_finer"):
            self._points = self._stretches() * _FINER
            self.ask()

    def action_amounts(self) -> None:
        """Say how finely is sampled where nothing is certified."""
        stretches = Amount(
            name="points",
            label="Stretches of a range",
            value=self._stretches(),
            least=_FEWEST,
            most=_FINEST,
        )
        self.host.go(AmountsScreen("How finely to sample", (stretches,), self._sample))

    def _sample(self, amounts: Amounts) -> None:
        self._points = int(amounts["points"])
        self.ask()
