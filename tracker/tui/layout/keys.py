"""The page that lists the keys valid on a screen."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.services.wording import SIGNS
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["KeyUse", "key_lines"]

KeyUse = tuple[str, str, str]
"""Key, what it does, and why it cannot now."""

_KEY, _SIGN = 16, 14


def key_lines(keys: Sequence[KeyUse], width: int, face: Face) -> Fixed:
    """Lay out the keys, then what the signs are."""
    paper = Paper(width, face)
    paper.head("Keys here")
    for name, what, why in keys:
        tail = f"  (not now: {why})" if why else ""
        paper.row(Cell(name, _KEY, "key"), Cell(what + tail, width - _KEY, "quiet" if why else ""))
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
