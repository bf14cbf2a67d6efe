"""Trying values: the ripple follows every key, and nothing is stored."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from time import monotonic
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, VerticalScroll

from tracker.evaluate.engine import Cancel
from tracker.services.item import item_page
from tracker.services.mending_views import MendView, ProposalView
from tracker.services.session import Session
from tracker.services.trial_mending import mend_trial
from tracker.tui.jobs import Tried, now_at, settables_at, try_edits
from tracker.tui.layout.paper import Fixed, Paper
from tracker.tui.layout.ripple import MENDING, proposal_at, ripple_lines
from tracker.tui.messages import Moved
from tracker.tui.offering import offer_values
from tracker.tui.screens.page import Page
from tracker.tui.screens.trials import TrialsScreen
from tracker.tui.settable import Settable
from tracker.tui.trial import Trial, TrialEdit
from tracker.tui.trial_messages import Looked, Looking, Mended, Proposed, Rippled
from tracker.tui.widgets.field import Field, PickField, Typed
from tracker.tui.widgets.roll import Roll

__all__ = ["TrialScreen"]

_PACE = 0.1
"""Seconds between two words on how far looking has got."""


def moved_text(each: TrialEdit) -> str:
    """Say what became of a value under the trial."""
    return (
        f"{each.what.address} changed meanwhile from {each.was or 'not set'} to "
        f"{each.what.now or 'not set'}: look again before you adopt"
    )


def now_text(what: Settable) -> str:
    """Say what a value is now."""
    return f"now {what.shown or 'not set'}"


class TrialScreen(Page):
    """Values being tried and what they would do.

    Parameters
    ----------
    focus : str
        Address of the value to type at first.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "adopt", "adopt"),
        Binding("ctrl+n", "more", "try more"),
        Binding("ctrl+g", "mend", "what mends it"),
        Binding("ctrl+o", "leave_out", "leave one out"),
        Binding("ctrl+t", "compare", "compare trials"),
        Binding("ctrl+r", "drop", "drop all"),
    ]

    HORIZONTAL_BREAKPOINTS = [(0, "-slim"), (140, "-broad")]  # noqa: RUF012 - declared by textual

    def __init__(self, focus: str = "") -> None:
        super().__init__()
        self._first = focus
        self._tried: Tried | None = None
        self._mended: MendView | None = None
        self._looking = ""
        self._of: Trial | None = None

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Trying {self.host.trial.name}, nothing is stored"

    def body(self) -> ComposeResult:
        """Compose the fields over the ripple."""
        with Container(id="trying"):
            with VerticalScroll(id="edits", can_focus=False):
                yield from self._missing()
            yield Roll(self.host.face)

    def _missing(self) -> list[Field | PickField]:
        """Make a field for everything in the trial that has none."""
        known = {each.name for each in self._fields()}
        face, trial = self.host.face, self.host.trial
        made: list[Field | PickField] = []
        for each in trial.lines:
            what = each.what
            name, tail = what.address, now_text(what)
            if name in known:
                continue
            if what.options:
                made.append(PickField(face, name, name, what.options, each.typed, tail=tail))
            else:
                made.append(Field(face, name, name, each.typed, tail=tail))
        for document in trial.documents:
            key, kind = str(document["key"]), str(document.get("kind", "item"))
            if key not in known:
                made.append(PickField(face, key, f"new {kind}", (key,), key, tail="not stored"))
        return made

    def _fields(self) -> list[Field | PickField]:
        return [each for each in self.query("#edits > *") if isinstance(each, Field | PickField)]

    def on_mount(self) -> None:
        """Begin."""
        self._of = self.host.trial
        self._focus(self._first)

    @on(events.ScreenResume)
    async def _come_back(self) -> None:
        """Show the trial there is now: another may have been picked meanwhile."""
        if self._of is not None and self._of is not self.host.trial:
            await self.take_in((), "")

    def _focus(self, address: str) -> None:
        fields = {each.name: each for each in self._fields()}
        if fields:
            fields.get(address, next(iter(fields.values()))).take_focus()
        else:
            self.roll().focus()

    async def take_in(self, more: Sequence[Settable], focus: str) -> None:
        """Take more values into the trial and type at one of them."""
        for what in more:
            self.host.trial.add(what)
        await self.refit()
        self._focus(focus)
        self._try()

    async def refit(self) -> None:
        """Show the fields of the trial there is now."""
        self._of = trial = self.host.trial
        lines = {each.what.address: each for each in trial.lines}
        keys = {*lines, *(str(each["key"]) for each in trial.documents)}
        for field in self._fields():
            if field.name not in keys:
                await field.remove()
            elif field.name in lines:
                field.put(lines[field.name].typed)
        await self.query_one("#edits").mount(*self._missing())

    def load(self) -> None:
        """Read what the values are now, and try again."""
        addresses = tuple(each.what.address for each in self.host.trial.lines)
        if addresses:
            self.host.ask(self, partial(now_at, addresses=addresses), Moved)
        self._try()

    @on(Moved)
    def _moved(self, event: Moved) -> None:
        event.stop()
        for each in self.host.trial.moved(event.now):
            self.host.say(moved_text(each), "bad")
        lines = {each.what.address: each for each in self.host.trial.lines}
        for field in self._fields():
            line = lines.get(field.name or "")
            if line is not None:
                field.follow(now_text(line.what))
                if not line.edited:
                    field.put(line.typed)

    @on(Typed)
    def _typed(self, event: Typed) -> None:
        event.stop()
        if any(each.what.address == event.name for each in self.host.trial.lines):
            self.host.trial.type(event.name, event.text)
            self._try()

    def _try(self) -> None:
        edits, documents = self.host.trial.edits, self.host.trial.documents
        self._mended, self._looking = None, ""

        def job(session: Session, cancel: Cancel) -> Tried:
            return try_edits(session, edits, cancel, documents)

        self.host.ask_latest(self, job, Rippled)

    @on(Rippled)
    def _show(self, event: Rippled) -> None:
        event.stop()
        tried = event.tried
        if tried.edits != self.host.trial.edits:
            return  # what was typed since is being worked out already
        self._tried = tried
        for field in self._fields():
            field.blame(tried.errors.get(field.name or "", ""))
        self._paint()

    def _paint(self) -> None:
        if self._tried is not None:
            self.roll().show(partial(self._lay, self._tried, self._mended, self._looking))
        self.refresh_bindings()

    def _lay(self, tried: Tried, mended: MendView | None, looking: str, width: int) -> Fixed:
        face = self.host.face
        if tried.ripple is not None:
            return ripple_lines(tried.ripple, width, face, mended, looking)
        paper = Paper(width, face)
        if tried.errors:
            paper.text("Not worked out: this does not hold yet.", "bad")
            paper.text(tried.errors.get("", ""), "bad")
        elif self.host.trial.lines:
            paper.text("Type a value: what it does shows here as you type.", "quiet")
        else:
            paper.text("Nothing is being tried. ctrl+n takes a value in.", "quiet")
        return paper.done()

    @on(Roll.Chosen)
    def _open(self, event: Roll.Chosen) -> None:
        event.stop()
        proposal = proposal_at(self._mended, event.target) if self._mended else None
        if event.target == MENDING:
            self.action_mend()
        elif proposal is not None:
            self._propose(proposal)
        else:
            self.host.open_item(event.target)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        trial = self.host.trial
        if action in ("drop", "leave_out") and not len(trial):
            return "nothing is being tried"
        if action not in ("adopt", "mend"):
            return ""
        if not trial.tries:
            return "no value differs from what it is"
        if self._tried is None or self._tried.edits != trial.edits:
            return "it is still being worked out"
        if self._tried.ripple is None:
            return "a value does not hold"
        broken = self._tried.ripple.broken
        return "" if action == "adopt" or broken else "it breaks no decision"

    def action_adopt(self) -> None:
        """Store the values, with a reason."""
        if self.allowed("adopt"):
            self.host.open_adopt()

    # --- what would mend it

    def action_mend(self) -> None:
        """Look for what would mend what the trial breaks."""
        if not self.allowed("mend"):
            return
        edits, documents = self.host.trial.edits, self.host.trial.documents
        self._mended, self._looking = None, "Looking for the smallest further edits"
        told = [0.0]

        def tell(words: str) -> None:
            if monotonic() - told[0] >= _PACE:
                told[0] = monotonic()
                self.post_message(Looking(words))

        def job(session: Session, cancel: Cancel) -> MendView:
            return mend_trial(session, edits, documents, cancel=cancel, progress=tell)

        self.host.ask_latest(self, job, partial(Mended, edits))
        self._paint()
        self.roll().focus()

    @on(Looking)
    def _progress(self, event: Looking) -> None:
        event.stop()
        if self._looking:
            self._looking = event.words
            self._paint()

    @on(Mended)
    def _mend(self, event: Mended) -> None:
        event.stop()
        if event.edits == self.host.trial.edits:
            self._mended, self._looking = event.view, ""
            self._paint()
            self.roll().point_at("=0/0")

    def _propose(self, proposal: ProposalView) -> None:
        typed = {**proposal.values, **proposal.leans}

        def job(session: Session) -> dict[str, Settable]:
            return settables_at(session, typed)

        self.host.ask(self, job, partial(Proposed, typed))

    @on(Proposed)
    async def _take(self, event: Proposed) -> None:
        event.stop()
        for address, text in event.typed.items():
            what = event.found.get(address, Settable(address, "", "", ""))
            self.host.trial.add(what, text)
        await self.refit()
        self.host.say(f"Taken into the trial: {', '.join(event.typed)}")
        self._try()

    def action_back(self) -> None:
        """Stop looking, or leave the page."""
        if self._looking:
            self.host.drop_latest()
            self._looking = ""
            self._paint()
        else:
            super().action_back()

    # --- what is in it

    def action_more(self) -> None:
        """Take a value of another item into the trial."""
        self.host.find_item(self._look)

    def _look(self, key: str) -> None:
        self.host.ask(self, partial(item_page, key=key), Looked)

    @on(Looked)
    async def _offer(self, event: Looked) -> None:
        event.stop()
        await offer_values(self.host, event.page)

    async def action_leave_out(self) -> None:
        """Leave the value at the cursor out of the trial."""
        if not self.allowed("leave_out"):
            return
        fields = self._fields()
        at = next((each for each in fields if each.has_focus_within), fields[-1])
        self.host.trial.leave_out(at.name or "")
        await at.remove()
        self._focus("")
        self._try()

    def action_compare(self) -> None:
        """Look at all trials side by side."""
        self.host.go(TrialsScreen())

    def action_drop(self) -> None:
        """Drop everything being tried."""
        if self.allowed("drop"):
            self.host.trials.drop(self.host.trial)
            self.host.drop_latest()
            self.host.back()
            self.host.say("The trial is dropped; nothing was stored")
