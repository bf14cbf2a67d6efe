"""Forms that ask why: settling, reopening, withdrawing, adopting a trial."""

from __future__ import annotations

from functools import partial

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from tracker.errors import InputError
from tracker.model.records import Basis, BasisKind
from tracker.services.actions import reopen, set_values, settle, withdraw
from tracker.services.views import ItemPage
from tracker.tui.jobs import now_at
from tracker.tui.messages import Moved, Stored
from tracker.tui.plain import problems
from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Pick

__all__ = ["AdoptScreen", "ReasonScreen", "SettleScreen"]


class SettleScreen(Form):
    """Settles a decision: the option, why it, and why not each of the others.

    Parameters
    ----------
    page : ItemPage
        The decision.
    """

    CAUTIOUS = True

    def __init__(self, page: ItemPage) -> None:
        super().__init__(f"settle {page.key}")
        self._page = page

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Settle {self._page.key}"

    def heading(self) -> str:
        """Return the question."""
        return self._page.title

    def fields(self) -> ComposeResult:
        """Compose the option, the rationale and a reason for each option."""
        keys = tuple(each.key for each in self._page.options)
        yield Pick(self.host.face, "option", "Settle on", keys, self._option())
        yield self.lines("why", "Why this one")
        for each in self._page.options:
            field = self.lines(f"against {each.key}", f"Against {each.key}", each.against)
            field.display = each.key != self._option()
            yield field

    def _option(self) -> str:
        chosen = next((each.key for each in self._page.options if each.chosen), "")
        first = self._page.options[0].key
        return self.typed.get("option") or chosen or first

    def on_mount(self) -> None:
        """Begin."""
        self.query_one(Pick).focus()

    def changed(self, name: str) -> None:
        """Ask for a reason against every option but the one picked."""
        if name == "option":
            for field in self._labelled():
                field.display = field.name != f"against {self._option()}"

    def store(self) -> None:
        """Ask for the decision to be settled."""
        against = {}
        for each in self._page.options:
            text = self.typed.get(f"against {each.key}", each.against).strip()
            if text and each.key != self._option():
                against[each.key] = text
        job = partial(
            settle,
            decision=self._page.key,
            option=self._option(),
            why=self.typed.get("why", "").strip(),
            against=against,
        )
        self.host.ask(self, job, Stored)

    def field_of(self, error: InputError) -> str:
        """Return the field an error is about."""
        return "why" if error.field == "rationale" else error.field

    def blamed(self, error: BaseException) -> tuple[dict[str, str], str]:
        """Mark every reason that is wanting, beside what the refusal says."""
        places, rest = super().blamed(error)
        if any(getattr(each, "field", "") == "against" for each in problems(error)):
            for each in self._page.options:
                name = f"against {each.key}"
                if each.key != self._option() and not self.typed.get(name, each.against).strip():
                    places[name] = "a reason is wanted here"
        return places, rest


class ReasonScreen(Form):
    """Asks why a decision is reopened or withdrawn.

    Parameters
    ----------
    page : ItemPage
        The decision.
    verb : str
        `reopen` or `withdraw`.
    """

    def __init__(self, page: ItemPage, verb: str) -> None:
        super().__init__(f"{verb} {page.key}")
        self._page = page
        self._verb = verb

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"{self._verb[:1].upper()}{self._verb[1:]} {self._page.key}"

    def heading(self) -> str:
        """Return the question."""
        return self._page.title

    def fields(self) -> ComposeResult:
        """Compose the reason."""
        yield self.lines("why", f"Why {self._verb} it")

    def store(self) -> None:
        """Ask for the decision to be reopened or withdrawn."""
        action = reopen if self._verb == "reopen" else withdraw
        why = self.typed.get("why", "")
        self.host.ask(self, partial(action, decision=self._page.key, why=why), Stored)


class AdoptScreen(Form):
    """Asks why the trial's values are adopted, and how well they are known."""

    def __init__(self) -> None:
        super().__init__("adopt")

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Adopt what was tried"

    def heading(self) -> str:
        """Return the edits."""
        edited = [each for each in self.host.trial.lines if each.edited]
        return "; ".join(
            f"{each.what.address}: {each.what.now or 'not set'} → {each.typed or 'not set'}"
            for each in edited
        )

    def fields(self) -> ComposeResult:
        """Compose the reason and the basis."""
        yield self.lines("why", "Why")
        kinds = tuple(each.value for each in BasisKind)
        yield Pick(self.host.face, "basis", "How well known", kinds, self._basis().kind.value)
        yield self.line("source", "Where from")
        yield self.line("dated", "Dated")

    def _basis(self) -> Basis:
        typed = self.typed
        return Basis(
            kind=BasisKind(typed.get("basis", BasisKind.GUESS.value)),
            source=typed.get("source", ""),
            dated=typed.get("dated", ""),
        )

    def on_mount(self) -> None:
        """Begin."""
        next(iter(self._labelled())).take_focus()

    def load(self) -> None:
        """Read what the values are now."""
        addresses = tuple(self.host.trial.edits)
        self.host.ask(self, partial(now_at, addresses=addresses), Moved)

    @on(Moved)
    def _moved(self, event: Moved) -> None:
        event.stop()
        if self.host.trial.moved(event.now):
            self.query_one("#about", Static).update(Content(self.host.face.line(self.heading())))

    def store(self) -> None:
        """Ask for the values to be stored."""
        job = partial(
            set_values,
            edits=dict(self.host.trial.edits),
            why=self.typed.get("why", ""),
            basis=self._basis(),
        )
        self.host.ask(self, job, Stored)

    def stored(self) -> None:
        """Leave the form and the trial: it has become true."""
        self.host.trial.clear()
        self.host.back(2)
