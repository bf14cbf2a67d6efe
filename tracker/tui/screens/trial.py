"""Trying values: the ripple follows every key, and nothing is stored."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.message import Message

from tracker.evaluate.engine import Cancel
from tracker.services.item import item_page
from tracker.services.session import Session
from tracker.services.views import ItemPage
from tracker.tui.jobs import Tried, now_at, try_edits
from tracker.tui.layout.paper import Fixed, Paper
from tracker.tui.layout.ripple import ripple_lines
from tracker.tui.messages import Moved
from tracker.tui.screens.page import Page
from tracker.tui.settable import Settable, settables, why_nothing
from tracker.tui.trial import TrialEdit
from tracker.tui.widgets.field import Field, Typed
from tracker.tui.widgets.roll import Roll

__all__ = ["TrialScreen"]


class Rippled(Message):
    """The trial has been worked out."""

    def __init__(self, tried: Tried) -> None:
        super().__init__()
        self.tried = tried


class Looked(Message):
    """An item to take values from has been read."""

    def __init__(self, page: ItemPage) -> None:
        super().__init__()
        self.page = page


def moved_text(each: TrialEdit) -> str:
    """Say what became of a value under the trial."""
    return (
        f"{each.what.address} changed meanwhile from {each.was or 'not set'} to "
        f"{each.what.now or 'not set'}: look again before you adopt"
    )


def now_text(what: Settable) -> str:
    """Say what a value is now."""
    return f"now {what.now or 'not set'} {what.unit}".strip()


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
        Binding("ctrl+o", "leave_out", "leave one out"),
        Binding("ctrl+r", "drop", "drop all"),
    ]

    def __init__(self, focus: str = "") -> None:
        super().__init__()
        self._first = focus
        self._tried: Tried | None = None

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Trying, nothing is stored"

    def body(self) -> ComposeResult:
        """Compose the fields over the ripple."""
        with VerticalScroll(id="edits", can_focus=False):
            for each in self.host.trial.lines:
                yield self._field(each)
        yield Roll(self.host.face)

    def _field(self, each: TrialEdit) -> Field:
        what = each.what
        return Field(self.host.face, what.address, what.address, each.typed, tail=now_text(what))

    def on_mount(self) -> None:
        """Begin."""
        self._focus(self._first)

    def _focus(self, address: str) -> None:
        fields = {each.name: each for each in self.query(Field)}
        if fields:
            fields.get(address, next(iter(fields.values()))).take_focus()
        else:
            self.roll().focus()

    async def take_in(self, more: Sequence[Settable], focus: str) -> None:
        """Take more values into the trial and type at one of them."""
        known = {each.name for each in self.query(Field)}
        for what in more:
            self.host.trial.add(what)
        fresh = [each for each in self.host.trial.lines if each.what.address not in known]
        await self.query_one("#edits").mount(*map(self._field, fresh))
        self._focus(focus)
        self._try()

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
        for field in self.query(Field):
            each = lines[field.name or ""]
            field.follow(now_text(each.what))
            if not each.edited:
                field.put(each.typed)

    @on(Typed)
    def _typed(self, event: Typed) -> None:
        event.stop()
        self.host.trial.type(event.name, event.text)
        self._try()

    def _try(self) -> None:
        edits = self.host.trial.edits

        def job(session: Session, cancel: Cancel) -> Tried:
            return try_edits(session, edits, cancel)

        self.host.ask_latest(self, job, Rippled)

    @on(Rippled)
    def _show(self, event: Rippled) -> None:
        event.stop()
        tried = event.tried
        if tried.edits != self.host.trial.edits:
            return  # what was typed since is being worked out already
        self._tried = tried
        for field in self.query(Field):
            field.blame(tried.errors.get(field.name or "", ""))
        self.roll().show(partial(self._lay, tried))
        self.refresh_bindings()

    def _lay(self, tried: Tried, width: int) -> Fixed:
        face = self.host.face
        if tried.ripple is not None:
            return ripple_lines(tried.ripple, width, face)
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
        self.host.open_item(event.target)

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        trial = self.host.trial
        if action in ("drop", "leave_out") and not trial.lines:
            return "nothing is being tried"
        if action != "adopt":
            return ""
        if not trial.edits:
            return "no value differs from what it is"
        if self._tried is None or self._tried.edits != trial.edits:
            return "it is still being worked out"
        return "" if self._tried.ripple is not None else "a value does not hold"

    def action_adopt(self) -> None:
        """Store the values, with a reason."""
        if self.allowed("adopt"):
            self.host.open_adopt()

    def action_more(self) -> None:
        """Take a value of another item into the trial."""
        self.host.find_item(self._look)

    def _look(self, key: str) -> None:
        self.host.ask(self, partial(item_page, key=key), Looked)

    @on(Looked)
    async def _offer(self, event: Looked) -> None:
        event.stop()
        page, found = event.page, settables(event.page)
        if not found:
            self.host.say(f"{page.key} cannot be tried: {why_nothing(page)}", "bad")
            return
        if len(found) == 1:
            await self.host.open_trial(found, found[0].address)
            return
        by_address = {each.address: each for each in found}
        self.host.choose(
            f"Which value of {page.key} to try",
            [(each.address, "", each.address, f"{each.now} {each.unit}".strip()) for each in found],
            lambda address: self.host.open_trial((by_address[address],), address),
        )

    async def action_leave_out(self) -> None:
        """Leave the value at the cursor out of the trial."""
        if not self.allowed("leave_out"):
            return
        fields = list(self.query(Field))
        at = next((each for each in fields if each.has_focus_within), fields[-1])
        self.host.trial.leave_out(at.name or "")
        await at.remove()
        self._focus("")
        self._try()

    def action_drop(self) -> None:
        """Drop every value being tried."""
        if self.allowed("drop"):
            self.host.trial.clear()
            self.host.drop_latest()
            self.host.back()
            self.host.say("The trial is dropped; nothing was stored")
