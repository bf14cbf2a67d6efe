"""The form that logs a new decision while one is still talking about it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.suggester import Suggester
from textual.widgets import Input, Static

from tracker.errors import InputError
from tracker.evaluate.engine import Cancel
from tracker.services.actions import add_items
from tracker.services.session import Session
from tracker.tui.drafting import (
    NEW_DECISION,
    decision_document,
    option_count,
    option_keys,
    quantities_set,
)
from tracker.tui.jobs import Found, everything, try_item
from tracker.tui.messages import Stored
from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Field

__all__ = ["DecisionScreen", "KeySuggester"]


class Tested(Message):
    """The decision as typed has been tried."""

    def __init__(self, error: InputError | None) -> None:
        super().__init__()
        self.error = error


class Known(Message):
    """The keys there are have been read."""

    def __init__(self, items: tuple[Found, ...]) -> None:
        super().__init__()
        self.items = items


class KeySuggester(Suggester):
    """Completes the last key of a list of keys.

    Parameters
    ----------
    kind : str
        Kind of the items.
    """

    def __init__(self, kind: str) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self._kind = kind
        self._keys: Sequence[str] = ()

    def learn(self, items: Sequence[Found]) -> None:
        """Take in the keys there are."""
        self._keys = [each.line.key for each in items if each.kind == self._kind]

    async def get_suggestion(self, value: str) -> str | None:
        """Return the whole text with its last key completed."""
        begun = value.rpartition(",")[2].strip()
        if not begun:
            return None
        found = next((key for key in self._keys if key.startswith(begun) and key != begun), None)
        return None if found is None else value + found[len(begun) :]


class DecisionScreen(Form):
    """A new decision: question, options, the values each sets, what it serves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+o", "option", "one more option"),
        Binding("ctrl+t", "try", "try it"),
        Binding("ctrl+r", "drop", "drop the draft", show=False),
    ]

    def __init__(self) -> None:
        super().__init__(NEW_DECISION)
        kinds = {"serves": "requirement", "sets": "quantity", "gate": "gate"}
        self._suggesters = {name: KeySuggester(kind) for name, kind in kinds.items()}
        self._shown: tuple[str, ...] = ()

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Log a decision"

    def heading(self) -> str:
        """Return what the form is about."""
        return "What is to be decided, between what, and what hangs on it"

    def fields(self) -> ComposeResult:
        """Compose the fields and two options."""
        yield self.line("key", "Key")
        yield self.lines("question", "Question")
        yield self._keys("serves", "Serves requirements")
        yield self._keys("sets", "Sets quantities")
        yield self.line("owner", "Owner")
        yield self._keys("gate", "Due at gate")
        self._shown = quantities_set(self.typed)
        for number in range(1, option_count(self.typed) + 1):
            yield self._block(number)

    def _keys(self, name: str, label: str) -> Field:
        value = self.typed.get(name, "")
        return Field(self.host.face, name, label, value, suggester=self._suggesters[name])

    def _block(self, number: int) -> Vertical:
        title = Static(Content(f"Option {number}"), classes="block-title")
        named = [self.line(f"{number} key", "Key"), self.line(f"{number} title", "Title")]
        values = [self._value(number, each) for each in self._shown]
        notes = self.line(f"{number} notes", "Notes")
        return Vertical(title, *named, *values, notes, classes="block", id=f"option-{number}")

    def _value(self, number: int, quantity: str) -> Field:
        return self.line(f"{number} value {quantity}", f"{quantity} =")

    def on_mount(self) -> None:
        """Begin."""
        self.query_one(Field).take_focus()
        self.host.ask(self, everything, Known)

    @on(Known)
    def _learn(self, event: Known) -> None:
        event.stop()
        for each in self._suggesters.values():
            each.learn(event.items)

    def changed(self, name: str) -> None:
        """Try what is typed so far."""
        if name != "sets":
            self._test()

    @on(Input.Blurred)
    @on(Input.Submitted)
    async def _left(self, event: Message) -> None:
        event.stop()
        await self._refit()
        self._test()

    async def _refit(self) -> None:
        """Give every option a field for each quantity the decision sets."""
        wanted = quantities_set(self.typed)
        if wanted == self._shown:
            return
        self._shown = wanted
        for number in range(1, option_count(self.typed) + 1):
            block = self.query_one(f"#option-{number}", Vertical)
            held = {each.name: each for each in block.query(Field)}
            names = {f"{number} value {each}" for each in wanted}
            for name, field in held.items():
                if name and " value " in name and name not in names:
                    await field.remove()
            fresh = [each for each in wanted if f"{number} value {each}" not in held]
            fields = [self._value(number, each) for each in fresh]
            await block.mount(*fields, before=held[f"{number} notes"])

    def _test(self) -> None:
        document = decision_document(self.typed)

        def job(session: Session, _: Cancel) -> InputError | None:
            return try_item(session, document)

        self.host.ask_latest(self, job, Tested)

    @on(Tested)
    def _tell(self, event: Tested) -> None:
        """Show what is wrong with the fields that have been typed into."""
        event.stop()
        places, _ = self.blamed(event.error) if event.error else ({}, "")
        self.blame({name: why for name, why in places.items() if self.typed.get(name)}, "")

    async def action_option(self) -> None:
        """Add one more option."""
        number = option_count(self.typed) + 1
        self.typed["options"] = str(number)
        block = self._block(number)
        await self.query_one("#fields", VerticalScroll).mount(block)
        block.query(Field).first().take_focus()

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        wanting = action == "try" and not self.typed.get("key", "").strip()
        return "it has no key yet" if wanting else ""

    async def action_try(self) -> None:
        """Take the decision into the trial, as far as it is typed; the form keeps it, too."""
        if self.allowed("try"):
            self.host.trial.bring(decision_document(self.typed))
            await self.host.open_trial()

    def action_drop(self) -> None:
        """Drop what is typed and leave."""
        self.host.forget(self._draft)
        self.host.drop_latest()
        self.host.back()
        self.host.say("The draft is dropped")

    def store(self) -> None:
        """Ask for the decision to be added."""
        document = decision_document(self.typed)
        why = f"log {document['key']}: {document['question'][:200]}"
        self.host.ask(self, partial(add_items, documents=[document], why=why), Stored)

    def field_of(self, error: InputError) -> str:
        """Return the field an error is about."""
        _, _, tail = error.item.partition("/")
        if not tail:
            return "sets" if error.field == "options" else error.field
        key, _, quantity = tail.partition(".")
        number = option_keys(self.typed).index(key) + 1 if key in option_keys(self.typed) else 1
        if quantity:
            return f"{number} value {quantity}"
        return "sets" if error.field == "settings" else f"{number} {error.field}"
