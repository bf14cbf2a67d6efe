"""The terminal front end: which screen is up, and what goes to and from the engine thread."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.command import CommandPalette
from textual.message_pump import MessagePump

from tracker.bootstrap import open_session
from tracker.errors import ConflictError, WhyboneError
from tracker.services.session import Session
from tracker.services.wording import visible
from tracker.tui.desk import Answer, Desk, Job, Refused, Reply, Where
from tracker.tui.face import Face, ascii_wanted
from tracker.tui.host import Draft
from tracker.tui.jobs import programme_identity, redo_named, undo_named
from tracker.tui.keeping import state_folder
from tracker.tui.kept import Kept
from tracker.tui.kinds import PLURALS
from tracker.tui.messages import Identified, NotKept, Refreshed, Stored, Undid
from tracker.tui.navigating import NavigatingApp
from tracker.tui.notices import Reach, stored_words, undone_words
from tracker.tui.palette import Actions
from tracker.tui.places.index import ANYWHERE, BY_NAME, places_from
from tracker.tui.places.place import place_bindings
from tracker.tui.plain import plain
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.screens.help import LEAST, HelpScreen, SmallScreen, key_uses
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.journal import JournalScreen
from tracker.tui.screens.listing import ListScreen
from tracker.tui.screens.page import Page
from tracker.tui.themes import LOOKS, look, themes
from tracker.tui.trials import Trials

__all__ = ["WhyboneApp", "run"]

_HERE = Path(__file__).parent


class WhyboneApp(NavigatingApp):
    """The terminal UI of one programme.

    Parameters
    ----------
    opening : callable
        Opens the session; called on the engine thread.
    ascii_only : bool
        Paint with nothing but ASCII.
    pace : float
        Seconds between looks for what others stored; 0 never looks.
    state : Path, optional
        Where drafts and trials are kept; without it they end with the program.
    """

    TITLE = "whybone"
    COMMANDS = {Actions}  # noqa: RUF012 - declared by textual without ClassVar
    CSS_PATH = [*sorted(_HERE.glob("*/*.tcss"))]  # noqa: RUF012 - declared by textual
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f", "find", "find"),
        Binding("r", "list('requirement')", "requirements"),
        Binding("d", "list('decision')", "decisions"),
        Binding("q", "list('quantity')", "quantities"),
        Binding("t", "trial", "trial"),
        Binding("n", "decide", "new decision"),
        Binding("j", "journal", "journal"),
        Binding("u", "undo", "undo my last change", show=False),
        Binding("U", "redo", "redo what was undone last", show=False),
        Binding("c", "list('check')", "checks", show=False),
        Binding("g", "list('gate')", "gates", show=False),
        Binding("h", "home", "opening screen", show=False),
        Binding("b", "look", "next look", show=False),
        Binding("v", "views", "views"),
        *place_bindings(ANYWHERE),
        Binding("question_mark,f1", "keys", "keys"),
        Binding("ctrl+p", "command_palette", "actions", priority=True),
        Binding("ctrl+q", "quit", "leave the program", show=False, priority=True),
    ]

    def __init__(
        self,
        opening: Callable[[], Session],
        *,
        ascii_only: bool = False,
        pace: float = 2.0,
        state: Path | None = None,
    ) -> None:
        # Without colour, textual's grey would still be colour: let the terminal's own show.
        super().__init__(ansi_color=True if "NO_COLOR" in os.environ else None)
        self.face = Face(ascii_only=ascii_only)
        self.where = Where()
        self.notice = ("", "")
        self.kept = Kept(state, lambda text: self.post_message(NotKept(text)))
        self.failure: BaseException | None = None
        self._pace = pace
        self._warned = False
        self._reach = Reach()
        self._desk = Desk(opening, self.post_message)
        for theme in themes():
            self.register_theme(theme)

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return the colours the style sheets name, for any theme that lacks them."""
        return themes()[0].variables

    def on_mount(self) -> None:
        """Bring up the opening screen."""
        self.theme = look(os.environ, self.console.color_system)
        self.set_class(self.face.ascii_only, "ascii")
        self.push_screen(HomeScreen())
        self.ask(self, programme_identity, Identified)
        if self._pace:
            self.set_interval(self._pace, self._look_around)

    def on_unmount(self) -> None:
        """Let the other threads finish."""
        self._desk.close()
        self.kept.close()

    # --- the engine thread

    def ask(self, origin: MessagePump, job: Job[Any], reply: Reply, *, whole: bool = False) -> None:
        """Run a job on the engine thread; the answer comes back to `origin` as a message."""
        self._desk.ask(origin, job, reply, whole=whole)

    def ask_latest(self, origin: MessagePump, job: Callable[..., Any], reply: Reply) -> None:
        """Run a job that replaces the last one asked for in this way."""
        self._desk.latest(origin, job, reply)

    def drop_latest(self) -> None:
        """Forget the replaceable job."""
        self._desk.drop_latest()

    def _look_around(self) -> None:
        self.ask(self, lambda session: session.refresh(), Refreshed)

    @on(Answer)
    def _answered(self, event: Answer) -> None:
        """Take in where the engine stands, and pass the answer on to who asked."""
        moved = self._moved(event)
        message = event.message
        if isinstance(message, Refused) and self.where.revision < 0:
            self._give_up(message.error)
            return
        self._heed(message)
        if event.origin is self:
            text, tone = self._reach.words(message)
            if isinstance(message, Identified):
                text = self.kept.open(message.programme)
                gc.freeze()  # what is open stays: looking through it for garbage would hold up keys
            if text:
                self.say(text, tone)
        elif event.origin.is_attached:
            event.origin.post_message(message)
        elif isinstance(message, Refused):
            self.say(plain(message.error), "bad")
        if moved and isinstance(self.screen, Page):
            self.screen.freshen()

    def _moved(self, event: Answer) -> bool:
        """Take in where the engine stands; tell whether that is news."""
        where = event.where
        if where is None or where == self.where:
            return False
        self.where = where
        if event.whole and isinstance(event.origin, Page):
            event.origin.revision = where.revision
        return True

    def _heed(self, message: object) -> None:
        """Say what was stored or undone; look around where somebody else stood in the way."""
        if isinstance(message, Stored):
            self.say(stored_words(message.receipt))
        elif isinstance(message, Undid):
            self.say(undone_words(message.undone))
        elif isinstance(message, Refused) and isinstance(message.error, ConflictError):
            self._look_around()

    def _give_up(self, error: BaseException) -> None:
        """Leave: the programme never opened. `run` says why."""
        self.failure = error
        self.exit(error.exit_code if isinstance(error, WhyboneError) else 1)

    # --- what was said and typed

    def say(self, text: str, tone: str = "") -> None:
        """Show a notice until the user moves on."""
        self.notice = (text, tone)
        if isinstance(self.screen, Page) and self.screen.is_mounted:
            self.screen.tell()

    def draft(self, name: str) -> Draft:
        """Return the texts typed into a form so far."""
        return self.kept.draft(name)

    def forget(self, name: str) -> None:
        """Drop a draft: it has been stored."""
        self.kept.forget(name)

    @property
    def trials(self) -> Trials:
        """The trials there are."""
        return self.kept.trials

    @on(NotKept)
    def _not_kept(self, event: NotKept) -> None:
        self.say(event.text, "bad")

    # --- which screen is up

    @on(events.Resize)
    def _fit(self, event: events.Resize) -> None:
        """Cover everything while the terminal is too small for it."""
        small = event.size.width < LEAST[0] or event.size.height < LEAST[1]
        covered = isinstance(self.screen, SmallScreen)
        if small and not covered:
            self.push_screen(SmallScreen())
        elif covered and not small:
            self.pop_screen()

    # --- actions

    def action_find(self) -> None:
        """Find any item by key or words."""
        self.find_item(self.open_item)

    def action_list(self, kind: str) -> None:
        """List all items of a kind."""
        self.go(ListScreen(kind, PLURALS[kind]))

    async def action_trial(self) -> None:
        """Go to the trial."""
        await self.open_trial()

    def action_decide(self) -> None:
        """Log a new decision."""
        self.go(DecisionScreen())

    def action_journal(self) -> None:
        """Look at the journal."""
        self.go(JournalScreen())

    def action_home(self) -> None:
        """Go back to the opening screen."""
        self.clear_notice()
        self.back(len(self.screen_stack))

    def action_place(self, name: str) -> None:
        """Go to a place that is reached from anywhere."""
        self.go(BY_NAME[name].make(""))

    def action_views(self) -> None:
        """Offer every place that can be reached from here."""
        item = self.screen.item if isinstance(self.screen, ItemScreen) else None
        self.choose(
            "What to look at",
            [
                (each.name, "", each.key, each.title)
                for each in places_from(item[0] if item else "")
            ],
            lambda name: self.go(BY_NAME[name].make(item[1] if item else "")),
        )

    def action_undo(self) -> None:
        """Undo the author's latest change."""
        self.ask(self.screen, undo_named, Undid)

    def action_redo(self) -> None:
        """Take back what was undone last."""
        self.ask(self.screen, redo_named, Undid)

    def action_look(self) -> None:
        """Change to the next look: dark, light, high contrast, sixteen colours."""
        names = list(LOOKS.values())
        self.theme = names[(names.index(self.theme) + 1) % len(names)]
        self.say(f"The look is {next(word for word, name in LOOKS.items() if name == self.theme)}")

    def action_keys(self) -> None:
        """List the keys valid here."""
        if isinstance(self.screen, Page) and not isinstance(self.screen, HelpScreen):
            self.go(HelpScreen(key_uses(self.screen)))

    def action_command_palette(self) -> None:
        """Offer every action by name."""
        if isinstance(self.screen, Page):
            self.push_screen(CommandPalette(placeholder="What to do", id="--command-palette"))

    def action_help_quit(self) -> None:
        """Say which key leaves the program."""
        self.say("ctrl+q leaves the program")

    async def action_quit(self) -> None:
        """Leave the program; ask again while something typed would be lost."""
        typed = () if self.kept.on_disk else self.kept.under_way
        if typed and not self._warned:
            self._warned = True
            self.say(f"Not stored yet: {', '.join(typed)}. ctrl+q again drops it and leaves", "bad")
            return
        self.exit(0)


def run(location: str, author: str) -> int:
    """Run the terminal UI on a programme until the user leaves it.

    Parameters
    ----------
    location : str
        File, or database URL.
    author : str
        Who makes the changes.

    Returns
    -------
    int
        Exit code: 0, or that of the error that kept the programme from opening.
    """
    app = WhyboneApp(
        lambda: open_session(location, author),
        ascii_only=ascii_wanted(os.environ, sys.stdout.encoding),
        state=state_folder(os.environ, Path.home()),
    )
    code = app.run()
    if app.failure is not None:
        print(visible(plain(app.failure)), file=sys.stderr)  # noqa: T201 - the terminal is ours again
    return code or app.return_code or 0
