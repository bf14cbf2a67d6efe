"""What a trial would do, worst first."""

from __future__ import annotations

from tracker.services.change_views import Ripple
from tracker.tui.face import Face
from tracker.tui.layout.findings import moved_finding
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["ripple_lines", "ripple_words"]

_SIGN, _KEY = 14, 18


def ripple_words(ripple: Ripple) -> str:
    """Say in one line what a change does to decisions."""
    groups = (
        ("breaks", ripple.broken),
        ("leaves unproven", ripple.unproven),
        ("strains", ripple.strained),
        ("restores", ripple.restored),
        ("asks another look at", ripple.look),
    )
    return "; ".join(f"{verb} {', '.join(keys)}" for verb, keys in groups if keys)


def ripple_lines(ripple: Ripple, width: int, face: Face) -> Fixed:
    """Lay out a ripple."""
    paper = Paper(width, face)
    _decisions(paper, ripple)
    if ripple.findings:
        paper.head("Findings, before → after")
        for change in ripple.findings:
            moved_finding(paper, change)
    if ripple.quantities:
        paper.head("Quantities, before → after")
        for each in ripple.quantities:
            text = f"{each.before} → {each.after} {each.unit}".strip()
            paper.row(
                Cell(each.key, _KEY + _SIGN, "key"),
                Cell(text, width - _KEY - _SIGN),
                target=each.key,
            )
    paper.gap()
    paper.text(f"{ripple.ran} of {ripple.checks_total} checks run", "quiet")
    return paper.done()


def _decisions(paper: Paper, ripple: Ripple) -> None:
    paper.head("Decisions")
    why = {each.decision: each for each in ripple.standings}
    groups = (
        ("broken", "would break", ripple.broken),
        ("unproven", "would be unproven", ripple.unproven),
        ("strained", "would be strained", ripple.strained),
        ("stands", "would stand again", ripple.restored),
        ("shifted", "would need another look", ripple.look),
    )
    none = True
    for word, verb, keys in groups:
        for key in keys:
            none = False
            change = why.get(key) if word != "shifted" else None
            reason = f": {change.why}" if change and change.why else ""
            after = change.after if change else word
            paper.row(
                Cell(paper.face.sign(after), _SIGN, tone_of(after)),
                Cell(key, _KEY - 1, "key"),
                Cell("", 1),
                Cell(verb + reason, paper.width - _SIGN - _KEY),
                target=key,
            )
    if none:
        paper.text("No decision changes its standing or its ground.", "quiet")
