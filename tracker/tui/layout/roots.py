"""Why a value is so: one step of the walk to where it begins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tracker.services.views import FindingView, ItemPage, LinkView
from tracker.tui.face import Face
from tracker.tui.layout.bars import BAR_WIDTH, finding_bar
from tracker.tui.layout.findings import told
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["root_lines", "steps_of"]

_LABEL, _KEY, _KIND = 18, 20, 13
_ASIDE = ("it is due there", "it derives from this")


def steps_of(page: ItemPage) -> tuple[LinkView, ...]:
    """Return what a walk may go on to from an item."""
    return tuple(each for each in page.upstream if each.role not in _ASIDE)


def root_lines(path: Sequence[str], page: ItemPage, width: int, face: Face) -> Fixed:
    """Lay out a step.

    Parameters
    ----------
    path : sequence of str
        Keys walked so far; the last is the item's.
    """
    paper = Paper(width, face)
    paper.text(" ← ".join(path), "key")
    paper.gap()
    shown = face.sign(page.sign) if page.sign else ""
    paper.text(f"{page.kind} {page.key}  {shown}".rstrip(), tone_of(page.sign) or "strong")
    paper.text(page.title)
    paper.gap()
    for label, text in _because(page):
        paper.labelled(label, text, _LABEL)
    if page.kind == "requirement":
        _found(paper, page.findings[0])
    steps = steps_of(page)
    if steps:
        paper.head("It comes from: Enter goes on to one")
        for each in steps:
            _step(paper, each)
    else:
        _begins(paper, page)
    return paper.done()


def _found(paper: Paper, finding: FindingView) -> None:
    tail = f": {finding.distance_text}" if finding.distance_text else ""
    words = f"{told(finding)} against {finding.required}{tail}"
    paper.labelled("found", words, _LABEL, tone_of(finding.verdict))
    if finding.margin is not None:
        bar = finding_bar(finding, paper.face)
        paper.row(Cell("", _LABEL), Cell(bar, BAR_WIDTH, tone_of(finding.verdict)))


def _because(page: ItemPage) -> Iterator[tuple[str, str]]:
    """Yield the facts that say where an item's value comes from."""
    facts = dict(page.facts)
    wanted = {
        "quantity": ("value", "unknown because", "source", "typed as", "basis", "from", "dated"),
        "check": ("check", "state", "under"),
        "decision": ("state", "standing", "chosen"),
    }
    for label in wanted.get(page.kind, ("source", "owner")):
        if label in facts:
            yield label, facts[label]
    if page.kind == "decision":
        yield from (pair for pair in page.paragraphs if pair[0] == "rationale")
    else:
        yield from (pair for pair in page.paragraphs if pair[0] == "purpose")


def _step(paper: Paper, each: LinkView) -> None:
    rest = paper.width - _KIND - _KEY
    tone = tone_of(each.text)
    shown = paper.face.sign(each.text) if tone else each.text
    paper.row(
        Cell(each.kind, _KIND, "quiet"),
        Cell(each.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(shown, rest // 2 - 1, tone),
        Cell("", 1),
        Cell(each.role, rest - rest // 2, "quiet"),
        target=each.key,
    )


def _begins(paper: Paper, page: ItemPage) -> None:
    paper.head("Here it begins")
    if not page.history:
        return
    last = page.history[-1]
    when = last.at[:16].replace("T", " ")
    paper.text(f"revision {last.revision}, {when}, {last.author}: {last.reason}")
    for what in last.what:
        paper.text(what, "quiet", indent=2)
