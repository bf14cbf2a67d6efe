"""Trials side by side: what each tries, and what each would do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tracker.services.change_views import FindingChange, Ripple
from tracker.services.views import FindingView
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["Compared", "trials_lines"]

_KEY, _COLUMN = 20, 18
_SAME = "as now"


@dataclass(frozen=True, slots=True)
class Compared:
    """One trial, worked out.

    Parameters
    ----------
    name : str
        Its name.
    edits : tuple of (str, str, str)
        Address, what it is now, what is tried.
    ripple : Ripple or None
        What it would do; None where it does not hold or tries nothing.
    wrong : str
        Why it does not hold.
    """

    name: str
    edits: tuple[tuple[str, str, str], ...]
    ripple: Ripple | None
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class _Table:
    """A label, what is now, and as many trials as there is room for."""

    paper: Paper
    shown: Sequence[Compared]
    room: int

    def row(
        self, label: str, now: Cell, cell: Callable[[Compared], tuple[str, str]], target: str = ""
    ) -> None:
        cells = [Cell(label, _KEY - 1, "key"), Cell("", 1), now, Cell("", 1)]
        for each in self.shown:
            cells += [Cell(*self._filled(cell(each))), Cell("", 1)]
        self.paper.row(*cells, target=target)

    def _filled(self, cell: tuple[str, str]) -> tuple[str, int, str]:
        return cell[0], self.room - 1, cell[1]

    def now(self, text: str, tone: str = "") -> Cell:
        return Cell(text, self.room - 1, tone)


def trials_lines(trials: Sequence[Compared], chosen: int, width: int, face: Face) -> Fixed:
    """Lay out trials beside each other.

    Parameters
    ----------
    chosen : int
        The one that keys act on; always in view.
    """
    paper = Paper(width, face)
    most = max((width - _KEY) // _COLUMN - 1, 1)
    start = max(0, min(chosen - most // 2, len(trials) - most))
    shown = trials[start : start + most]
    table = _Table(paper, shown, (width - _KEY) // (len(shown) + 1))
    _heads(table, trials, chosen, start)
    _edits(table)
    _decisions(table)
    _look(table)
    _findings(table)
    _wrong(paper, trials)
    return paper.done()


def _heads(table: _Table, trials: Sequence[Compared], chosen: int, start: int) -> None:
    left, right = ("<", ">") if table.paper.face.ascii_only else ("◂", "▸")
    picked = trials[chosen].name

    def head(each: Compared) -> tuple[str, str]:
        mine = each.name == picked
        return (f"{right} {each.name}" if mine else f"  {each.name}"), "strong" if mine else ""

    hidden = len(trials) - len(table.shown)
    more = f"{left} {start} | {hidden - start} {right}" if hidden else ""
    table.row(more, table.now("now", "strong"), head)


def _edits(table: _Table) -> None:
    table.paper.head("What is tried")
    now = {at: text for each in table.shown for at, text, _ in each.edits}
    for address, text in now.items():

        def cell(each: Compared, address: str = address) -> tuple[str, str]:
            typed = {at: tried for at, _, tried in each.edits}
            return (typed[address] or "not set", "") if address in typed else (_SAME, "quiet")

        table.row(address, table.now(text or "not set", "quiet"), cell)
    if not now:
        table.paper.text("Nothing yet: e opens a trial to type into.", "quiet")


def _decisions(table: _Table) -> None:
    face = table.paper.face
    before = {
        change.decision: change.before
        for each in table.shown
        if each.ripple
        for change in each.ripple.standings
    }
    if before:
        table.paper.head("Decisions")
    for key, was in before.items():

        def cell(each: Compared, key: str = key) -> tuple[str, str]:
            changes = each.ripple.standings if each.ripple else ()
            after = next((one.after for one in changes if one.decision == key), None)
            return _SAME_CELL if after is None else (face.sign(after), tone_of(after))

        table.row(key, table.now(face.sign(was), tone_of(was)), cell, key)


_SAME_CELL = (_SAME, "quiet")


def _look(table: _Table) -> None:
    keys = dict.fromkeys(key for each in table.shown if each.ripple for key in each.ripple.look)
    if keys:
        table.paper.head("Look again: settled, and their ground would shift")
    for key in keys:

        def cell(each: Compared, key: str = key) -> tuple[str, str]:
            shifts = each.ripple is not None and key in each.ripple.look
            return (table.paper.face.sign("shifted"), "moved") if shifts else _SAME_CELL

        table.row(key, table.now(""), cell, key)


def _findings(table: _Table) -> None:
    judges: dict[str, FindingView | None] = {}
    for each in table.shown:
        for change in each.ripple.findings if each.ripple else ():
            judges.setdefault(change.judge, change.before)
    if judges:
        table.paper.head("Findings")
    for judge, was in judges.items():
        target = judge.partition(".")[0]
        held = [_finding(table, _change(each, judge)) for each in table.shown]
        by_name = dict(zip((each.name for each in table.shown), held, strict=True))
        for line in (0, 1):

            def cell(each: Compared, line: int = line) -> tuple[str, str]:
                texts, tone = by_name[each.name]  # noqa: B023 - used up within this turn of the loop
                return texts[line], tone

            texts, tone = _told(table.paper.face, was, "new")
            label = judge if not line else ""
            table.row(label, table.now(texts[line], tone), cell, target if not line else "")


def _change(each: Compared, judge: str) -> FindingChange | None:
    changes = each.ripple.findings if each.ripple else ()
    return next((one for one in changes if one.judge == judge), None)


def _finding(table: _Table, change: FindingChange | None) -> tuple[tuple[str, str], str]:
    if change is None:
        return (_SAME, ""), "quiet"
    return _told(table.paper.face, change.after, "gone")


def _told(face: Face, finding: FindingView | None, none: str) -> tuple[tuple[str, str], str]:
    """Write a finding in two lines: symbol and value, then the margin."""
    if finding is None:
        return (none, ""), "quiet"
    value = finding.reason or f"{finding.text} {finding.unit}".strip()
    share = "" if finding.margin is None else f"  {finding.margin * 100:+.0f} %"
    sign = face.sign(finding.verdict)
    return (f"{sign}{share}", f"  {value}"), tone_of(finding.verdict)


def _wrong(paper: Paper, trials: Sequence[Compared]) -> None:
    for each in trials:
        if each.wrong:
            paper.gap()
            paper.text(f"{each.name} does not hold: {each.wrong}", "bad")
