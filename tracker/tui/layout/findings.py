"""Findings with their margin bars, alone and before → after."""

from __future__ import annotations

from tracker.services.change_views import FindingChange
from tracker.services.views import FindingView
from tracker.tui.layout.bars import BAR_WIDTH, finding_bar
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["finding_lines", "finding_target", "moved_finding", "told"]

_SIGN, _KEY, _SPACE = 11, 18, 2


def finding_target(judge: str) -> str:
    """Return the item a finding belongs to: a rule's is the check that carries it."""
    return judge.partition(".")[0]


def told(finding: FindingView) -> str:
    """Return the judged value with its unit, or why there is none."""
    if finding.reason:
        return finding.reason
    return f"{finding.text} {finding.unit}".strip()


def finding_lines(paper: Paper, finding: FindingView) -> None:
    """Add a finding: what is judged, then how far it is from its bound."""
    width, tone = paper.width, tone_of(finding.verdict)
    rest = width - _SIGN - _KEY
    paper.row(
        Cell(paper.face.sign(finding.verdict), _SIGN, tone),
        Cell(finding.judge, _KEY - 1, "key"),
        Cell("", 1),
        Cell(finding.statement, rest),
        target=finding_target(finding.judge),
    )
    if finding.margin is None:
        text = f"{told(finding)}; required {finding.required}"
        paper.text(text, "quiet", indent=_SIGN)
        return
    bound = f" to its {finding.bound} bound" if finding.bound else ""
    words = f"{told(finding)} against {finding.required}"
    margin = finding.distance_text + bound
    room = width - _SIGN - BAR_WIDTH - _SPACE
    together = f"{words}: {margin}"
    if len(together) > room:
        paper.text(words, indent=_SIGN)
        together = margin
    paper.row(
        Cell("", _SIGN),
        Cell(finding_bar(finding, paper.face), BAR_WIDTH, tone),
        Cell("", _SPACE),
        Cell(together, room),
    )


def moved_finding(paper: Paper, change: FindingChange) -> None:
    """Add a finding as it was and as it would be."""
    before, after = change.before, change.after
    now = after or before
    if now is None:
        return
    word = after.verdict if after else "gone"
    was = before.verdict if before else "new"
    tone = tone_of(word)
    rest = paper.width - _SIGN - _KEY
    same = f"{word} as before" if was == word else f"{was} → {word}"
    paper.row(
        Cell(paper.face.sign(word), _SIGN, tone),
        Cell(change.judge, _KEY - 1, "key"),
        Cell("", 1),
        Cell(f"{same}: {now.statement}", rest),
        target=finding_target(change.judge),
    )
    for label, finding in (("before", before), ("after", after)):
        if finding is not None:
            _side(paper, label, finding)


def _side(paper: Paper, label: str, finding: FindingView) -> None:
    tone = tone_of(finding.verdict)
    words = told(finding)
    if finding.distance_text:
        words = f"{words}, {finding.distance_text}"
    paper.row(
        Cell("", _SIGN),
        Cell(label, 7, "quiet"),
        Cell(finding_bar(finding, paper.face), BAR_WIDTH, tone),
        Cell("", _SPACE),
        Cell(words, paper.width - _SIGN - 7 - BAR_WIDTH - _SPACE),
    )
