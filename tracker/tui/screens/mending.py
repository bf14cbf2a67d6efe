"""What would make decisions stand again."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from tracker.evaluate.engine import Cancel
from tracker.services.mending import mend
from tracker.services.mending_views import MendView
from tracker.services.session import Session
from tracker.tui.layout.mending import mending_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.layout.ripple import proposal_at
from tracker.tui.screens.asking import Tell
from tracker.tui.screens.taking import TakingPage

__all__ = ["MendScreen"]


class MendScreen(TakingPage[MendView]):
    """The smallest edits that mend a decision, or everything that is broken.

    Parameters
    ----------
    key : str
        The decision; all that are broken when empty.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("s", "strained", "strained, too")]

    def __init__(self, key: str = "") -> None:
        super().__init__()
        self.key = key
        self._strained = False

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"What mends {self.key}" if self.key else "What mends it"

    def question(self) -> str:
        """Return what is asked, in words."""
        which = self.key or ("each broken or strained decision" if self._strained else "")
        enough = ", unstrained" if self._strained else ""
        return (
            f"Which smallest edits make {which or 'each broken decision'} stand again{enough} and "
            "break no other?"
        )

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> MendView:
        """Work the answer out, on the engine thread."""
        return mend(session, self.key, strained=self._strained, cancel=cancel, progress=tell)

    def lay(self, paper: Paper, view: MendView) -> None:
        """Lay the answer out."""
        mending_lines(paper, view)

    def chosen(self, target: str) -> bool:
        """Take a proposal into the trial."""
        proposal = proposal_at(self.view, target) if self.view is not None else None
        if proposal is not None:
            self.take({**proposal.values, **proposal.leans})
        return proposal is not None

    def action_strained(self) -> None:
        """Mend what is strained, too; or again only what is broken."""
        self._strained = not self._strained
        self.ask()
