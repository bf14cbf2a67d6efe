"""Which values a verdict depends on most."""

from __future__ import annotations

from tracker.evaluate.engine import Cancel
from tracker.services.explore_views import DriversView
from tracker.services.session import Session
from tracker.tui.layout.drivers import drivers_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.screens.asking import AskingPage, Tell

__all__ = ["DriversScreen"]


class DriversScreen(AskingPage[DriversView]):
    """The values that drive a requirement, the strongest first.

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
        return f"Drivers of {self.key}"

    def question(self) -> str:
        """Return what is asked, in words."""
        return f"Which values does the verdict of {self.key} depend on most?"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> DriversView:
        """Work the answer out, on the engine thread."""
        from tracker.services.exploring import drivers  # late: read on the engine thread

        return drivers(session, self.key, cancel=cancel, progress=tell)

    def lay(self, paper: Paper, view: DriversView) -> None:
        """Lay the answer out."""
        drivers_lines(paper, view)
