"""The page that lists the keys valid on a screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.services.wording import SIGNS
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["KeyUse", "key_lines"]

_KEY, _SIGN = 18, 14


@dataclass(frozen=True, slots=True)
class KeyUse:
    """What a key does.

    Parameters
    ----------
    where : str
        The section it is listed in.
    names : str
        The key, or the keys.
    what : str
        What it does.
    why_not : str
        Why it cannot be used now.
    """

    where: str
    names: str
    what: str
    why_not: str = ""


def key_lines(keys: Sequence[KeyUse], width: int, face: Face) -> Fixed:
    """Lay out the keys, then what the signs are."""
    paper = Paper(width, face)
    where = ""
    for each in keys:
        if each.where != where:
            where = each.where
            paper.head(where)
        tail = f"  (not now: {each.why_not})" if each.why_not else ""
        tone = "quiet" if tail else ""
        paper.row(Cell(each.names, _KEY, "key"), Cell(each.what + tail, width - _KEY, tone))
    paper.head("Signs")
    words = list(SIGNS)
    abreast = max(width // _SIGN, 1)
    for start in range(0, len(words), abreast):
        shown = words[start : start + abreast]
        paper.row(*(Cell(face.sign(word), _SIGN, tone_of(word)) for word in shown))
    paper.gap()
    paper.text(
        "A click moves to a line, a second one opens it. The keys at the foot can be clicked, and "
        "ctrl+p offers every action by name.",
        "quiet",
    )
    return paper.done()
