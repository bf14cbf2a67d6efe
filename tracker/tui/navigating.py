"""Which screen is up: going to screens and back."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.screen import Screen

from tracker.services.change_views import JournalLine
from tracker.services.views import ItemPage
from tracker.tui.host import Choice
from tracker.tui.kept import Kept
from tracker.tui.screens.choose import ChooseScreen, FindScreen
from tracker.tui.screens.deciding import AdoptScreen, ReasonScreen, SettleScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.journal import ChangeScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.settable import Settable
from tracker.tui.trial import Trial
from tracker.tui.visits import VisitingApp

__all__ = ["NavigatingApp"]


class NavigatingApp(VisitingApp):
    """An app that goes from screen to screen."""

    kept: Kept
    notice: tuple[str, str]

    @property
    def trial(self) -> Trial:
        """The trial being worked at."""
        return self.kept.trials.current

    def clear_notice(self) -> None:
        """Forget the notice: the user moved on."""
        self.notice = ("", "")

    def go(self, screen: Screen[None]) -> None:
        """Bring up a screen."""
        self.clear_notice()
        self.push_screen(screen)

    def back(self, screens: int = 1) -> None:
        """Leave a screen, or several."""
        for _ in range(screens):
            if len(self.screen_stack) > 2:  # noqa: PLR2004 - textual's own and the opening screen
                self.pop_screen()

    def open_item(self, key: str) -> None:
        """Open an item's page."""
        self.go(ItemScreen(key))

    def open_change(self, line: JournalLine) -> None:
        """Open a change's page."""
        self.go(ChangeScreen(line))

    def open_settle(self, page: ItemPage) -> None:
        """Open the form that settles a decision."""
        self.go(SettleScreen(page))

    def open_reason(self, page: ItemPage, verb: str) -> None:
        """Open the form that asks for a reason."""
        self.go(ReasonScreen(page, verb))

    def open_adopt(self) -> None:
        """Open the form that adopts the trial."""
        self.go(AdoptScreen(self.where.revision))

    async def open_trial(self, more: Sequence[Settable] = (), focus: str = "") -> None:
        """Open the trial, with more values to edit."""
        open_one = next((each for each in self.screen_stack if isinstance(each, TrialScreen)), None)
        if open_one is None:
            for what in more:
                self.trial.add(what)
            self.go(TrialScreen(focus))
            return
        while self.screen is not open_one:
            await self.pop_screen()
        await open_one.take_in(more, focus)

    def choose(
        self, title: str, choices: Sequence[Choice], then: Callable[[str], object], empty: str = ""
    ) -> None:
        """Let the user choose one of several."""
        self.go(ChooseScreen(title, choices, then, empty))

    def find_item(self, then: Callable[[str], object]) -> None:
        """Let the user choose an item of the programme."""
        self.go(FindScreen(then))
