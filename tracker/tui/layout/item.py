"""An item's page: its whole why."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from tracker.services.run_views import run_facts
from tracker.services.views import (
    HistoryLine,
    ItemPage,
    LinkView,
)
from tracker.services.wording import CAUTION, SIGNS
from tracker.tui.face import Face
from tracker.tui.layout.figures import figure_lines
from tracker.tui.layout.findings import finding_lines
from tracker.tui.layout.options import option_lines
from tracker.tui.layout.paper import Cell, Fixed, Line, Paper, Span, tone_of

__all__ = ["item_lines"]

_LABEL, _KIND, _KEY = 18, 13, 20


def item_lines(page: ItemPage, width: int, face: Face) -> Fixed:
    """Lay out an item's page."""
    paper = Paper(width, face)
    _head(paper, page)
    _shifts(paper, page)
    for label, text in (*page.facts, *run_facts(page.ran)):
        paper.labelled(label, text, _LABEL)
    _table(paper, page)
    if page.findings:
        paper.head("Findings")
        for finding in page.findings:
            finding_lines(paper, finding)
    if page.options:
        paper.head("Options side by side")
        option_lines(paper, page.options)
    for heading, text in page.paragraphs:
        paper.head(heading[:1].upper() + heading[1:])
        paper.text(text)
    _links(paper, "Stands on", page.upstream)
    _links(paper, "Stands on it", page.downstream)
    figure_lines(paper, page.figures)
    _history(paper, page.history)
    _cautions(paper, page)
    return paper.done()


def _head(paper: Paper, page: ItemPage) -> None:
    face = paper.face
    shifted = f"   {face.sign('shifted')}: needs another look" if page.shifted else ""
    sign = f"   {face.clip(face.sign(page.sign), _LABEL)}" if page.sign else ""
    kind = face.clip(page.kind, _KIND) + " "
    key = face.clip(page.key, paper.width - sum(map(cell_len, (kind, sign, shifted))))
    spans = Span(kind, "quiet"), Span(key, "key"), Span(sign, tone_of(page.sign))
    paper.lines.append(Line((*spans, Span(shifted, "moved"))))
    paper.text(page.title, "strong")
    paper.gap()


def _shifts(paper: Paper, page: ItemPage) -> None:
    if page.shifts:
        paper.head("What moved since it was settled")
        for each in page.shifts:
            paper.text(f"{each.what}: {each.before} → {each.after}", "moved", indent=2)
        paper.gap()


def _table(paper: Paper, page: ItemPage) -> None:
    facts = dict(page.facts)
    if "columns" not in facts or not isinstance(page.value, tuple):
        return
    paper.head("Rows")
    names = facts["columns"].split(", ")
    room = max(paper.width // max(len(names), 1), 8)
    paper.row(*(Cell(name, room, "quiet") for name in names))
    for cells in page.value:
        if isinstance(cells, tuple):
            paper.row(*(Cell(_cell(cell), room) for cell in cells))


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _links(paper: Paper, heading: str, links: Sequence[LinkView]) -> None:
    if not links:
        return
    paper.head(heading)
    rest = paper.width - _KIND - _KEY
    texts = [paper.face.sign(each.text) if each.text in SIGNS else each.text for each in links]
    value = min(max(map(cell_len, texts)) + 1, rest // 3)
    role = (rest - value) // 2
    for each, shown in zip(links, texts, strict=True):
        paper.row(
            Cell(each.kind, _KIND, "quiet"),
            Cell(each.key, _KEY - 1, "key"),
            Cell("", 1),
            Cell(shown, value - 1, tone_of(each.text)),
            Cell("", 1),
            Cell(each.title, rest - value - role - 1),
            Cell("", 1),
            Cell(each.role, role, "quiet"),
            target=each.key if each.kind != "gone" else "",
        )


def _history(paper: Paper, history: Sequence[HistoryLine]) -> None:
    if not history:
        return
    paper.head("History")
    for each in reversed(history):
        when = each.at[:16].replace("T", " ")
        paper.text(f"{each.revision}  {when}  {each.author}: {each.reason}")
        for what in each.what:
            paper.text(what, "quiet", indent=4)


def _cautions(paper: Paper, page: ItemPage) -> None:
    own = [each for each in page.cautions if each != CAUTION]  # that one is below every page
    if own:
        paper.head("Caution")
        for each in own:
            paper.text(each, "quiet")
