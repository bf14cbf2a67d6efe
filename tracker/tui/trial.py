"""The values being tried: kept by the app, so leaving the trial loses nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from tracker.services.intake import Document
from tracker.tui.settable import Settable

__all__ = ["Trial", "TrialEdit"]


@dataclass(frozen=True, slots=True)
class TrialEdit:
    """A value that can be edited in the trial.

    Parameters
    ----------
    what : Settable
        The value, as it stands.
    typed : str
        What was typed over it.
    was : str
        What it stood at before somebody else changed it; empty where nobody did.
    """

    what: Settable
    typed: str
    was: str = ""

    @property
    def edited(self) -> bool:
        """Whether what was typed differs from what it is."""
        return self.typed.strip() != self.what.now.strip()


def _unheard(_: Trial) -> None:
    """Let nobody know."""


class Trial:
    """Edits by address, in the order they were begun, and new items.

    Parameters
    ----------
    name : str
        What it is called.
    changed : callable
        Told whenever something in it changed.
    """

    def __init__(
        self, name: str = "trial 1", changed: Callable[[Trial], object] = _unheard
    ) -> None:
        self.name = name
        self._changed = changed
        self._edits: dict[str, TrialEdit] = {}
        self._documents: dict[str, Document] = {}

    def __len__(self) -> int:
        return len(self._edits) + len(self._documents)

    @property
    def lines(self) -> tuple[TrialEdit, ...]:
        """Every value taken into the trial."""
        return tuple(self._edits.values())

    @property
    def edits(self) -> dict[str, str]:
        """What was typed, by address, where it differs from what is."""
        return {each.what.address: each.typed for each in self.lines if each.edited}

    @property
    def documents(self) -> tuple[Document, ...]:
        """New items."""
        return tuple(self._documents.values())

    @property
    def tries(self) -> bool:
        """Whether anything differs from what is."""
        return bool(self.edits or self._documents)

    def add(self, what: Settable, typed: str | None = None) -> None:
        """Take a value into the trial; what was typed over it earlier stays unless it is told."""
        held = self._edits.get(what.address, TrialEdit(what, what.now))
        self._edits[what.address] = held if typed is None else replace(held, typed=typed)
        self._changed(self)

    def bring(self, document: Document) -> None:
        """Take a new item into the trial, in place of one with its key."""
        self._documents[str(document.get("key", ""))] = document
        self._changed(self)

    def type(self, address: str, text: str) -> None:
        """Keep what was typed over a value."""
        self._edits[address] = replace(self._edits[address], typed=text)
        self._changed(self)

    def leave_out(self, name: str) -> None:
        """Take a value, or a new item, out of the trial."""
        self._edits.pop(name, None)
        self._documents.pop(name, None)
        self._changed(self)

    def moved(self, now: Mapping[str, str]) -> tuple[TrialEdit, ...]:
        """Take in what others changed; return what moved."""
        moved = []
        for address, each in self._edits.items():
            text = now.get(address, each.what.now)
            if text != each.what.now:
                typed = each.typed if each.edited else text
                what = replace(each.what, now=text)
                moved.append(TrialEdit(what, typed, was=each.what.now))
        if moved:
            self._edits.update({each.what.address: each for each in moved})
            self._changed(self)
        return tuple(moved)

    def clear(self) -> None:
        """Drop every edit."""
        self._edits.clear()
        self._documents.clear()
        self._changed(self)

    def take_over(self, other: Trial) -> None:
        """Begin with what another trial holds."""
        self._edits.update(other._edits)
        self._documents.update(other._documents)
        self._changed(self)

    def body(self) -> dict[str, Any]:
        """Return the trial as JSON data."""
        return {
            "edits": [{**asdict(each.what), "typed": each.typed} for each in self.lines],
            "documents": [dict(each) for each in self.documents],
        }

    def restore(self, body: Mapping[str, Any]) -> bool:
        """Take in what `body` gave once; tell whether it could be read as that."""
        edits, documents = body.get("edits"), body.get("documents")
        if not isinstance(edits, list) or not isinstance(documents, list):
            return False
        read = [_edit_of(each) for each in edits]
        if None in read or not all(_is_item(each) for each in documents):
            return False
        self._edits = {each.what.address: each for each in read if each is not None}
        self._documents = {each["key"]: each for each in documents}
        return True


def _edit_of(data: object) -> TrialEdit | None:
    match data:
        case {
            "address": str(address), "now": str(now), "unit": str(unit), "title": str(title),
            "options": list(options), "typed": str(typed),
        }:  # fmt: skip
            return TrialEdit(Settable(address, now, unit, title, _words(options)), typed)
        case _:
            return None


def _words(options: Sequence[object]) -> tuple[str, ...]:
    return tuple(each for each in options if isinstance(each, str))


def _is_item(data: object) -> bool:
    return isinstance(data, dict) and isinstance(data.get("key"), str)
