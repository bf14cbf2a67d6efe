"""The values being tried: kept by the app, so leaving the trial loses nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

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


class Trial:
    """Edits by address, in the order they were begun."""

    def __init__(self) -> None:
        self._edits: dict[str, TrialEdit] = {}

    def __len__(self) -> int:
        return len(self._edits)

    @property
    def lines(self) -> tuple[TrialEdit, ...]:
        """Every value taken into the trial."""
        return tuple(self._edits.values())

    @property
    def edits(self) -> dict[str, str]:
        """What was typed, by address, where it differs from what is."""
        return {each.what.address: each.typed for each in self.lines if each.edited}

    def add(self, what: Settable) -> None:
        """Take a value into the trial; what was typed over it earlier stays."""
        self._edits.setdefault(what.address, TrialEdit(what, what.now))

    def type(self, address: str, text: str) -> None:
        """Keep what was typed over a value."""
        self._edits[address] = replace(self._edits[address], typed=text)

    def leave_out(self, address: str) -> None:
        """Take a value out of the trial."""
        self._edits.pop(address, None)

    def moved(self, now: Mapping[str, str]) -> tuple[TrialEdit, ...]:
        """Take in what others changed; return what moved."""
        moved = []
        for address, each in self._edits.items():
            text = now.get(address, each.what.now)
            if text != each.what.now:
                typed = each.typed if each.edited else text
                what = replace(each.what, now=text)
                moved.append(TrialEdit(what, typed, was=each.what.now))
        self._edits.update({each.what.address: each for each in moved})
        return tuple(moved)

    def clear(self) -> None:
        """Drop every edit."""
        self._edits.clear()
