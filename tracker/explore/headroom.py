"""How far a value may move before a decision stops standing, and what breaks first.

A decision keeps standing while it stands or is strained; it ends where it is broken or unproven.
The interval asked for is the stretch around the present value over which every decision that stands
now keeps standing.

Where every check on the way declares how it follows its inputs, the values at which a decision
stands are of one piece and both ends are *certified*. Whole numbers, choices and flags are tried
one by one, which certifies them too. Everywhere else the line is *sampled*: what breaks and mends
again between two neighbouring samples can be missed, apart from dips that show in a margin.

All lines of a programme are looked at together: each look sends the values that are wanted next on
every line through the graph in one pass.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.engine import Cancel, Engine
from tracker.explore.assessing import STRAINED, Assessment, live_decisions
from tracker.explore.candidates import Candidates
from tracker.explore.lines import Line, Looks, Stake
from tracker.explore.passes import passes
from tracker.explore.sources import Source
from tracker.explore.trends import reach_of
from tracker.model.records import Quantity, Requirement
from tracker.model.values import Kind, Value

__all__ = ["POINTS", "Allowed", "End", "Headroom", "Stretch", "headroom"]

POINTS = 128
"""Stretches between samples, by default."""

Progress = Callable[[str], None]
_WHOLE_MOST = 4096  # whole numbers tried one by one
_LADDER = 2.0 ** np.arange(-6, 61, 2)  # how far to look where nothing limits a certified line


@dataclass(frozen=True, slots=True)
class End:
    """One end of an interval.

    Parameters
    ----------
    at : float or None
        The last value that keeps everything standing, or the end of where to look; None where
        nothing breaks however far it moves.
    breaks : tuple of str
        Decisions that stop standing first; empty where nothing breaks.
    judges : tuple of int
        What they break on, as positions in the graph's judges.
    beyond : float or None
        A value next to `at` at which they do not stand.
    """

    at: float | None
    breaks: tuple[str, ...] = ()
    judges: tuple[int, ...] = ()
    beyond: float | None = None


@dataclass(frozen=True, slots=True)
class Stretch:
    """The interval of one decision."""

    decision: str
    low: End
    high: End
    certified: bool


@dataclass(frozen=True, slots=True)
class Allowed:
    """Of a choice or flag: the values with which one decision keeps standing, and the others."""

    decision: str
    kept: tuple[Value, ...]
    lost: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Headroom:
    """How far a source may move.

    Parameters
    ----------
    source : Source
        What moves.
    low, high : End
        Ends of the interval over which every decision that stands keeps standing.
    certified : bool
        Whether nothing inside can break, or only nothing at the samples.
    resolution : float or None
        Widest gap between neighbouring samples inside; None when certified.
    decisions : tuple of Stretch
        The interval of each decision that depends on it.
    kept, lost : tuple of Value
        Of a choice or flag: the values that keep everything standing, and the others.
    allowed : tuple of Allowed
        Of a choice or flag: the same for each decision that some value breaks.
    """

    source: Source
    low: End
    high: End
    certified: bool
    resolution: float | None = None
    decisions: tuple[Stretch, ...] = ()
    kept: tuple[Value, ...] = ()
    lost: tuple[Value, ...] = ()
    allowed: tuple[Allowed, ...] = ()


def headroom(
    engine: Engine,
    sources: Sequence[Source],
    *,
    points: int = POINTS,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> list[Headroom]:
    """Return how far each of some sources may move by itself.

    Parameters
    ----------
    engine : Engine
        The present; only read.
    sources : sequence of Source
        What to move, one at a time.
    points : int
        Stretches between samples where nothing is certified, over the adjustable range; where that
        is open, over the size of the value on that side.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    standing = _standing_now(engine)
    lines = {
        place: _line(engine, source, standing)
        for place, source in enumerate(sources)
        if source.kind in (Kind.REAL, Kind.INTEGER)
    }
    asked = [(line, _first(line, points)) for line in lines.values()]
    looked = 0
    while asked:
        for chunk in passes(asked):
            _look(engine, chunk, cancel)
            looked += sum(len(values) for _, values in chunk)
            if progress is not None:
                progress(f"{looked} values looked at on {len(lines)} lines, {len(asked)} open")
        wanted = [(line, line.wanted()) for line, _ in asked if line.stakes]
        asked = [(line, values) for line, values in wanted if len(values)]
    return [
        _answer(lines[place]) if place in lines else _discrete(engine, source, standing, cancel)
        for place, source in enumerate(sources)
    ]


def _standing_now(engine: Engine) -> list[str]:
    """Return the decisions that stand now, strained ones included."""
    every = ((each.id, engine.state.standings[each.id].standing) for each in live_decisions(engine))
    return [each for each, standing in every if standing in ("stands", "strained")]


def _line(engine: Engine, source: Source, standing: Sequence[str]) -> Line:
    reach = reach_of(engine, source)
    concerned = [each for each in standing if reach.concerns(engine, each)]
    places = sorted({place for each in concerned for place in engine.graph.stakes[each]})
    stakes = [
        Stake(
            each,
            np.array([places.index(one) for one in engine.graph.stakes[each]], dtype=np.intp),
            reach.certifies(engine, each),
        )
        for each in concerned
    ]
    size = _size(engine, source)
    now = source.number
    low = now - size if source.low is None else min(source.low, now)
    high = now + size if source.high is None else max(source.high, now)
    if isinstance(source.value, int):
        low, high = float(np.ceil(low)), float(np.floor(high))
    line = Line(source, reach, stakes, places, low, high, size)
    line.open_low, line.open_high = source.low is None, source.high is None
    return line


def _size(engine: Engine, source: Source) -> float:
    """Return what counts as a large move of a source that has no range."""
    sizes = [abs(source.number)]
    sizes += [abs(each - source.number) for each in (source.low, source.high) if each is not None]
    record = engine.programme.get(source.id)
    if isinstance(record, Requirement):
        slots = (engine.graph.judges[place].slot for place in engine.graph.judges_of[record.id])
        held = (engine.state.slots[slot] for slot in slots)
        numbers = [float(each[0]) for each in held if isinstance(each, np.ndarray)]
        sizes += [2 * abs(each - source.number) for each in numbers]
    if isinstance(record, Quantity) and record.tolerance is not None:
        sizes.append(record.tolerance.half_width)
    return max(sizes) or 1.0


def _first(line: Line, points: int) -> NDArray[np.float64]:
    """Return where to look first: the present value, both ends, and what lies between."""
    now = line.source.number
    if line.whole and line.high - line.low <= _WHOLE_MOST:
        return np.arange(line.low, line.high + 1)
    if line.certified:
        ladder = line.size * _LADDER
        values = [np.array([line.low, now, line.high])]
        values += [now - ladder] if line.open_low else []
        values += [now + ladder] if line.open_high else []
    else:
        values = [np.linspace(line.low, line.high, points + 1), np.array([now])]
    found = np.unique(np.concatenate(values) + 0.0)
    return np.unique(np.rint(found)) if line.whole else found


_Asked = list[tuple[Line, NDArray[np.float64]]]


def _look(engine: Engine, asked: _Asked, cancel: Cancel | None) -> None:
    """Send what is wanted on all lines through the graph in one pass."""
    rows = Candidates(engine, sum(len(values) for _, values in asked))
    first, spans = 0, []
    for line, values in asked:
        span = slice(first, first + len(values))
        rows.put(line.source, values.astype(np.int64) if line.whole else values, span)
        spans.append(span)
        first = span.stop
    found = rows.assess(cancel)
    for (line, values), span in zip(asked, spans, strict=True):
        line.take(_looks(found, line, values, span))


def _looks(found: Assessment, line: Line, values: NDArray[np.float64], span: slice) -> Looks:
    count = len(values)
    judged = [found.judged(place) for place in line.places]
    slack = [e.slack[span] for e in judged]
    ok = [found.standing(stake.id)[span] <= STRAINED for stake in line.stakes]
    return Looks(
        at=values,
        ok=np.array(ok, dtype=np.bool_).reshape(len(ok), count).T,
        slack=np.array(slack, dtype=np.float64).reshape(len(slack), count).T,
        verdict=np.array([e.verdict[span] for e in judged], dtype=np.int8)
        .reshape(len(judged), count)
        .T,
    )


def _answer(line: Line) -> Headroom:
    """Read the intervals off a line on which all is known."""
    stretches = [
        Stretch(stake.id, _end(line, number, -1), _end(line, number, 1), stake.certified)
        for number, stake in enumerate(line.stakes)
    ]
    certified = line.certified or _exhausted(line)
    low = _nearest(line, [each.low for each in stretches], -1)
    high = _nearest(line, [each.high for each in stretches], 1)
    gap = None if certified else _widest_gap(line.samples.at, low.at, high.at)
    return Headroom(line.source, low, high, certified, gap, tuple(stretches))


def _widest_gap(at: NDArray[np.float64], low: float | None, high: float | None) -> float:
    """Return the widest gap between neighbouring samples of an interval."""
    first = 0 if low is None else int(np.searchsorted(at, low))
    last = len(at) if high is None else int(np.searchsorted(at, high, side="right"))
    return float(np.diff(at[first:last]).max(initial=0.0))


def _exhausted(line: Line) -> bool:
    """Tell whether every whole number in range was tried."""
    limited = not (line.open_low or line.open_high)
    return line.whole and limited and line.high - line.low <= _WHOLE_MOST


def _end(line: Line, stake: int, step: int) -> End:
    flip = line.flip(stake, step)
    if flip is None:
        return _limit(line, step)
    at = line.samples.at
    decision, judges = line.stakes[stake].id, tuple(line.culprits(stake, flip))
    return End(float(at[flip - step]), (decision,), judges, float(at[flip]))


def _limit(line: Line, step: int) -> End:
    """Return the end of where to look; nothing where a certified line has no limit."""
    if line.certified and (line.open_low if step < 0 else line.open_high):
        return End(None)
    return End(line.low if step < 0 else line.high)


def _nearest(line: Line, ends: Sequence[End], step: int) -> End:
    """Put the ends of all decisions together: what breaks first."""
    breaking = [each for each in ends if each.at is not None and each.breaks]
    if not breaking:
        return _limit(line, step)
    nearest = min(breaking, key=lambda each: step * (each.at or 0.0))
    first = [each for each in breaking if _overlap(each, nearest, step)]
    return End(
        nearest.at,
        tuple(each for end in first for each in end.breaks),
        tuple(dict.fromkeys(each for end in first for each in end.judges)),
        nearest.beyond,
    )


def _overlap(end: End, nearest: End, step: int) -> bool:
    """Tell whether an end cannot be told from the nearest: its bracket begins within that one."""
    return step * (end.at or 0.0) < step * (nearest.beyond or 0.0)


def _discrete(
    engine: Engine, source: Source, standing: Sequence[str], cancel: Cancel | None
) -> Headroom:
    """Try every value of a choice or flag."""
    values: tuple[Value, ...] = source.choices or (False, True)
    rows = Candidates(engine, len(values))
    codes = np.arange(len(values))
    rows.put(source, codes if source.choices else codes.astype(np.bool_))
    found = rows.assess(cancel)
    held = {each: (found.standing(each) <= STRAINED).tolist() for each in standing}
    every = [all(row) for row in zip(*held.values(), strict=True)] or [True] * len(values)
    nothing = End(None)
    kept, lost = _parted(values, every)
    return Headroom(
        source,
        nothing,
        nothing,
        certified=True,
        kept=kept,
        lost=lost,
        allowed=tuple(
            Allowed(each, *_parted(values, ok)) for each, ok in held.items() if not all(ok)
        ),
    )


def _parted(
    values: tuple[Value, ...], ok: Sequence[bool]
) -> tuple[tuple[Value, ...], tuple[Value, ...]]:
    """Part values into those that keep what is asked about standing, and the others."""
    pairs = list(zip(values, ok, strict=True))
    return tuple(each for each, good in pairs if good), tuple(
        each for each, good in pairs if not good
    )
