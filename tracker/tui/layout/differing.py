"""What differs between two revisions as lines, worst first."""

from __future__ import annotations

from tracker.services.change_views import Comparison, ItemChange
from tracker.tui.face import Face
from tracker.tui.layout.findings import moved_finding
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["differing_lines"]

_SIGN, _KEY = 14, 18


def differing_lines(view: Comparison, width: int, face: Face) -> Fixed:
    """Lay out a comparison."""
    paper = Paper(width, face)
    paper.text(f"Revision {view.earlier} → revision {view.later}", "strong")
    if view.standings or view.look:
        paper.head("Decisions")
    for each in view.standings:
        why = f": {each.why}" if each.why else ""
        _line(paper, each.after, each.decision, f"was {each.before or 'not there'}{why}")
    for key in view.look:
        _line(paper, "shifted", key, "asks for another look")
    if view.findings:
        paper.head("Findings, before → after")
    for change in view.findings:
        moved_finding(paper, change)
    if view.items:
        paper.head("Items, worst first")
    for item in view.items:
        _item(paper, item)
    if not (view.standings or view.look or view.findings or view.items):
        paper.text("Nothing differs.", "quiet")
    return paper.done()


def _line(paper: Paper, sign: str, key: str, words: str) -> None:
    paper.row(
        Cell(paper.face.sign(sign), _SIGN, tone_of(sign)),
        Cell(key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(words, paper.width - _SIGN - _KEY),
        target=key,
    )


def _item(paper: Paper, change: ItemChange) -> None:
    word = change.consequence
    sign = paper.face.sign(word) if paper.face.symbol(word) else word
    paper.row(
        Cell(sign, _SIGN, tone_of(word)),
        Cell(change.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(f"{change.kind}  {change.title}", paper.width - _SIGN - _KEY),
        target=change.key,
    )
    for each in change.what:
        paper.text(each, indent=_SIGN)
    for line in change.reasons:
        said = f"revision {line.revision}, {line.author}: {line.reason}"
        paper.text(said, "quiet", indent=_SIGN + 2)
