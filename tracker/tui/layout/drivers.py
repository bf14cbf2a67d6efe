"""What drives a verdict: ranked bars, the direction in words and by the bar's fill."""

from __future__ import annotations

from tracker.services.explore_views import DriversView, DriverView
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["drivers_lines"]

_KEY, _NOW, _LEAST_BAR = 20, 18, 10


def drivers_lines(paper: Paper, view: DriversView) -> None:
    """Lay the drivers out, the strongest first."""
    now = f"{view.subject} is {view.text} {view.unit}".rstrip()
    paper.text(f"{paper.face.sign(view.verdict)}: {now}", tone_of(view.verdict))
    paper.gap()
    if not view.drivers:
        paper.text("It depends on no other value.", "quiet")
        return
    ranked = [each for each in view.drivers if each.effect]
    largest = max((abs(each.effect or 0.0) for each in ranked), default=0.0)
    for each in ranked:
        _driver(paper, each, largest)
    rest = [each for each in view.drivers if not each.effect]
    if rest:
        paper.head("Not ranked: no effect here, or nothing tells how far they move")
    for each in rest:
        _row(paper, each, each.words, "quiet")
    paper.gap()
    if paper.face.spoken:
        return
    full, other = ("=", "x") if paper.face.ascii_only else ("█", "▓")
    paper.text(
        f"{full} raises, {other} lowers. A bar is the effect of the tolerance, else of half the "
        "adjustable range, else of 1 % of the value's size or of 1 mm. Slopes hold at the present "
        "values and close to them.",
        "quiet",
    )


def _driver(paper: Paper, each: DriverView, largest: float) -> None:
    room = max(paper.width - _KEY - _NOW, _LEAST_BAR)
    raises, lowers = ("=", "x") if paper.face.ascii_only else ("█", "▓")
    effect = each.effect or 0.0
    cells = max(1, round(abs(effect) / largest * room)) if largest else 0
    cells = 0 if paper.face.spoken else cells
    _row(paper, each, (raises if _raises(each) else lowers) * cells, "")
    paper.text(each.words, indent=2)
    paper.text(_slope(each), "quiet", indent=2)


def _raises(each: DriverView) -> bool:
    return (each.slope or 0.0) > 0


def _row(paper: Paper, each: DriverView, text: str, tone: str) -> None:
    paper.row(
        Cell(each.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(f"{each.text} {each.unit}".rstrip(), _NOW - 1, "strong"),
        Cell("", 1),
        Cell(text, max(paper.width - _KEY - _NOW, _LEAST_BAR), tone),
        target=each.key,
    )


def _slope(each: DriverView) -> str:
    if not each.slope_text:
        return ""
    sure = "exact" if each.analytic else f"known to ±{each.doubt or 0.0:.1g} from differences"
    return f"slope {each.slope_text} {each.slope_unit}, {sure}"
