"""What all answers to a question of many values share: how far it got, and what it is about."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tracker.services.views import HistoryLine
from tracker.tui.face import Face
from tracker.tui.layout.paper import Paper

__all__ = ["Asked", "change_line", "item_of", "percent", "revision_at", "status_lines"]

_NEARLY, _SHORT_OF_ALL, _ALL = 0.99, 0.9999, 100.0
_PART = re.compile(r"[./\[]")


@dataclass(frozen=True, slots=True)
class Asked:
    """How a question stands.

    Parameters
    ----------
    title : str
        What is asked, in words.
    running : bool
        Whether it is still being worked out.
    words : str
        How far it got, or why it came to nothing.
    failed : bool
        Whether it came to nothing.
    answered : int or None
        Revision of the answer shown; None where there is none yet.
    revision : int
        The revision there is now.
    """

    title: str
    running: bool = False
    words: str = ""
    failed: bool = False
    answered: int | None = None
    revision: int = 0


def status_lines(paper: Paper, asked: Asked) -> None:
    """Add what is asked and how far it got."""
    paper.text(asked.title, "strong")
    if asked.running:
        paper.text(f"{_mark(paper.face)} {asked.words or 'Begun'}. Esc stops.", "near")
    elif asked.words:
        paper.text(asked.words, "bad" if asked.failed else "near")
        paper.text("a asks again.", "quiet")
    if asked.answered is not None and asked.answered != asked.revision:
        text = f"This is of revision {asked.answered}, now it is {asked.revision}: a asks again."
        paper.text(text, "moved")
    paper.gap()


def _mark(face: Face) -> str:
    return "..." if face.ascii_only else "⋯"


def change_line(paper: Paper, line: HistoryLine, indent: int = 4) -> None:
    """Add a change that led to something; choosing it opens the change."""
    text = f"revision {line.revision}, {line.author}: {line.reason}"
    paper.text(text, "quiet", indent=indent, target=f"={line.revision}")


def revision_at(target: str) -> int | None:
    """Return the change a line opens; None for a line that opens something else."""
    return int(target[1:]) if target.startswith("=") else None


def item_of(address: str) -> str:
    """Return the item an address belongs to."""
    return _PART.split(address, maxsplit=1)[0]


def percent(share: float) -> str:
    """Write a share as per cent, to three digits, never rounding a doubt away.

    A share short of all, or of nothing, is not written as all or nothing.
    """
    if share <= 0.0 or share >= 1.0:
        return f"{100 * share:.0f} %"
    text = f"{100 * share:.3g}" if share < _NEARLY else f"{100 * share:.2f}"
    return f"{text} %" if float(text) < _ALL else f">{100 * _SHORT_OF_ALL:.2f} %"
