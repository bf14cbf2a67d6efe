"""What differs between two revisions."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel
from tracker.model.records import Baseline
from tracker.services.change_views import Comparison
from tracker.services.journal import compare
from tracker.services.session import Reading, Session
from tracker.tui.layout.comparing import comparison_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.screens.asking import Tell
from tracker.tui.screens.revisions import RevisionsScreen
from tracker.tui.screens.telling import TellingPage

__all__ = ["CompareScreen"]


class CompareScreen(TellingPage[Comparison]):
    """Two revisions compared: the latest baseline, else the last change but one, with now."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "earlier", "earlier revision"),
        Binding("l", "later", "later revision"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._earlier: int | None = None
        self._later: int | None = None

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Two revisions compared"

    def question(self) -> str:
        """Return what is asked, in words."""
        earlier = "the latest baseline" if self._earlier is None else f"revision {self._earlier}"
        later = "now" if self._later is None else f"revision {self._later}"
        return f"What differs between {earlier} and {later}?"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> Comparison:
        """Work the answer out, on the engine thread."""
        later = session.head.revision if self._later is None else self._later
        earlier = _latest_baseline(session) if self._earlier is None else self._earlier
        tell(f"Replaying revisions {earlier} and {later}")
        if cancel():
            raise CancelledError("stopped before the revisions were replayed")
        return compare(session, earlier, later)

    def found(self, view: Comparison) -> None:
        """Name what was compared."""
        self._earlier = view.earlier

    def lay(self, paper: Paper, view: Comparison) -> None:
        """Lay the answer out."""
        comparison_lines(paper, view)

    def action_earlier(self) -> None:
        """Choose the revision to compare from."""
        self.host.go(RevisionsScreen("Compare from which revision", self._from))

    def _from(self, revision: int) -> None:
        self._earlier = revision
        self.ask()

    def action_later(self) -> None:
        """Choose the revision to compare with."""
        self.host.go(RevisionsScreen("Compare with which revision", self._with))

    def _with(self, revision: int) -> None:
        self._later = revision
        self.ask()


def _latest_baseline(reading: Reading) -> int:
    frozen = [each.revision for each in reading.programme.of(Baseline)]
    head = reading.head.revision
    return max((each for each in frozen if each < head), default=max(head - 1, 0))
