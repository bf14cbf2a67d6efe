"""An item's page and what can be done with the item, line by line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from tracker.services.actions import lean, reopen, review, settle, withdraw
from tracker.services.change_views import Committed
from tracker.services.item import item_page
from tracker.services.views import ItemPage, OptionView
from tracker.tui.face import Face
from tracker.tui.layout.item import item_lines
from tracker.tui.layout.options import option_lines
from tracker.tui.layout.paper import Fixed, Line, Lines, Paper
from tracker.tui.layout.roots import root_lines
from tracker.tui.linear.asking import DriversStop, GateStop, HeadroomStop, MendStop
from tracker.tui.linear.talk import Stop, Talk, Word
from tracker.tui.linear.trying import TrialStop
from tracker.tui.linear.voice import WIDTH
from tracker.tui.settable import settables, why_nothing

__all__ = ["ItemStop"]

_NARROW = 60
"""Too narrow for two options abreast: to the ear, one comes after the other."""

_REASONED: dict[str, tuple[str, Callable[..., Committed], str]] = {
    "reopen": ("o", reopen, "open it again, with a reason"),
    "withdraw": ("w", withdraw, "take it out of play, with a reason"),
    "review": ("k", review, "say that it still holds, with a reason"),
}


_ASKED: tuple[tuple[str, str, str, Callable[[str], Stop], tuple[str, ...]], ...] = (
    ("H", "headroom", "headroom", HeadroomStop, ("quantity", "requirement", "decision")),
    ("D", "drivers", "drivers of the verdict", DriversStop, ("requirement",)),
    ("M", "mend", "what would mend it", MendStop, ("decision",)),
    ("G", "gate", "readiness", GateStop, ("gate",)),
)


class ItemStop(Stop):
    """One item with its whole why.

    Parameters
    ----------
    key : str
        Its key.
    """

    def __init__(self, key: str) -> None:
        self.key = self.name = key
        self._page: ItemPage | None = None

    def page(self, talk: Talk) -> Lines:
        """Lay the item out, its options one after the other."""
        page = self._page = item_page(talk.session, self.key)
        face = talk.voice.face
        laid = item_lines(replace(page, options=()), WIDTH, face)
        lines = [laid.line(at) for at in range(len(laid))]
        for option in page.options:
            lines += _option(option, face)
        return Fixed(lines)

    def choose(self, talk: Talk, target: str) -> None:
        """Go to a neighbour."""
        if target != self.key:
            talk.open_item(target)

    def words(self, talk: Talk) -> Sequence[Word]:
        """Return what can be said here."""
        page = self._page
        if page is None:
            return ()
        words = [
            Word("e", "edit", "edit and try", partial(self._edit, talk), _why_not_edit(page)),
            Word("i", "into", "why is this so", lambda _: talk.go(RootStop((self.key,)))),
        ]
        words += [
            Word(key, name, what, partial(_ask, talk, make, self.key))
            for key, name, what, make, kinds in _ASKED
            if page.kind in kinds
        ]
        return (*words, *(self._deciding(talk, page) if page.kind == "decision" else ()))

    def _deciding(self, talk: Talk, page: ItemPage) -> Sequence[Word]:
        why = {each.name: each.why_not for each in page.actions if not each.enabled}
        return (
            Word("l", "lean", "apply an option for now", partial(self._lean, talk),
                 why.get("lean", "")),
            Word("s", "settle", "settle, with reasons", partial(self._settle, talk),
                 why.get("settle", "")),
            *(
                Word(key, name, what, partial(self._reasoned, talk, name), why.get(name, ""))
                for name, (key, _, what) in _REASONED.items()
            ),
        )  # fmt: skip

    def _edit(self, talk: Talk, _: str) -> None:
        page = item_page(talk.session, self.key)
        found = {each.address: each for each in settables(page)}
        chosen = next(iter(found))
        if len(found) > 1:
            words = [(at, f"{at}, now {each.now or 'not set'} {each.unit}".strip())
                     for at, each in found.items()]  # fmt: skip
            chosen = talk.pick(f"Which value of {self.key} to try", words)
        if chosen:
            talk.trial.add(found[chosen])
            stop = TrialStop()
            stop.type(talk, chosen)
            talk.go(stop)

    def _option(self, talk: Talk, title: str) -> str:
        page = item_page(talk.session, self.key)
        return talk.pick(title, [(each.key, f"{each.key}, {each.title}") for each in page.options])

    def _lean(self, talk: Talk, _: str) -> None:
        option = self._option(talk, f"Lean to which option of {self.key}")
        if option:
            talk.stored(lean(talk.session, self.key, option))
            talk.arrive()

    def _settle(self, talk: Talk, _: str) -> None:
        seen, page = talk.session.head.revision, item_page(talk.session, self.key)
        option = self._option(talk, f"Settle {self.key} on")
        if not option:
            return
        why = talk.ask("why this one")
        against = {
            each.key: talk.ask(f"why not {each.key}") or each.against
            for each in page.options
            if each.key != option
        }
        given = {key: text for key, text in against.items() if text}
        talk.stored(settle(talk.session, self.key, option, why, given, based_on=seen))
        talk.arrive()

    def _reasoned(self, talk: Talk, verb: str, _: str) -> None:
        seen = talk.session.head.revision
        why = talk.ask(f"why {verb} {self.key}")
        if why:
            talk.stored(_REASONED[verb][1](talk.session, self.key, why, based_on=seen))
            talk.arrive()
        else:
            talk.voice.say("Nothing is stored: that needs a reason.")


def _why_not_edit(page: ItemPage) -> str:
    return "" if settables(page) else why_nothing(page)


def _ask(talk: Talk, make: Callable[[str], Stop], key: str, _: str) -> None:
    talk.go(make(key))


def _option(option: OptionView, face: Face) -> list[Line]:
    paper = Paper(_NARROW, face)
    paper.head(f"Option {option.key}")
    option_lines(paper, [option])
    return paper.lines


class RootStop(Stop):
    """Why something is so, step by step.

    Parameters
    ----------
    path : tuple of str
        Keys walked so far.
    """

    def __init__(self, path: tuple[str, ...]) -> None:
        self._path = path
        self.name = f"Why {path[-1]} is so"

    def page(self, talk: Talk) -> Lines:
        """Lay the step out."""
        page = item_page(talk.session, self._path[-1])
        return root_lines(self._path, page, WIDTH, talk.voice.face)

    def choose(self, talk: Talk, target: str) -> None:
        """Go on to what it comes from."""
        talk.go(RootStop((*self._path, target)))
