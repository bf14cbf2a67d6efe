"""The trial, line by line: a value is typed, and what it would do is read out."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from tracker.model.records import Basis, BasisKind
from tracker.services.actions import adopt
from tracker.services.item import item_page
from tracker.services.mending_views import MendView, ProposalView
from tracker.services.trial_mending import mend_trial
from tracker.tui.jobs import Tried, now_at, settables_at, try_edits
from tracker.tui.layout.paper import Fixed, Line, Lines, Span
from tracker.tui.layout.ripple import MENDING, proposal_at, ripple_lines
from tracker.tui.linear.talk import Stop, Talk, Word
from tracker.tui.linear.voice import WIDTH
from tracker.tui.settable import Settable, settables, why_nothing
from tracker.tui.trial import TrialEdit

__all__ = ["TrialStop", "take_proposal"]

_VALUE = "=value "
"""Begins the target of a value in the trial; keys of items hold no equals sign."""


def take_proposal(talk: Talk, proposal: ProposalView) -> None:
    """Take what mends a decision into the trial."""
    typed = {**proposal.values, **proposal.leans}
    found = settables_at(talk.session, typed)
    for address, text in typed.items():
        talk.trial.add(found.get(address, Settable(address, "", "", "")), text)


class TrialStop(Stop):
    """Values being tried and what they would do; nothing is stored."""

    name = "Trial"

    def __init__(self) -> None:
        self._mended: MendView | None = None

    def page(self, talk: Talk) -> Lines:
        """Lay out the values, then what they would do."""
        lines = [*self._moved(talk), *map(_value, talk.trial.lines)]
        if not lines:
            text = "Nothing is being tried. more takes a value in, as does edit on an item's page."
            return Fixed([_line(text)])
        tried = self._tried(talk)
        lines += [_line(f"{at}: {why}".lstrip(": ")) for at, why in tried.errors.items()]
        if tried.ripple is None:
            return Fixed([*lines, *([] if tried.errors else [_line("No value differs yet.")])])
        laid = ripple_lines(tried.ripple, WIDTH, talk.voice.face, self._mended)
        return Fixed([*lines, *(laid.line(at) for at in range(len(laid)))])

    def _moved(self, talk: Talk) -> Sequence[Line]:
        addresses = tuple(each.what.address for each in talk.trial.lines)
        now = now_at(talk.session, addresses) if addresses else {}
        return [
            _line(f"{each.what.address} changed meanwhile from {each.was} to {each.what.now}")
            for each in talk.trial.moved(now)
        ]

    def _tried(self, talk: Talk) -> Tried:
        return try_edits(talk.session, talk.trial.edits, None, talk.trial.documents)

    def choose(self, talk: Talk, target: str) -> None:
        """Type a value anew, take in what mends, or go to an item."""
        proposal = proposal_at(self._mended, target) if self._mended else None
        if target.startswith(_VALUE):
            self.type(talk, target.removeprefix(_VALUE))
            talk.arrive()
        elif target == MENDING:
            self._mend(talk, "")
        elif proposal is not None:
            take_proposal(talk, proposal)
            self._mended = None
            talk.arrive()
        else:
            talk.open_item(target)

    def type(self, talk: Talk, address: str) -> None:
        """Ask for a value; what is not said stays."""
        what = next(each.what for each in talk.trial.lines if each.what.address == address)
        now = f"{what.now or 'not set'} {what.unit}".strip()
        if what.options:
            typed = talk.pick(f"{address}, now {now}", [(each, each) for each in what.options])
        else:
            typed = talk.ask(f"{address}, now {now}; try")
        if typed:
            talk.trial.type(address, typed)
            self._mended = None

    def words(self, talk: Talk) -> Sequence[Word]:
        """Return what can be said here."""
        nothing = "" if len(talk.trial) else "nothing is being tried"
        same = "" if talk.trial.tries else "no value differs from what it is"
        return (
            Word("^s", "adopt", "store it, with a reason", partial(self._adopt, talk), same),
            Word("^n", "more", "try a value of another item: more KEY", partial(self._more, talk)),
            Word("^g", "mend", "look for what mends it", partial(self._mend, talk), same),
            Word("^o", "leave", "leave one out", partial(self._leave, talk), nothing),
            Word("^r", "drop", "drop all", partial(self._drop, talk), nothing),
        )

    def _adopt(self, talk: Talk, _: str) -> None:
        seen, edits = talk.session.head.revision, talk.trial.edits
        why = talk.ask("why adopt it")
        if not why:
            talk.voice.say("Nothing is stored: that needs a reason.")
            return
        kinds = [(each.value, each.value) for each in BasisKind]
        kind = talk.pick("How well known; nothing means a guess", kinds) or BasisKind.GUESS.value
        basis = Basis(kind=BasisKind(kind), source=talk.ask("where from, if anywhere"))
        talk.stored(adopt(talk.session, edits, why, basis, talk.trial.documents, based_on=seen))
        talk.trial.clear()
        talk.back()

    def _more(self, talk: Talk, key: str) -> None:
        key = key or talk.ask("a value of which item")
        if not key:
            return
        page = item_page(talk.session, key)
        found = {each.address: each for each in settables(page)}
        if not found:
            talk.voice.say(f"{page.key} cannot be tried: {why_nothing(page)}.")
            return
        named = [(at, at) for at in found]
        chosen = talk.pick("Which value", named) if len(named) > 1 else named[0][0]
        if chosen:
            talk.trial.add(found[chosen])
            self.type(talk, chosen)
            talk.arrive()

    def _mend(self, talk: Talk, _: str) -> None:
        talk.voice.say("Looking for the smallest further edits; this may take a while.")
        self._mended = mend_trial(talk.session, talk.trial.edits, talk.trial.documents)
        talk.arrive()

    def _leave(self, talk: Talk, _: str) -> None:
        names = [each.what.address for each in talk.trial.lines]
        names += [str(each["key"]) for each in talk.trial.documents]
        talk.trial.leave_out(talk.pick("Leave out", [(each, each) for each in names]))
        self._mended = None
        talk.arrive()

    def _drop(self, talk: Talk, _: str) -> None:
        talk.trial.clear()
        talk.voice.say("The trial is dropped; nothing was stored.")
        talk.back()


def _line(text: str, target: str = "") -> Line:
    return Line((Span(text),), target)


def _value(each: TrialEdit) -> Line:
    what = each.what
    now = f"{what.now or 'not set'} {what.unit}".strip()
    typed = f"tried as {each.typed}" if each.edited else "not changed yet"
    return _line(f"{what.address}, now {now}, {typed}", _VALUE + what.address)
