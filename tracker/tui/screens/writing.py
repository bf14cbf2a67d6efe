"""The form that adds an item of any kind, or amends one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from tracker.errors import InputError, ManyProblemsError
from tracker.evaluate.engine import Cancel
from tracker.services.actions import add_items, amend_item
from tracker.services.session import Session
from tracker.services.writing import Held, Written, held_item, try_writing
from tracker.tui.blanks import (
    BLANKS,
    KINDS_WRITTEN,
    Blank,
    Sort,
    document_typed,
    port_blanks,
    typed_of,
)
from tracker.tui.host import Choice
from tracker.tui.jobs import Found, everything
from tracker.tui.layout.ripple import ripple_words
from tracker.tui.messages import Stored
from tracker.tui.plain import plain
from tracker.tui.screens.choose import ChooseScreen
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Entry, Field, Labelled, LongField, PickField
from tracker.tui.writing_messages import (
    Fetched,
    Installed,
    Known,
    Ported,
    Weighed,
    installed_checks,
    ports_or_none,
)

__all__ = ["AddScreen", "WritingScreen"]

_KEY = Blank("key", "Key")
_LONG = (Sort.LONG, Sort.LINES, Sort.PAIRS, Sort.RANGES, Sort.COLUMNS, Sort.OPTIONS)
_PICKS = "↵ picks"
_ASKS = {
    "requirement": "what must hold", "quantity": "a number, a point, a choice or a table",
    "decision": "a question with its options", "check": "something computed, bound to quantities",
    "gate": "a date by which things must be in order", "deviation": "a miss that is accepted",
    "action": "something to be done", "evidence": "a file that shows something",
    "risk": "what might go wrong",
}  # fmt: skip


class AddScreen(ChooseScreen):
    """The kinds of item that can be added."""

    def __init__(self) -> None:
        choices = [(kind, "", kind, _ASKS[kind]) for kind in KINDS_WRITTEN]
        super().__init__("Add what", choices, self._begin)

    def _begin(self, kind: str) -> None:
        self.host.go(DecisionScreen() if kind == "decision" else WritingScreen(kind))


class WritingScreen(Form):
    """An item as a form.

    Parameters
    ----------
    kind : str
        Kind of the item to add; empty to amend.
    key : str
        Key of the item to amend; empty to add.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+t", "try", "try it"),
        Binding("ctrl+r", "drop", "drop the draft", show=False),
    ]

    def __init__(self, kind: str, key: str = "") -> None:
        super().__init__(f"amend {key}" if key else f"new {kind}")
        self.kind = kind
        self.key = key
        self._held: Held | None = None
        self._ports: tuple[Blank, ...] = ()
        self._items: tuple[Found, ...] = ()
        self._checks: tuple[tuple[str, str], ...] = ()

    # --- what it looks like

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Amend {self.key}" if self.key else f"Add: {self.kind}"

    def heading(self) -> str:
        """Return what the form is about."""
        if self.key:
            return "What is not touched stays as it is"
        return f"{self.kind.capitalize()}: {_ASKS[self.kind]}"

    def body(self) -> ComposeResult:
        """Compose the fields, and what storing them would do."""
        yield from super().body()
        yield Static(id="foretold")

    def fields(self) -> ComposeResult:
        """Compose the fields of a new item; those of an amendment wait for the item."""
        if not self.key:
            yield from self._made(self._blanks)

    @property
    def _blanks(self) -> tuple[Blank, ...]:
        """All fields but the key."""
        own = BLANKS.get(self.kind, ())
        kept = own if self._held is None else tuple(each for each in own if not each.fixed)
        return (*kept, *self._ports)

    def _made(self, blanks: Sequence[Blank]) -> Iterator[Labelled]:
        texts = typed_of(self._held.document, blanks) if self._held else {}
        for blank in (_KEY, *blanks):
            yield self._field(blank, texts.get(blank.name, ""))
        yield self.lines("why", "Why" if self.key else "Why it is added")

    def _field(self, blank: Blank, default: str) -> Labelled:
        face = self.host.face
        value = self.typed.get(blank.name, default)
        if blank.sort is Sort.WORD:
            words, value = blank.words, value or blank.words[0]
            shown = tuple(each or "none" for each in words)
            return PickField(face, blank.name, blank.label, shown, value or "none", tail=" ")
        if blank.sort in _LONG:
            return LongField(face, blank.name, blank.label, value)
        tail = _PICKS if blank.links else " "
        return Field(face, blank.name, blank.label, value, tail=tail)

    def on_mount(self) -> None:
        """Begin."""
        self.host.ask(self, everything, Known)
        if self.key:
            self.host.ask(self, partial(held_item, key=self.key), Fetched)
            return
        self.query_one(Field).take_focus()
        self._fit_ports()
        self._look()

    @on(Fetched)
    async def _fetched(self, event: Fetched) -> None:
        """Fill the form with the item."""
        event.stop()
        self._held = event.held
        self._seen = event.held.revision
        self.kind = str(event.held.document["kind"])
        if self.kind not in BLANKS:
            self.host.back()
            self.host.say(f"A {self.kind} is not amended: it stays as it was made", "bad")
            return
        await self.query_one("#fields", VerticalScroll).mount(*self._made(self._blanks))
        self.query(Field).first().take_focus()
        self._fit_ports()
        self._look()

    @on(Known)
    def _learn(self, event: Known) -> None:
        event.stop()
        self._items = event.items

    # --- the ports of a check

    def _fit_ports(self) -> None:
        if self.kind != "check":
            return
        if not self._checks:
            self.host.ask(self, installed_checks, Installed)
        said = self._document()
        job = partial(
            ports_or_none, check=said.get("check", ""), config=said.get("config", {}) or {}
        )
        self.host.ask(self, job, Ported)

    @on(Installed)
    def _list_checks(self, event: Installed) -> None:
        event.stop()
        self._checks = event.checks

    @on(Ported)
    async def _refit(self, event: Ported) -> None:
        """Give every port of the check a field."""
        event.stop()
        wanted = port_blanks(event.ports) if event.ports else ()
        if wanted == self._ports:
            return
        names = {each.name for each in wanted}
        shown = {each.name: each for each in self._labelled()}
        for name, field in shown.items():
            if name and "." in name and name not in names:
                await field.remove()
        self._ports = wanted
        texts = typed_of(self._held.document, wanted) if self._held else {}
        fresh = [
            self._field(each, texts.get(each.name, "")) for each in wanted if each.name not in shown
        ]
        await self.query_one("#fields", VerticalScroll).mount(*fresh, before=shown["why"])
        self._look()

    # --- what is typed

    def _typed(self) -> dict[str, str]:
        return {name: "" if text == "none" else text for name, text in self.typed.items()}

    def _document(self) -> dict[str, Any]:
        held = self._held.document if self._held else None
        return document_typed(self.kind, self._typed(), self._blanks, held)

    def _changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """Return only the fields that an amendment changes."""
        held = self._held.document if self._held else {}
        return {name: value for name, value in document.items() if value != held.get(name, "")}

    def changed(self, name: str) -> None:
        """Look at what is typed so far."""
        if self.kind == "check" and name in ("check", "config"):
            self._fit_ports()
        if name != "why":
            self._look()

    def _look(self) -> None:
        document = self._document()
        if self.kind == "quantity" and self._held:
            document = {**self._held.document, **document}
        changed = self._changed(document) if self.key else None
        key = self.key

        def job(session: Session, cancel: Cancel) -> Written:
            return try_writing(session, document, key, changed, cancel)

        self.host.ask_latest(self, job, Weighed)

    @on(Weighed)
    def _tell(self, event: Weighed) -> None:
        """Show what numbers mean, what is wrong where something was typed, and what it would do."""
        event.stop()
        written = event.written
        blanks = {each.name: each for each in self._blanks}
        for field in self.query(Field):
            blank = blanks.get(field.name or "")
            if blank is not None and blank.sort in (Sort.NUMBER, Sort.PORT):
                name = blank.name.partition(".")[2] or blank.name
                field.follow(written.numbers.get(name, _PICKS if blank.links else " "))
        error = ManyProblemsError(list(written.problems)) if written.problems else None
        places, rest = self.blamed(error) if error else ({}, "")
        typed = self._typed()
        self.blame({name: why for name, why in places.items() if typed.get(name, "").strip()}, "")
        wanting = [name for name in places if not typed.get(name, "").strip()]
        self._foretell(written, wanting, rest)

    def _foretell(self, written: Written, wanting: Sequence[str], rest: str) -> None:
        """Say what storing would do, or what is still missing for it."""
        labels = {each.name: each.label for each in (_KEY, *self._blanks)}
        if wanting:
            text = "Still missing: " + ", ".join(labels.get(each, each) for each in wanting)
        elif written.ripple is not None:
            words = ripple_words(written.ripple)
            text = f"Stored, it {words}" if words else "Stored, it changes no decision's standing"
        else:
            text = rest
        self.query_one("#foretold", Static).update(Content(self.host.face.clip(text, 300)))

    def field_of(self, error: InputError) -> str:
        """Return the field an error is about."""
        root = error.field.replace(" ", ".").partition(".")[0]
        if "/" in error.item:
            return "options"
        names = {each.name for each in self._labelled()}
        ports = (f"{side}.{root}" for side in ("inputs", "outputs"))
        return next((each for each in ports if each in names), root)

    # --- links

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        """Offer what can be linked to, or go on to the next field."""
        event.stop()
        if not self._offer(event.input):
            self.focus_next()

    def on_click(self, event: events.Click) -> None:
        """Offer what can be linked to where that is what was clicked."""
        if event.widget is not None and event.widget.has_class("tail"):
            self._offer(event.widget)

    def _offer(self, inside: Widget) -> bool:
        """Offer what can be linked to in the field a widget is part of; tell whether it links."""
        field = next((each for each in inside.ancestors if isinstance(each, Field)), None)
        blank = next((each for each in self._blanks if field and each.name == field.name), None)
        if field is None or blank is None or not blank.links:
            return False
        self.host.choose(
            blank.label.removeprefix("→ "),
            self._choices(blank),
            partial(self._take, field, blank),
            "There is nothing of that kind yet",
        )
        return True

    def _choices(self, blank: Blank) -> list[Choice]:
        if blank.sort is Sort.CHECK:
            return [(key, "", key, title) for key, title in self._checks]
        return [
            (each.line.key, each.line.sign or each.kind, each.line.key, each.line.title)
            for each in self._items
            if each.kind in blank.kinds and each.line.key != self.key
        ]

    def _take(self, field: Field, blank: Blank, key: str) -> None:
        """Put a key into a field: behind those there are where it takes several."""
        there = [each.strip() for each in field.value.split(",") if each.strip()]
        several = blank.sort is Sort.LINKS and key not in there
        text = (
            ", ".join((*there, key))
            if several
            else key
            if blank.sort is not Sort.LINKS
            else field.value
        )
        field.put(text)
        self.typed[blank.name] = text
        self.changed(blank.name)
        entry = field.query_one(Entry)
        entry.focus()
        entry.cursor_position = len(text)

    # --- what is done with it

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        if action != "try":
            return ""
        if self.key:
            return "an amendment is not tried as one; e on its page tries its values"
        return "" if self.typed.get("key", "").strip() else "it has no key yet"

    async def action_try(self) -> None:
        """Take the new item into the trial; the form keeps it, too."""
        if self.allowed("try"):
            self.host.trial.bring(self._document())
            await self.host.open_trial()

    def action_drop(self) -> None:
        """Drop what is typed and leave."""
        self.host.forget(self._draft)
        self.host.drop_latest()
        self.host.back()
        self.host.say("The draft is dropped")

    def store(self) -> None:
        """Ask for the item to be stored."""
        document, why = self._document(), self.typed.get("why", "").strip()
        if not self.key:
            reason = why or f"add {self.kind} {document['key'][:80]}"
            self.host.ask(self, partial(add_items, documents=[document], why=reason), Stored)
            return
        fields = self._changed(document)
        if not fields:
            self._busy = False
            self.host.say("Nothing is changed yet")
            return
        job: Callable[[Session], Any] = partial(
            amend_item, key=self.key, fields=fields, why=why, based_on=self._seen
        )
        self.host.ask(self, job, Stored)

    def refused(self, error: BaseException) -> None:
        """Show what is wrong; an item that is gone takes its form with it."""
        if self.key and self._held is None:
            self.host.back()
            self.host.say(plain(error), "bad")
            return
        super().refused(error)
