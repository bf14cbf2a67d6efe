"""Forms that ask why: settling, reopening, withdrawing, adopting a trial."""

from __future__ import annotations

from functools import partial

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from tracker.errors import InputError
from tracker.model.parts import Outcome
from tracker.model.records import Basis, BasisKind
from tracker.services.actions import adopt, reopen, review, settle, withdraw
from tracker.services.views import ItemPage
from tracker.tui.drafting import NEW_DECISION
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
        super().__init__(f"settle {page.key}", page.revision)
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
        typed = self.typed.get("option", "")
        return typed if any(each.key == typed for each in self._page.options) else chosen or first

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
            based_on=self._seen,
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


_ACTIONS = {"reopen": reopen, "withdraw": withdraw}
_ASKED = {
    "reopen": "Why reopen it",
    "review": "What the look showed",
    "withdraw": "Why withdraw it",
}


class ReasonScreen(Form):
    """Asks why a decision is reopened, withdrawn or held to after another look.

    Parameters
    ----------
    page : ItemPage
        The decision.
    verb : str
        `reopen`, `review` or `withdraw`.
    """

    def __init__(self, page: ItemPage, verb: str) -> None:
        super().__init__(f"{verb} {page.key}", page.revision)
        self._page = page
        self._verb = verb

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"{self._verb[:1].upper()}{self._verb[1:]} {self._page.key}"

    def heading(self) -> str:
        """Return the question, and what moved where that is what it is about."""
        moved = "; ".join(
            f"{each.what}: {each.before} → {each.after}" for each in self._page.shifts
        )
        return f"{self._page.title}  Moved: {moved}" if moved else self._page.title

    def fields(self) -> ComposeResult:
        """Compose the reason."""
        yield self.lines("why", _ASKED[self._verb])
        if self._verb == "review":
            words = tuple(each.value for each in Outcome)
            yield Pick(self.host.face, "outcome", "It is", words, self._outcome().value)

    def _outcome(self) -> Outcome:
        picked = self.typed.get("outcome", "")
        return Outcome(picked) if picked in list(Outcome) else Outcome.CONFIRMED

    def on_mount(self) -> None:
        """Begin."""
        next(iter(self._labelled())).take_focus()

    def store(self) -> None:
        """Ask for it to be done."""
        reviewing = self._verb == "review"
        job = partial(
            partial(review, outcome=self._outcome()) if reviewing else _ACTIONS[self._verb],
            decision=self._page.key,
            why=self.typed.get("why", ""),
            based_on=self._seen,
        )
        self.host.ask(self, job, Stored)


class AdoptScreen(Form):
    """Asks why the trial is adopted, and how well its values are known.

    Parameters
    ----------
    seen : int
        Revision the trial was looked at.
    """

    def __init__(self, seen: int) -> None:
        super().__init__("adopt", seen)

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Adopt {self.host.trial.name}"

    def heading(self) -> str:
        """Return the edits."""
        trial = self.host.trial
        edited = [
            f"{each.what.address}: {each.what.now or 'not set'} → {each.typed or 'not set'}"
            for each in trial.lines
            if each.edited
        ]
        new = [f"new {each.get('kind', 'item')} {each['key']}" for each in trial.documents]
        return "; ".join((*edited, *new))

    def fields(self) -> ComposeResult:
        """Compose the reason and the basis."""
        yield self.lines("why", "Why")
        kinds = tuple(each.value for each in BasisKind)
        yield Pick(self.host.face, "basis", "How well known", kinds, self._basis().kind.value)
        yield self.line("source", "Where from")
        yield self.line("dated", "Dated")

    def _basis(self) -> Basis:
        typed, kind = self.typed, self.typed.get("basis", "")
        return Basis(
            kind=BasisKind(kind) if kind in list(BasisKind) else BasisKind.GUESS,
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
            adopt,
            edits=dict(self.host.trial.edits),
            why=self.typed.get("why", ""),
            basis=self._basis(),
            documents=self.host.trial.documents,
            based_on=self._seen,
        )
        self.host.ask(self, job, Stored)

    def stored(self) -> None:
        """Leave the form and the trial: it has become true, and so has what a form held of it."""
        new = {each["key"] for each in self.host.trial.documents}
        if self.host.draft(NEW_DECISION).get("key", "").strip() in new:
            self.host.forget(NEW_DECISION)
        self.host.trials.drop(self.host.trial)
        self.host.back(2)
