"""What would make decisions stand again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from textual.binding import Binding, BindingType

from tracker.evaluate.engine import Cancel
from tracker.services.mending_views import MendView
from tracker.services.session import Session
from tracker.tui.layout.mending import mending_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.layout.ripple import proposal_at
from tracker.tui.screens.amounts import Amount, Amounts, AmountsScreen
from tracker.tui.screens.asking import Tell
from tracker.tui.screens.prices import PricesScreen
from tracker.tui.screens.taking import TakingPage

__all__ = ["MendScreen"]

_FINER, _FEWEST, _FINEST = 4, 2, 100_000


class MendScreen(TakingPage[MendView]):
    """The smallest edits that mend a decision, or everything that is broken.

    Parameters
    ----------
    key : str
        The decision; all that are broken when empty.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s", "strained", "strained, too"),
        Binding("p", "price", "what moves cost"),
        Binding("plus", "sample_finer", "sample finer"),
        Binding("m", "amounts", "how many samples"),
    ]

    def __init__(self, key: str = "") -> None:
        super().__init__()
        self.key = key
        self._strained = False
        self._points = 0
        self._prices: Mapping[str, float] = {}

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
        from tracker.services.mending import mend  # late: read on the engine thread

        return mend(
            session,
            self.key,
            strained=self._strained,
            prices=self._prices,
            points=self._stretches(),
            cancel=cancel,
            progress=tell,
        )

    def lay(self, paper: Paper, view: MendView) -> None:
        """Lay the answer out."""
        mending_lines(paper, view)

    def chosen(self, target: str) -> bool:
        """Take a proposal into the trial."""
        proposal = proposal_at(self.view, target) if self.view is not None else None
        if proposal is not None:
            self.take({**proposal.values, **proposal.leans})
        return proposal is not None

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        if action == "price" and not self._movers:
            return "no number that may be moved is known here yet"
        finest = action == "sample_finer" and self._points * _FINER > _FINEST
        return "samples are as close as they get" if finest else ""

    @property
    def _movers(self) -> tuple[tuple[str, str], ...]:
        """Address and unit of every number that was moved."""
        found = self.view.decisions if self.view is not None else ()
        return tuple({each.key: each.unit for one in found for each in one.ranges}.items())

    def action_price(self) -> None:
        """Say what moves cost."""
        if self.allowed("price"):
            self.host.go(PricesScreen(self._movers, self._prices, self._price))

    def _price(self, prices: Mapping[str, float]) -> None:
        self._prices = prices
        self.ask()

    def action_sample_finer(self) -> None:
        """Sample ranges four times as finely where nothing is proven."""
        if self.allowed("sample_finer"):
            self._points = self._stretches() * _FINER
            self.ask()

    def _stretches(self) -> int:
        """Return the stretches between samples: as said, else as many as usual."""
        from tracker.explore.mend import POINTS  # late: read on the engine thread

        return self._points or POINTS

    def action_amounts(self) -> None:
        """Say how finely ranges are sampled where nothing is proven."""
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

    def action_strained(self) -> None:
        """Mend what is strained, too; or again only what is broken."""
        self._strained = not self._strained
        self.ask()
