"""Why a requirement is not met any more."""

from __future__ import annotations

from tracker.evaluate.engine import Cancel
from tracker.services.item import item_page
from tracker.services.mending_views import WhyView
from tracker.services.session import Session
from tracker.services.views import HistoryLine
from tracker.tui.layout.paper import Paper
from tracker.tui.layout.reasons import Reasons, reasons_lines
from tracker.tui.screens.asking import Tell
from tracker.tui.screens.telling import TellingPage

__all__ = ["ReasonsScreen"]


class ReasonsScreen(TellingPage[Reasons]):
    """The smallest set of changes that explains a miss.

    Parameters
    ----------
    key : str
        The requirement.
    """

    def __init__(self, key: str) -> None:
        super().__init__()
        self.key = key

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Why {self.key} is not met"

    def question(self) -> str:
        """Return what is asked, in words."""
        return f"Which changes, put back, would have {self.key} met again?"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> Reasons:
        """Work the answer out, on the engine thread."""
        from tracker.services.explaining import why  # late: read on the engine thread

        view = why(session, self.key, cancel=cancel, progress=tell)
        keys = dict.fromkeys(cause.key for causes in (*view.sets, view.changed) for cause in causes)
        return Reasons(view, {key: _changes(session, key, view) for key in keys})

    def lay(self, paper: Paper, view: Reasons) -> None:
        """Lay the answer out."""
        reasons_lines(paper, view)


def _changes(session: Session, key: str, view: WhyView) -> tuple[HistoryLine, ...]:
    """Return what changed an item since the requirement was met last, oldest first."""
    since = view.met_at or 0
    lines = item_page(session, key).history
    return tuple(
        sorted((each for each in lines if each.revision > since), key=lambda one: one.revision)
    )
