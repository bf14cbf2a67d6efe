"""A decision's options in columns against what judges them and what they cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.services.views import FindingView
from tracker.services.weighing_views import CostRow, JudgedRow, ScoreView, WeighView
from tracker.tui.face import Face
from tracker.tui.layout.bars import BAR_WIDTH, finding_bar
from tracker.tui.layout.findings import finding_target
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["score_lines", "weigh_lines"]

_LABEL, _NARROWEST, _WIDEST = 20, 20, 48

_Told = tuple[str, str]
"""A text and its tone."""


@dataclass(frozen=True, slots=True)
class _Columns:
    """The options there is room for: the picked one always among them."""

    paper: Paper
    start: int
    count: int
    room: int

    @classmethod
    def of(cls, paper: Paper, options: int, picked: int) -> _Columns:
        most = max((paper.width - _LABEL) // _NARROWEST, 1)
        count = min(most, options)
        start = max(0, min(picked - most // 2, options - count))
        room = min((paper.width - _LABEL) // max(count, 1), _WIDEST)
        return cls(paper, start, count, room)

    def row(self, label: str, told: Sequence[_Told], target: str = "", tone: str = "key") -> None:
        cells = [Cell(label, _LABEL - 1, tone), Cell("", 1)]
        for text, shade in self.shown(told):
            cells += [Cell(text, self.room - 1, shade), Cell("", 1)]
        self.paper.row(*cells, target=target)

    def shown(self, told: Sequence[_Told]) -> Sequence[_Told]:
        return told[self.start : self.start + self.count]

    def wrapped(self, label: str, texts: Sequence[str], tone: str) -> None:
        """Add a text per option over as many lines as the longest needs."""
        if not any(texts):
            return
        pieces = [self.paper.face.wrap(each, self.room - 2) if each else [] for each in texts]
        for line in range(max(map(len, pieces))):
            told = [(each[line] if line < len(each) else "", tone) for each in pieces]
            self.row(label if not line else "", told, tone="quiet")


def weigh_lines(view: WeighView, picked: int, width: int, face: Face) -> Fixed:
    """Lay the options out beside each other.

    Parameters
    ----------
    picked : int
        The option that keys act on.
    """
    paper = Paper(width, face)
    paper.text(view.question, "strong")
    paper.gap()
    if not view.options:
        paper.text("It has no options to weigh.", "quiet")
        return paper.done()
    columns = _Columns.of(paper, len(view.options), picked)
    _heads(columns, view, picked)
    differing = sorted((each for each in view.rows if each.differs), key=_tells)
    _judged(columns, "Where they differ", differing)
    _costs(columns, view.costs)
    if any(each.sets for each in view.options):
        paper.head("What they state")
        columns.wrapped("", ["\n".join(each.sets) for each in view.options], "quiet")
    _judged(columns, "The same under all of them", [each for each in view.rows if not each.differs])
    return paper.done()


def _tells(row: JudgedRow) -> tuple[bool, bool]:
    """Sort key: verdicts that differ before values, what is the decision's own before the rest."""
    return len({each.verdict for each in row.cells}) == 1, not row.own


def _heads(columns: _Columns, view: WeighView, picked: int) -> None:
    face, options = columns.paper.face, view.options
    left, right = ("<", ">") if face.ascii_only else ("◂", "▸")
    hidden = len(options) - columns.count
    more = f"{left} {columns.start} | {hidden - columns.start} {right}" if hidden else ""
    names = [
        (f"{right if at == picked else ' '} {each.key}", "key" if at == picked else "strong")
        for at, each in enumerate(options)
    ]
    columns.row(more, names, tone="quiet")
    columns.row("", [("applied" if each.chosen else "", "quiet") for each in options])
    columns.wrapped("", [each.title for each in options], "")
    standings = [(face.sign(each.standing), tone_of(each.standing)) for each in options]
    columns.row("standing", standings, view.decision)
    columns.wrapped("would break", [", ".join(each.breaks) for each in options], "bad")
    columns.wrapped("would restore", [", ".join(each.restores) for each in options], "good")
    columns.wrapped("killed by", [each.kills for each in options], "bad")
    columns.wrapped("against it", [each.against for each in options], "")


def _judged(columns: _Columns, heading: str, rows: Sequence[JudgedRow]) -> None:
    if rows:
        columns.paper.head(heading)
    for row in rows:
        target = finding_target(row.judge)
        columns.row(row.judge, [_verdict(columns, each) for each in row.cells], target)
        label = row.cells[0].required if row.own else f"{row.cells[0].required} (not its own)"
        columns.row(label, [_value(each) for each in row.cells], tone="quiet")
        if row.differs and columns.room > BAR_WIDTH:
            bars = [finding_bar(each, columns.paper.face) for each in row.cells]
            if any(map(str.strip, bars)):
                tones = [tone_of(each.verdict) for each in row.cells]
                columns.row("", list(zip(bars, tones, strict=True)))


def _verdict(columns: _Columns, finding: FindingView) -> _Told:
    share = "" if finding.margin is None else f"  {finding.margin * 100:+.0f} %"
    return columns.paper.face.sign(finding.verdict) + share, tone_of(finding.verdict)


def _value(finding: FindingView) -> _Told:
    return finding.reason or f"{finding.text} {finding.unit}".strip(), ""


def _costs(columns: _Columns, costs: Sequence[CostRow]) -> None:
    if costs:
        columns.paper.head("What it costs")
    for row in costs:
        told = [
            (f"{text} {row.unit}" + ("  least" if least else ""), "strong" if least else "")
            for text, least in zip(row.cells, row.cheapest, strict=True)
        ]
        columns.row(row.key, told, row.key)


def score_lines(
    view: ScoreView, titles: Sequence[tuple[str, str]], width: int, face: Face
) -> Fixed:
    """Lay out the weighted score, the best option first.

    Parameters
    ----------
    titles : sequence of (str, str)
        Key and title of each option.
    """
    paper = Paper(width, face)
    paper.head("Weighted score, a mean of the ratings")
    last = len(titles) + 1
    for key, title in sorted(titles, key=lambda each: view.ranks.get(each[0], last)):
        total = view.totals[key]
        rank = f"{view.ranks[key]}." if key in view.ranks else ""
        paper.row(
            Cell(rank, 4),
            Cell(key, _LABEL - 1, "key"),
            Cell("", 1),
            Cell("a rating is wanting" if total is None else f"{total:.2f}", 20),
            Cell(title, width - _LABEL - 24, "quiet"),
        )
    return paper.done()
