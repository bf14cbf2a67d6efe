"""How likely each decision is to stand, and how one judged number scatters."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.services.explore_views import ChanceView, OwnerView, SpreadView, SummaryView
from tracker.tui.face import Face
from tracker.tui.layout.asking import percent
from tracker.tui.layout.histogram import histogram_lines, histogram_of
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["chance_bar", "moving", "spread_lines"]

_SIGN, _KEY, _SHARE, _BAR = 13, 18, 9, 12
_MISSED = 18
_MOST_OWNERS, _WEAK = 3, 0.005
_HIGH = 9


def moving(view: SpreadView) -> tuple[SummaryView, ...]:
    """Return the judged numbers that scatter, the likeliest missed first."""
    scattered = [each for each in view.quantities if each.deviation]
    return tuple(sorted(scattered, key=lambda each: -each.missed))


def chance_bar(chance: ChanceView, width: int, face: Face) -> str:
    """Draw a probability from none to all; what its interval leaves open is lighter."""
    sure, open_ = ("=", "-") if face.ascii_only else ("█", "░")
    low, high = (round(each * width) for each in (chance.low, chance.high))
    return (sure * low + open_ * (high - low)).ljust(width)


def spread_lines(paper: Paper, view: SpreadView, picked: int, *, owners: bool) -> None:
    """Lay a spread out.

    Parameters
    ----------
    picked : int
        Which of the judged numbers that scatter to draw.
    owners : bool
        Whether whose scatter it is was asked for.
    """
    paper.text(
        f"{view.n} samples, seed {view.seed}; intervals hold {100 * view.confidence:g} %", "quiet"
    )
    if not view.reached:
        paper.text(f"Not yet known to ±{100 * view.half_width:g} %: + draws more samples.", "near")
    if view.decisions:
        paper.head("How likely each decision is to stand, the least likely first")
    several = len(view.decisions) > 1
    sure = [each for each in view.decisions if several and each.low >= _SURE]
    for each in sorted(view.decisions, key=lambda one: one.p_stands):
        if each not in sure:
            _chance(paper, each)
    if sure:
        paper.gap()
        keys = ", ".join(each.key for each in sure)
        paper.text(f"Above {100 * _SURE:g} %: {keys}", "good")
    _judged(paper, view, picked)
    if not owners and not view.correlated:
        paper.gap()
        paper.text("o works out whose scatter it is", "key")
    _tolerances(paper, view)


_SURE = 0.99


def _chance(paper: Paper, each: ChanceView) -> None:
    between = f"{percent(each.low)} to {percent(each.high)}"
    paper.row(
        Cell(paper.face.sign(each.standing), _SIGN, tone_of(each.standing)),
        Cell(each.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(chance_bar(each, _BAR, paper.face), _BAR),
        Cell("", 1),
        Cell(percent(each.p_stands).rjust(_SHARE), _SHARE, "strong"),
        Cell("  ", 2),
        Cell(between, max(paper.width - _SIGN - _KEY - _BAR - _SHARE - 3, 0), "quiet"),
        target=each.key,
    )
    words = _owned(each.owners)
    if words:
        paper.text(words, "quiet", indent=_SIGN)


def _owned(owners: Sequence[OwnerView]) -> str:
    strong = [each for each in owners[:_MOST_OWNERS] if each.total > _WEAK]
    named = ", ".join(
        f"{each.key} {100 * each.total:.0f} % (alone {100 * each.first:.0f} %)" for each in strong
    )
    return f"by the scatter of {named}" if named else ""


def _judged(paper: Paper, view: SpreadView, picked: int) -> None:
    judged = moving(view)
    if not judged:
        return
    at = picked % len(judged)
    chosen = judged[at]
    left, right = ("<-", "->") if paper.face.ascii_only else ("←", "→")
    paper.head(f"{chosen.judge}: {chosen.subject}, required {chosen.required}")
    paper.text(f"{at + 1} of {len(judged)} judged values that scatter, {left} {right}", "quiet")
    paper.lines += histogram_lines(histogram_of(chosen), paper.width, _HIGH, paper.face)
    paper.text(_told(chosen), target=chosen.judge)
    if chosen.owners:
        paper.text(_owned(chosen.owners), "quiet")
    if len(judged) > 1:
        paper.head("All judged values that scatter, the likeliest missed first")
    for each in judged if len(judged) > 1 else ():
        _summary(paper, each)


def _told(each: SummaryView) -> str:
    unit = f" {each.unit}".rstrip()
    unknown = f", unknown in {percent(each.unknown)}" if each.unknown else ""
    return (
        f"{each.judge}: missed in {percent(each.missed)}{unknown}; standard uncertainty "
        f"{each.deviation:.3g}{unit}"
    )


def _summary(paper: Paper, each: SummaryView) -> None:
    mean = f"{each.mean:.6g} {each.unit}".rstrip()
    paper.row(
        Cell(each.judge, _KEY, "key"),
        Cell(f"missed {percent(each.missed)}" if each.missed else "", _MISSED, "bad"),
        Cell(f"{mean}, {each.low:.5g} to {each.high:.5g}", max(paper.width - _KEY - _MISSED, 0)),
        target=each.judge,
    )


def _tolerances(paper: Paper, view: SpreadView) -> None:
    paper.head("What scatters")
    for each in view.scatter:
        width = f"{each.text} ± {each.half_width:g} {each.unit}".rstrip()
        paper.row(
            Cell(each.key, _KEY + _SIGN - 1, "key"),
            Cell("", 1),
            Cell(width, 26),
            Cell(f"{each.shape}: {each.meaning}", max(paper.width - _KEY - _SIGN - 26, 0), "quiet"),
            target=each.key,
        )
    for one in view.correlated:
        text = f"{one.one} and {one.other} scatter together, {one.coefficient:g}"
        paper.text(text, target=one.one)
    if view.correlated:
        paper.text("Whose scatter makes a risk is not told while some scatter together.", "quiet")
    if view.idle:
        paper.text("Without effect, no known number from outside: " + ", ".join(view.idle), "quiet")
    if view.unpaired:
        paper.text("Correlated with what does not scatter: " + ", ".join(view.unpaired), "quiet")
