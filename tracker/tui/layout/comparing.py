"""Two revisions compared, worst first, each item with the changes that led there."""

from __future__ import annotations

from tracker.services.change_views import Comparison, ItemChange, StandingChange
from tracker.tui.layout.asking import change_line
from tracker.tui.layout.findings import moved_finding
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["comparison_lines"]

_SIGN, _KEY, _WAS = 13, 18, 16


def comparison_lines(paper: Paper, view: Comparison) -> None:
    """Lay a comparison out."""
    paper.text(f"Revision {view.earlier} → revision {view.later}", "strong")
    if view.standings:
        paper.head("Decisions")
    for standing in view.standings:
        _standing(paper, standing)
    if view.look:
        paper.head("Settled, and asking for another look since")
    for key in view.look:
        paper.row(
            Cell(paper.face.sign("shifted"), _SIGN, "moved"),
            Cell(key, max(paper.width - _SIGN, 0), "key"),
            target=key,
        )
    if view.items:
        paper.head("Items, the worst that came of it first")
    for item in view.items:
        _item(paper, item)
    if view.findings:
        paper.head("Findings, before → after")
    for finding in view.findings:
        moved_finding(paper, finding)
    if not (view.standings or view.findings or view.items):
        paper.text("Nothing differs.", "good")


def _standing(paper: Paper, change: StandingChange) -> None:
    face = paper.face
    sign = face.sign(change.after) if change.after else "withdrawn"
    was = f"was {change.before}" if change.before else "new"
    paper.row(
        Cell(sign, _SIGN, tone_of(change.after)),
        Cell(change.decision, _KEY - 1, "key"),
        Cell("", 1),
        Cell(was, _WAS, "quiet"),
        Cell(change.why, max(paper.width - _SIGN - _KEY - _WAS, 0)),
        target=change.decision,
    )


def _item(paper: Paper, change: ItemChange) -> None:
    symbol = paper.face.sign(change.consequence) or change.consequence
    paper.row(
        Cell(symbol if paper.face.symbol(change.consequence) else change.consequence, _SIGN,
             tone_of(change.consequence)),
        Cell(change.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(f"{change.kind}: {change.title}", max(paper.width - _SIGN - _KEY, 0)),
        target=change.key,
    )  # fmt: skip
    for each in change.what:
        paper.text(each, indent=_SIGN)
    for line in {each.revision: each for each in change.reasons}.values():
        change_line(paper, line, _SIGN)
