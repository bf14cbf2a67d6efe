"""All trials side by side: what each would do, to choose between them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.evaluate.engine import Cancel
from tracker.services.session import Session
from tracker.tui.jobs import try_edits
from tracker.tui.layout.trials import Compared, trials_lines
from tracker.tui.screens.form import Form
from tracker.tui.screens.page import Page
from tracker.tui.trial import Trial
from tracker.tui.widgets.roll import Roll

__all__ = ["NameScreen", "TrialsScreen"]


class Worked(Message):
    """All trials have been worked out."""

    def __init__(self, trials: tuple[Compared, ...]) -> None:
        super().__init__()
        self.trials = trials


def _work(session: Session, trial: Trial, cancel: Cancel) -> Compared:
    lines = {each.what.address: each.what.now for each in trial.lines}
    edits = trial.edits
    tried = try_edits(session, edits, cancel, trial.documents)
    shown = tuple((at, lines.get(at, ""), typed) for at, typed in edits.items())
    new = tuple((str(each["key"]), "", f"new {each.get('kind', '')}") for each in trial.documents)
    wrong = "; ".join(": ".join(part for part in each if part) for each in tried.errors.items())
    return Compared(trial.name, (*shown, *new), tried.ripple, wrong)


class TrialsScreen(Page):
    """Trials in columns, decisions and findings in rows."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "pick(-1)", "trial to the left", show=False),
        Binding("right", "pick(1)", "trial to the right", show=False),
        Binding("e", "edit", "type into it"),
        Binding("a", "another", "another like it"),
        Binding("m", "rename", "name it"),
        Binding("x", "drop", "drop it"),
        Binding("ctrl+s", "adopt", "adopt it"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._worked: tuple[Compared, ...] = ()

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Trials side by side, nothing is stored"

    def body(self) -> ComposeResult:
        """Compose the page."""
        yield Roll(self.host.face)

    def on_mount(self) -> None:
        """Begin."""
        self.roll().focus()

    @on(events.ScreenResume)
    def _come_back(self) -> None:
        """Work them out again: they may have been typed into."""
        if self.is_mounted:
            self.load()

    def load(self) -> None:
        """Work out every trial."""
        trials = [_frozen(each) for each in self.host.trials.every]

        def job(session: Session, cancel: Cancel) -> tuple[Compared, ...]:
            return tuple(_work(session, each, cancel) for each in trials)

        self.host.ask_latest(self, job, Worked)

    @on(Worked)
    def _show(self, event: Worked) -> None:
        event.stop()
        self._worked = event.trials
        self._paint()

    def _paint(self) -> None:
        worked, at, face = self._worked, self._at(self._worked), self.host.face
        if worked:
            self.roll().show(lambda width: trials_lines(worked, at, width, face))
        self.refresh_bindings()

    def _at(self, trials: Sequence[Compared | Trial]) -> int:
        names = [each.name for each in trials]
        current = self.host.trial.name
        return names.index(current) if current in names else 0

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        self.host.open_item(event.target)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        trial = self.host.trial
        if action in ("another", "rename", "drop") and not len(trial):
            return "nothing is being tried"
        if action != "adopt":
            return ""
        if not trial.tries:
            return "no value differs from what it is"
        worked = next((each for each in self._worked if each.name == trial.name), None)
        return "" if worked is not None and worked.ripple is not None else "it does not hold"

    def action_pick(self, by: int) -> None:
        """Go to the next trial, or the one before."""
        every = self.host.trials.every
        self.host.trials.pick(every[(self._at(every) + by) % len(every)].name)
        self._paint()

    async def action_edit(self) -> None:
        """Type into the trial picked."""
        await self.host.open_trial()

    def action_another(self) -> None:
        """Begin a trial with what the picked one holds."""
        if self.allowed("another"):
            name = self.host.trials.copy().name
            self.host.say(f"{name} begins with the same values")
            self.load()

    def action_rename(self) -> None:
        """Give the trial a name."""
        if self.allowed("rename"):
            self.host.go(NameScreen(self.host.trial))

    def action_drop(self) -> None:
        """Drop the trial."""
        if self.allowed("drop"):
            name = self.host.trial.name
            self.host.trials.drop(self.host.trial)
            self.host.say(f"{name} is dropped; nothing was stored")
            self.load()

    def action_adopt(self) -> None:
        """Store what the trial holds, with a reason."""
        if self.allowed("adopt"):
            self.host.open_adopt()


def _frozen(trial: Trial) -> Trial:
    """Copy a trial for the engine thread: it may be typed into meanwhile."""
    copy = Trial(trial.name)
    copy.take_over(trial)
    return copy


class NameScreen(Form):
    """Asks what to call a trial.

    Parameters
    ----------
    trial : Trial
        Which.
    """

    CAUTIOUS = False

    def __init__(self, trial: Trial) -> None:
        super().__init__(f"name of {trial.name}")
        self._trial = trial

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Name {self._trial.name}"

    def fields(self) -> ComposeResult:
        """Compose the name."""
        yield self.line("name", "Call it", self._trial.name)

    def on_mount(self) -> None:
        """Begin."""
        next(iter(self._labelled())).take_focus()

    def store(self) -> None:
        """Take the name: it is no matter of the programme, so nothing is stored there."""
        wanted = self.typed.get("name", "")
        self.host.forget(self._draft)
        self.host.trials.rename(self._trial, wanted)
        self.host.back()
