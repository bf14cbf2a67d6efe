"""The dialogue: where one is, what can be said there, and what is said back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from tracker.errors import WhyboneError
from tracker.services.change_views import Committed
from tracker.services.session import Session
from tracker.services.wording import CAUTION
from tracker.tui.layout.paper import Fixed, Lines
from tracker.tui.linear.voice import Voice
from tracker.tui.notices import stored_words
from tracker.tui.plain import plain
from tracker.tui.trial import Trial

__all__ = ["Choice", "Stop", "Talk", "Word"]

Choice = tuple[str, str]
"""Target and words of something to choose."""

_STRETCH = 40
"""Lines read out at a time."""


@dataclass(frozen=True, slots=True)
class Word:
    """Something that can be said.

    Parameters
    ----------
    key : str
        The key that does it on the screens.
    name : str
        The word for it.
    what : str
        What it does.
    do : callable
        Does it, with what was said behind the word.
    why_not : str
        Why it cannot be done now.
    """

    key: str
    name: str
    what: str
    do: Callable[[str], object]
    why_not: str = ""


class Stop:
    """A place in the dialogue: a page, and what can be said there."""

    cautious = True
    """Whether verdicts are read out here, and so must the caution."""

    name = ""

    def page(self, talk: Talk) -> Lines:  # noqa: ARG002 - pages that show something ask
        """Return what is read out."""
        return Fixed()

    def words(self, talk: Talk) -> Sequence[Word]:  # noqa: ARG002 - stops with words of their own
        """Return what can be said here alone."""
        return ()

    def choose(self, talk: Talk, target: str) -> None:
        """Go where a numbered line leads."""
        talk.open_item(target)


@dataclass
class Talk:
    """The dialogue.

    Parameters
    ----------
    session : Session
        The programme.
    voice : Voice
        Hears and speaks.
    opener : callable
        Makes the stop of an item from its key.
    """

    session: Session
    voice: Voice
    opener: Callable[[str], Stop]
    common: Sequence[Word] = ()
    trial: Trial = field(default_factory=Trial)
    done: bool = False
    warned: bool = False
    _stops: list[Stop] = field(default_factory=list)
    _lines: Lines = field(default_factory=Fixed)
    _read: int = 0
    _targets: list[str] = field(default_factory=list)

    @property
    def here(self) -> Stop:
        """Where one is."""
        return self._stops[-1]

    def go(self, stop: Stop) -> None:
        """Go somewhere and read it out."""
        self._stops.append(stop)
        self.arrive()

    def back(self, stops: int = 1) -> None:
        """Go back, as far as there is a way."""
        if len(self._stops) == 1:
            self.voice.say("This is the opening page; quit leaves the program.")
            return
        del self._stops[max(len(self._stops) - stops, 1) :]
        self.arrive()

    def home(self) -> None:
        """Go to the opening page."""
        del self._stops[1:]
        self.arrive()

    def open_item(self, key: str) -> None:
        """Go to an item."""
        self.go(self.opener(key))

    def arrive(self) -> None:
        """Read the page out from its beginning."""
        info = self.session.programme.info
        title = info.title if info else ""
        self.voice.say()
        self.voice.say(f"{self.here.name}. {title}, revision {self.session.head.revision}.")
        self._lines, self._read, self._targets = self.here.page(self), 0, []
        self.go_on()
        if self.here.cautious:
            self.voice.say(CAUTION)

    def go_on(self) -> None:
        """Read on; a line that leads somewhere says its number."""
        until = min(self._read + _STRETCH, len(self._lines))
        for at in range(self._read, until):
            line = self._lines.line(at)
            number = ""
            if line.target and line.target not in self._targets[-1:]:
                self._targets.append(line.target)
                number = f"{len(self._targets)}: "
            if line.text.strip():
                self.voice.say(number + line.text.strip())
        self._read = until
        if left := len(self._lines) - until:
            self.voice.say(f"{left} more lines: Enter reads on.")

    def heed(self, typed: str) -> None:
        """Do what was said."""
        head, _, rest = typed.partition(" ")
        if not typed:
            self.go_on() if self._read < len(self._lines) else self.arrive()
        elif head.isdecimal():
            self._number(int(head))
        else:
            self._word(head, rest.strip())

    def _number(self, number: int) -> None:
        if 1 <= number <= len(self._targets):
            self.here.choose(self, self._targets[number - 1])
        else:
            self.voice.say(f"No line was read out as {number}.")

    def _word(self, said: str, rest: str) -> None:
        words = [*self.here.words(self), *self.common]
        found = next((each for each in words if said in (each.key, each.name)), None)
        if found is None:
            self.voice.say(f"{said[:40]} means nothing here; ? reads out what does.")
        elif found.why_not:
            self.voice.say(f"Cannot {found.name} now: {found.why_not}.")
        else:
            found.do(rest)

    def explain(self) -> None:
        """Read out what can be said here."""
        self.voice.say("A number opens the line read out with it; Enter reads on, or anew.")
        for each in (*self.here.words(self), *self.common):
            tail = f" (not now: {each.why_not})" if each.why_not else ""
            self.voice.say(f"{each.key} or {each.name}: {each.what}{tail}")

    def pick(self, title: str, choices: Sequence[Choice]) -> str:
        """Let one of several be chosen, by number or by name; empty where none is."""
        self.voice.say(f"{title}: a number or a name; nothing gives up.")
        for number, (_, words) in enumerate(choices, 1):
            self.voice.say(f"{number}: {words}")
        typed = self.voice.ask("which one") or ""
        if typed.isdecimal() and 1 <= int(typed) <= len(choices):
            return choices[int(typed) - 1][0]
        names = [target for target, _ in choices]
        if typed and typed not in names:
            self.voice.say(f"There is no {typed[:40]} to choose.")
        return typed if typed in names else ""

    def ask(self, what: str) -> str:
        """Ask for a text; empty where nothing is said."""
        return self.voice.ask(what) or ""

    def stored(self, receipt: Committed) -> None:
        """Say what was stored."""
        self.voice.say(stored_words(receipt))

    def run(self, first: Stop) -> None:
        """Talk until one leaves."""
        self.go(first)
        while not self.done:
            typed = self.voice.ask(self.here.name)
            if typed is None:
                return
            try:
                if self.session.refresh():
                    self.voice.say(f"Others stored changes: now revision {self._revision}.")
                self.heed(typed)
            except WhyboneError as error:
                self.voice.say(plain(error))

    @property
    def _revision(self) -> int:
        return self.session.head.revision
