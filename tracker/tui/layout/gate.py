"""A gate as lines: how ready it is, what offends each criterion, what is due, what was frozen."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.services.filtering import FilteredLine
from tracker.services.gates.views import BaselineLine, CriterionView, GatePage
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Paper

__all__ = ["gate_lines"]

_MET, _UNMET = "met", "not met"
_SIGNS = {_MET: ("●", "o", "good"), _UNMET: ("✕", "x", "bad")}
_SIGN, _KEY = 12, 18
_COUNT = 4
_SHORT_HASH = 12
_BAR = 20


def gate_lines(
    page: GatePage, due: Sequence[FilteredLine], width: int, face: Face, doing: str = ""
) -> Fixed:
    """Lay out a gate.

    Parameters
    ----------
    due : sequence of FilteredLine
        Deviations, actions and risks due here or earlier.
    doing : str
        What is being done with it now, and how far that is.
    """
    paper = Paper(width, face)
    _standing(paper, page)
    if doing:
        paper.text(f"{doing}. Esc stops it.", "near")
    paper.head("Criteria")
    for each in sorted(page.criteria, key=lambda each: each.result != _UNMET):
        _criterion(paper, each)
    _due(paper, due)
    paper.head("Frozen here")
    for baseline in page.baselines:
        _baseline(paper, baseline)
    if not page.baselines:
        paper.text("Nothing yet: z freezes what the gate is shown.", "quiet")
    return paper.done()


def _standing(paper: Paper, page: GatePage) -> None:
    asked = [each for each in page.criteria if each.result in _SIGNS]
    met = sum(each.result == _MET for each in asked)
    state = "ready" if page.ready else "not ready"
    tone = _SIGNS[_MET if page.ready else _UNMET][2]
    full, empty = ("=", ".") if paper.face.ascii_only else ("█", "─")
    full, empty = ("", "") if paper.face.spoken else (full, empty)
    filled = met * _BAR // len(asked) if asked else _BAR
    paper.text(f"{page.title}, {page.date}", "strong")
    paper.row(
        Cell(f"{_symbol(paper.face, _MET if page.ready else _UNMET)} {state}", _SIGN, tone),
        Cell(full * filled, filled, tone),
        Cell(empty * (_BAR - filled), _BAR - filled, "quiet"),
        Cell("", 2),
        Cell(
            f"{met} of {len(asked)} criteria met; {len(page.due)} items due here or earlier",
            paper.width - _SIGN - _BAR - 2,
        ),
    )


def _symbol(face: Face, result: str) -> str:
    if face.spoken:
        return ""
    return _SIGNS.get(result, ("", "", ""))[int(face.ascii_only)]


def _criterion(paper: Paper, view: CriterionView) -> None:
    tone = _SIGNS.get(view.result, ("", "", "quiet"))[2]
    shown = _symbol(paper.face, view.result)
    asked = f" ({view.setting})" if view.setting not in ("yes", "no") else ""
    number = str(len(view.offenders)) if view.offenders else ""
    paper.row(
        Cell(f"{shown} {view.result}".strip(), _SIGN, tone),
        Cell(number, _COUNT, tone),
        Cell(f"{view.title}{asked}", paper.width - _SIGN - _COUNT, "" if number else "quiet"),
    )
    for each in view.offenders:
        paper.row(
            Cell("", _SIGN),
            Cell(each.key, _KEY - 1, "key"),
            Cell("", 1),
            Cell(f"{each.why}  ·  {each.title}", paper.width - _SIGN - _KEY),
            target=each.key,
        )


def _due(paper: Paper, due: Sequence[FilteredLine]) -> None:
    paper.head("Deviations, actions and risks due here or earlier")
    for each in due:
        paper.row(
            Cell(each.kind, _SIGN, "quiet"),
            Cell(each.line.key, _KEY - 1, "key"),
            Cell("", 1),
            Cell(f"{each.line.text}  ·  {each.line.title}", paper.width - _SIGN - _KEY),
            target=each.line.key,
        )
    if not due:
        paper.text("None.", "quiet")


def _baseline(paper: Paper, line: BaselineLine) -> None:
    state = "ready" if line.ready else "not ready"
    words = f"revision {line.revision}, head {line.head[:_SHORT_HASH]}, {state}"
    words = f"{words}; {line.at} {line.author}"
    paper.row(
        Cell(line.key, _SIGN + _KEY - 1, "key"),
        Cell("", 1),
        Cell(words, paper.width - _SIGN - _KEY),
        target=line.key,
    )
    paper.text(line.reason, "quiet", indent=_SIGN + _KEY)
