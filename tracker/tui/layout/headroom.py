"""How far values may move, each as a bar on its own scale with the present value marked.

What lies outside is filled where something breaks there and free where nothing does, so a bar
reads in greyscale and in ASCII.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from tracker.services.explore_views import HeadroomView, IntervalView, StretchView
from tracker.tui.face import Face
from tracker.tui.layout.asking import item_of
from tracker.tui.layout.paper import Cell, Paper
from tracker.tui.layout.scale import short_number

__all__ = ["Reach", "headroom_lines", "nearness", "reach_bar"]

_KEY, _NOW, _END = 20, 18, 12
_OUTSIDE = 0.12
"""Share of a bar that shows what lies beyond each end."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a number may move.

    Parameters
    ----------
    value : float
        What it is now.
    low, high : float or None
        The ends; None where nothing breaks however far it moves.
    breaks_low, breaks_high : bool
        Whether something breaks beyond each end; else it may move no further.
    """

    value: float
    low: float | None
    high: float | None
    breaks_low: bool
    breaks_high: bool


def reach_bar(
    reach: Reach, width: int, face: Face, scale: tuple[float, float] | None = None
) -> str:
    """Draw how far a number may move.

    Parameters
    ----------
    width : int
        Cells, at least 8.
    scale : tuple of float, optional
        What the inside of the bar stands for; the interval itself when not told.

    Returns
    -------
    str
        `width` cells.
    """
    if face.spoken:
        return " " * width
    inside, outside, bound = ("=", "x", "|") if face.ascii_only else ("━", "▓", "│")
    now = "O" if face.ascii_only else "◆"
    low, high = scale or span_of([reach])
    room = max(2, round(width * _OUTSIDE))
    cells = width - 2 * room

    def at(value: float) -> int:
        share = (value - low) / (high - low) if high > low else 0.5
        return room + min(max(round(share * (cells - 1)), 0), cells - 1)

    first = at(low if reach.low is None else reach.low)
    last = at(high if reach.high is None else reach.high)
    bar = [" "] * width
    bar[first : last + 1] = inside * (last + 1 - first)
    bar[at(reach.value)] = now
    if reach.low is not None:
        bar[first - 1] = bound
        bar[: first - 1] = (outside if reach.breaks_low else " ") * (first - 1)
    else:
        bar[:first] = inside * first
    if reach.high is not None:
        bar[last + 1] = bound
        bar[last + 2 :] = (outside if reach.breaks_high else " ") * (width - last - 2)
    else:
        bar[last + 1 :] = inside * (width - last - 1)
    return "".join(bar)


def span_of(reaches: Sequence[Reach]) -> tuple[float, float]:
    """Return a scale that holds the ends and the present values of all."""
    ends = [
        each
        for reach in reaches
        for each in (reach.low, reach.high, reach.value)
        if each is not None
    ]
    low, high = min(ends), max(ends)
    pad = (abs(low) or 1.0) / 2
    open_low = any(reach.low is None for reach in reaches)
    open_high = any(reach.high is None for reach in reaches)
    width = high - low or pad
    return low - (width / 2 if open_low else 0.0), high + (width / 2 if open_high else 0.0)


def nearness(each: IntervalView) -> float:
    """Return how near a value is to breaking something, as a share of its interval; 1 is far."""
    value = each.value
    if not isinstance(value, int | float) or isinstance(value, bool):
        return 0.0 if each.lost else 1.0
    width = (each.high - each.low) if each.low is not None and each.high is not None else None
    near = [
        abs(value - end) / (width or abs(value) or 1.0)
        for end, breaks in ((each.low, each.breaks_low), (each.high, each.breaks_high))
        if end is not None and breaks
    ]
    return min([*near, 1.0])


def headroom_lines(paper: Paper, view: HeadroomView, *, decision: str = "") -> None:
    """Lay headroom out: what breaks first, then what breaks nothing.

    Parameters
    ----------
    decision : str
        Show how far values may move for this decision alone.
    """
    intervals = [each for each in view.intervals if not decision or _stretch(each, decision)]
    if decision and decision not in view.standing:
        paper.text(f"{decision} does not stand now: there is no headroom to keep.", "bad")
        return
    if not intervals:
        _nothing(paper, decision)
        return
    risky = sorted((each for each in intervals if _risky(each, decision)), key=nearness)
    for bound, heading in ((False, "Values, the nearest to breaking first"), (True, "Bounds")):
        some = [each for each in risky if _is_bound(each) == bound]
        if some and len(intervals) > 1:
            paper.head(heading)
        for each in some:
            _interval(paper, each, decision)
    calm = [each for each in intervals if not _risky(each, decision)]
    if calm:
        paper.head("Nothing breaks as far as these may move")
    for each in calm:
        _calm(paper, each)
    if len(intervals) == 1:
        _decisions(paper, intervals[0])


def _nothing(paper: Paper, decision: str) -> None:
    on = f" that {decision} depends on" if decision else ""
    paper.text(f"Nothing{on} is adjustable: give quantities a range.", "quiet")


def _is_bound(each: IntervalView) -> bool:
    return each.key.endswith((".lower", ".upper"))


def _stretch(each: IntervalView, decision: str) -> StretchView | None:
    return next((one for one in each.decisions if one.key == decision), None)


def _risky(each: IntervalView, decision: str) -> bool:
    stretch = _stretch(each, decision) if decision else None
    if stretch is not None:
        return stretch.breaks_low or stretch.breaks_high
    return bool(each.breaks_low or each.breaks_high or each.lost)


def _reach(each: IntervalView, decision: str) -> Reach | None:
    if not isinstance(each.value, int | float) or isinstance(each.value, bool):
        return None
    value, stretch = float(each.value), _stretch(each, decision) if decision else None
    if stretch is not None:
        return Reach(value, stretch.low, stretch.high, stretch.breaks_low, stretch.breaks_high)
    return Reach(value, each.low, each.high, bool(each.breaks_low), bool(each.breaks_high))


def _interval(paper: Paper, each: IntervalView, decision: str) -> None:
    now = f"{each.text} {each.unit}".rstrip()
    reach = _reach(each, decision)
    if reach is None:
        paper.row(Cell(each.key, _KEY, "key"), Cell(now, _NOW, "strong"), target=each.key)
        paper.text(f"stands with {_values(each.kept)}; breaks with {_values(each.lost)}", indent=2)
        return
    low, high = _end(reach.low), _end(reach.high)
    bar = max(paper.width - _KEY - _NOW - 2 * _END - 2, 8)
    paper.row(
        Cell(each.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(now, _NOW - 1, "strong"),
        Cell("", 1),
        Cell(low.rjust(_END), _END),
        Cell("", 1),
        *_toned(reach_bar(reach, bar, paper.face), _tone(each)),
        Cell("", 1),
        Cell(high, _END),
        target=each.key,
    )
    words = [_side("below", reach.low, each, each.breaks_low, each.because_low)]
    words.append(_side("above", reach.high, each, each.breaks_high, each.because_high))
    told = "; ".join(word for word in words if word) if not decision else ""
    paper.text(" · ".join(part for part in (told, _surety(each)) if part), "quiet", indent=2)


def _toned(bar: str, tone: str) -> list[Cell]:
    """Return a bar with its parts in tones of their own."""
    tones = {"▓": "bad", "x": "bad", "◆": "strong", "O": "strong", "━": tone, "=": tone}
    parts = groupby(bar, lambda char: tones.get(char, "quiet"))
    texts = ((each, "".join(chars)) for each, chars in parts)
    return [Cell(text, len(text), each) for each, text in texts]


_NEAR = 0.1
_MANY, _TOO_MANY = 1e5, 1e12


def _tone(each: IntervalView) -> str:
    return "near" if nearness(each) < _NEAR else "good"


def _end(number: float | None) -> str:
    if number is None:
        return "any"
    if _MANY <= abs(number) < _TOO_MANY:  # money, as it is written elsewhere
        return f"{number:,.0f}".replace(",", " ").replace("-", "−")
    return short_number(number)


def _side(
    side: str, end: float | None, each: IntervalView, breaks: Sequence[str], because: Sequence[str]
) -> str:
    if not breaks or end is None:
        return ""
    why = f"on {', '.join(because)}" if because else "on a value that becomes unknown"
    number = f"{_end(end)} {each.unit}".rstrip()
    return f"{side} {number} first {', '.join(breaks)} breaks, {why}"


def _surety(each: IntervalView) -> str:
    if not each.decisions:
        return "no decision that stands depends on it"
    if each.certified:
        return "certified"
    return f"sampled at most {each.resolution:.3g} {each.unit}".rstrip() + " apart"


def _values(values: Sequence[object]) -> str:
    return ", ".join(_word(each) for each in values) or "none"


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _calm(paper: Paper, each: IntervalView) -> None:
    now = f"{each.text} {each.unit}".rstrip()
    if each.kept:
        reach = f"stands with {_values(each.kept)}"
    else:
        ends = map(_end, (each.low, each.high))
        reach = f"{next(ends)} to {next(ends)}"
    paper.row(
        Cell(each.key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(now, _NOW - 1),
        Cell("", 1),
        Cell(f"{reach} · {_surety(each)}", paper.width - _KEY - _NOW, "quiet"),
        target=each.key,
    )


def _decisions(paper: Paper, each: IntervalView) -> None:
    """Draw the interval of every decision that depends on it, on one scale."""
    if not isinstance(each.value, int | float) or isinstance(each.value, bool):
        return
    value = float(each.value)
    reaches = [
        Reach(value, one.low, one.high, one.breaks_low, one.breaks_high) for one in each.decisions
    ]
    if not reaches:
        return
    paper.head(f"Each decision by itself, in {each.unit}" if each.unit else "Each decision")
    scale, bar = span_of(reaches), max(paper.width - _KEY - 2 * _END - 2, 8)
    for one, reach in zip(each.decisions, reaches, strict=True):
        paper.row(
            Cell(one.key, _KEY - 1, "key"),
            Cell("", 1),
            Cell(_end(one.low).rjust(_END), _END),
            Cell("", 1),
            *_toned(reach_bar(reach, bar, paper.face, scale), "good"),
            Cell("", 1),
            Cell(_end(one.high), _END),
            target=item_of(one.key),
        )
