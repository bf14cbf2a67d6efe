"""Why a verdict is not met any more: the smallest sets of changes, and who made them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.services.mending_views import CauseView, WhyView
from tracker.services.views import HistoryLine
from tracker.tui.layout.asking import change_line
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["Reasons", "reasons_lines"]

_KEY = 22


@dataclass(frozen=True, slots=True)
class Reasons:
    """Why a verdict is not met, with the changes of every item that has a part in it.

    Parameters
    ----------
    view : WhyView
        What was found.
    changes : mapping of str to sequence of HistoryLine
        Key → its changes since the requirement was met last, oldest first.
    """

    view: WhyView
    changes: Mapping[str, Sequence[HistoryLine]]


def reasons_lines(paper: Paper, reasons: Reasons) -> None:
    """Lay out why a verdict is not met."""
    view = reasons.view
    now = f"{view.text} {view.unit}".rstrip()
    told = f"{paper.face.sign(view.verdict)}: {now}, required {view.required}"
    paper.text(told, tone_of(view.verdict), target=view.requirement)
    if view.verdict in ("met", "tight"):
        paper.text("There is nothing to explain.", "good")
    elif view.met_at is None:
        paper.text("It was never met: no earlier revision to come back to.", "near")
    else:
        _history(paper, reasons, view.met_at)


def _history(paper: Paper, reasons: Reasons, met_at: int) -> None:
    view = reasons.view
    paper.text(f"Last met at revision {met_at}; then {view.broken_by}", target=f"={met_at + 1}")
    for number, causes in enumerate(view.sets):
        paper.head("Or these" if number else "Put back, these would have it met again")
        for cause in causes:
            _cause(paper, cause, reasons.changes.get(cause.key, ()))
    if not view.sets:
        paper.gap()
        paper.text("No values put back would have it met again.", "near")
    elif not view.smallest:
        paper.text("No part of these would do; a smaller set of others might.", "quiet")
    shown = {cause.key for causes in view.sets for cause in causes}
    rest = [each for each in view.changed if each.key not in shown]
    if rest:
        paper.head("Upstream also differs since then")
    for each in rest:
        _cause(paper, each, reasons.changes.get(each.key, ()))
    if view.checks:
        paper.head("Checks upstream that are new or bound otherwise")
    for key in view.checks:
        paper.text(key, "key", target=key)


def _cause(paper: Paper, cause: CauseView, changes: Sequence[HistoryLine]) -> None:
    moved = f"{cause.then} → {cause.now} {cause.unit}".rstrip()
    paper.row(
        Cell(cause.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(moved, max(paper.width - _KEY, 0), "strong"),
        target=cause.key,
    )
    for line in changes:
        change_line(paper, line)
