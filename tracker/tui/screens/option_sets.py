"""Which combinations of open options are alive."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

from textual.binding import Binding, BindingType

from tracker.evaluate.engine import Cancel
from tracker.services.session import Session
from tracker.services.set_views import SetsView
from tracker.tui.layout.option_sets import set_at, sets_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.screens.amounts import Amount, Amounts, AmountsScreen
from tracker.tui.screens.asking import Tell
from tracker.tui.screens.taking import TakingPage

__all__ = ["SetsScreen"]

_LISTED, _LOOKED_AT = 10_000, 2**31


class SetsScreen(TakingPage[SetsView]):
    """The combinations that meet every requirement, and what rules the others out."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("o", "goal", "what is best"),
        Binding("l", "leaning", "leaning, too"),
        Binding("plus", "list_more", "list more"),
        Binding("m", "amounts", "list, limit"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._leaning = False
        self._goal = ("", "")
        self._most = 10
        self._limit = 0

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Option sets"

    def question(self) -> str:
        """Return what is asked, in words."""
        which = "open and leaning" if self._leaning else "open"
        return f"Which combinations of the options of {which} decisions meet every requirement?"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> SetsView:
        """Work the answer out, on the engine thread."""
        from tracker.services.set_search import LIMIT, option_sets  # late: on the engine thread

        smallest, largest = self._goal
        return option_sets(
            session,
            smallest=smallest,
            largest=largest,
            leaning=self._leaning,
            most=self._most,
            limit=self._limit or LIMIT,
            cancel=cancel,
            progress=tell,
        )

    def lay(self, paper: Paper, view: SetsView) -> None:
        """Lay the answer out."""
        sets_lines(paper, view)

    def chosen(self, target: str) -> bool:
        """Take a combination into the trial."""
        found = set_at(self.view, target) if self.view is not None else None
        if found is not None:
            self.take(found.options)
        return found is not None

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        if action != "list_more":
            return ""
        if self.view is None:
            return "nothing is listed yet"
        every = len(self.view.sets) >= self.view.count
        return "every combination alive is listed" if every else ""

    def action_list_more(self) -> None:
        """List four times as many of the best."""
        if self.allowed("list_more"):
            self._most *= 4
            self.ask()

    def action_amounts(self) -> None:
        """Say how many are listed, and up to how many are looked at."""
        from tracker.services.set_search import LIMIT  # late: on the engine thread first

        limit = self._limit or LIMIT
        amounts = (
            Amount(name="most", label="To list", value=self._most, least=0, most=_LISTED),
            Amount(
                name="limit",
                label="Of one group, to look at",
                value=limit,
                least=1,
                most=_LOOKED_AT,
            ),
        )
        self.host.go(AmountsScreen("How many combinations", amounts, self._look_at))

    def _look_at(self, amounts: Amounts) -> None:
        self._most, self._limit = int(amounts["most"]), int(amounts["limit"])
        self.ask()

    def action_leaning(self) -> None:
        """Take in decisions that only lean to an option; or leave them out again."""
        self._leaning = not self._leaning
        self.ask()

    def action_goal(self) -> None:
        """Say what makes a combination good."""
        self.host.choose(
            "What makes a combination good",
            [
                ("margin", "", "margin", "a large least margin"),
                ("smallest", "", "smallest", "a quantity that is as small as can be"),
                ("largest", "", "largest", "a quantity that is as large as can be"),
            ],
            self._aim,
        )

    def _aim(self, way: str) -> None:
        if way == "margin":
            self._aim_at("", "")
        else:
            self.host.find_item(partial(self._aim_at, way))

    def _aim_at(self, way: str, key: str) -> None:
        self._goal = (key if way == "smallest" else "", key if way == "largest" else "")
        self.ask()
