"""Samples along the line a source can move on, and where to look next.

Each line keeps what is known at its samples: which decisions stand, and the slack of every judge.
`wanted` proposes where the next look pays: between a value at which a decision stands and the
nearest one at which it does not, and around dips of a judge's slack between samples.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tracker.explore.judging import MISSED, UNKNOWN
from tracker.explore.sources import Source
from tracker.explore.trends import Reach

__all__ = ["Line", "Looks", "Stake"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

_PARTS = 8  # a bracket shrinks at least by this factor in one look
_TRAPS = np.array([1e-7, 1e-4, 1e-2])  # shares of a bracket on both sides of its expected root
_DIP_WIDTH = 1e-10  # share of the line below which a dip is not looked into further
_ULP = float(np.finfo(np.float64).eps)


@dataclass(frozen=True, slots=True)
class Stake:
    """A decision that stands at present and may be moved by the source.

    Parameters
    ----------
    id : str
        The decision.
    judges : ndarray of int
        Columns of the samples' judges that it depends on.
    certified : bool
        Whether the values at which it stands are proven to be of one piece.
    """

    id: str
    judges: NDArray[np.intp]
    certified: bool


@dataclass(frozen=True, slots=True)
class Looks:
    """What was found at some values of a source.

    Parameters
    ----------
    at : ndarray, shape (n,)
        The values.
    ok : ndarray of bool, shape (n, decisions)
        Whether each decision keeps standing.
    slack : ndarray, shape (n, judges)
        Margin of each judge, or its distance where it has no margin, deviations counted in; NaN
        where nothing is measured.
    verdict : ndarray of int8, shape (n, judges)
        Verdict codes.
    """

    at: Reals
    ok: Flags
    slack: Reals
    verdict: NDArray[np.int8]


@dataclass(slots=True)
class Line:
    """A source and the samples taken along it.

    Parameters
    ----------
    source : Source
        A number.
    reach : Reach
        What it moves.
    stakes : list of Stake
        Decisions that may stop standing.
    places : list of int
        Positions in the graph's judges, one for each column of the samples.
    low, high : float
        Where to look.
    size : float
        What is a large move of the source.
    open_low, open_high : bool
        Whether nothing limits it on that side.
    looks : Looks or None
        Samples so far, by rising value.
    """

    source: Source
    reach: Reach
    stakes: list[Stake]
    places: list[int]
    low: float
    high: float
    size: float
    open_low: bool = False
    open_high: bool = False
    looks: Looks | None = field(default=None)

    @property
    def certified(self) -> bool:
        """Whether every decision's stretch is proven to be of one piece."""
        return all(stake.certified for stake in self.stakes)

    @property
    def whole(self) -> bool:
        """Whether only whole numbers count."""
        return isinstance(self.source.value, int)

    def take(self, fresh: Looks) -> None:
        """Add samples."""
        if self.looks is not None:
            fresh = Looks(
                *(
                    np.concatenate([getattr(self.looks, name), getattr(fresh, name)])
                    for name in ("at", "ok", "slack", "verdict")
                )
            )
        _, order = np.unique(fresh.at, return_index=True)
        self.looks = Looks(
            fresh.at[order], fresh.ok[order], fresh.slack[order], fresh.verdict[order]
        )

    @property
    def samples(self) -> Looks:
        """The samples, once there are some."""
        assert self.looks is not None  # noqa: S101 - every line is looked at first
        return self.looks

    @property
    def home(self) -> int:
        """Position of the present value in the samples."""
        return int(np.searchsorted(self.samples.at, self.source.number))

    def flip(self, stake: int, step: int) -> int | None:
        """Return the position of the nearest sample at which a decision does not stand.

        Parameters
        ----------
        stake : int
            Position in the stakes.
        step : int
            −1 below the present value, 1 above.
        """
        ok, home = self.samples.ok[:, stake], self.home
        side = ok[home::-1] if step < 0 else ok[home:]
        found = np.flatnonzero(~side)
        return home + step * int(found[0]) if len(found) else None

    def wanted(self) -> Reals:
        """Return where to look next; nothing when all is known as well as it can be."""
        points = [*self._at_flips(), *self._at_dips()]
        if not points:
            return np.empty(0)
        asked = np.unique(np.concatenate(points))
        if self.whole:
            asked = np.unique(np.rint(asked))
        return np.setdiff1d(asked, self.samples.at)

    def _at_flips(self) -> Iterator[Reals]:
        done = set()
        for number, stake in enumerate(self.stakes):
            for step in (-1, 1):
                flip = self.flip(number, step)
                if flip is None:
                    continue
                inner, outer = self.samples.at[flip - step], self.samples.at[flip]
                if abs(outer - inner) > self._finest(inner, outer):
                    if (flip, step) not in done:
                        done.add((flip, step))
                        yield _within(inner, outer)
                    yield from self._traps(flip - step, flip, stake)

    def _finest(self, inner: float, outer: float) -> float:
        """Return the width at which a bracket cannot or need not shrink further."""
        if self.whole:
            return 1.0
        return max(float(np.spacing(min(abs(inner), abs(outer)))), self.size * _ULP / 16)

    def _traps(self, inner: int, outer: int, stake: Stake) -> Iterator[Reals]:
        """Yield values close to the root that the slack of both ends suggests."""
        looks = self.samples
        a, b = looks.at[inner], looks.at[outer]
        missed = (looks.verdict[outer] == MISSED)[stake.judges]
        judges = stake.judges[missed]
        inside, outside = looks.slack[inner, judges], looks.slack[outer, judges]
        fit = (inside >= 0) & (outside < 0)
        if fit.any():
            share = float((inside[fit] / (inside[fit] - outside[fit])).min())
            shares = np.concatenate([share - _TRAPS, [share], share + _TRAPS])
            yield a + shares[(shares > 0) & (shares < 1)] * (b - a)

    def _at_dips(self) -> Iterator[Reals]:
        """Yield values where the slack of a judge may dip below zero between samples."""
        for column, first, last in self._runs():
            at = self.samples.at[first : last + 1]
            slack = self.samples.slack[first : last + 1, column]
            left, middle, right = slack[:-2], slack[1:-1], slack[2:]
            rise = np.maximum(left, right) - middle
            low = (middle <= left) & (middle <= right) & (rise > 0) & (middle <= rise)
            wide = at[2:] - at[:-2] > _DIP_WIDTH * (self.high - self.low)
            for place in np.flatnonzero(low & wide).tolist():
                three = slice(place, place + 3)
                yield _within(at[place], at[place + 1])
                yield _within(at[place + 1], at[place + 2])
                yield _vertex(at[three], slack[three])

    def _runs(self) -> Iterator[tuple[int, int, int]]:
        """Give every judge that may dip, with the stretch of samples to look at."""
        runs: dict[int, tuple[int, int]] = {}
        for number, stake in enumerate(self.stakes):
            if not stake.certified:
                low, high = self.flip(number, -1), self.flip(number, 1)
                first = 0 if low is None else low + 1
                last = len(self.samples.at) - 1 if high is None else high - 1
                for column in stake.judges.tolist():
                    held = runs.get(column, (first, last))
                    runs[column] = (min(first, held[0]), max(last, held[1]))
        for column, (first, last) in runs.items():
            if last - first > 1:
                yield column, first, last

    def culprits(self, stake: int, sample: int) -> list[int]:
        """Return the judges to blame where a decision does not stand, as positions in the graph."""
        verdict = self.samples.verdict[sample]
        columns = self.stakes[stake].judges
        worst = MISSED if (verdict[columns] == MISSED).any() else UNKNOWN
        return [self.places[each] for each in columns.tolist() if verdict[each] == worst]


def _within(a: float, b: float) -> Reals:
    return np.linspace(a, b, _PARTS + 1)[1:-1]


def _vertex(at: Sequence[float] | Reals, slack: Sequence[float] | Reals) -> Reals:
    """Return the lowest point of the parabola through three samples, and close to it."""
    x = np.asarray(at) - at[1]
    ahead, behind = (slack[2] - slack[1]) / x[2], (slack[1] - slack[0]) / -x[0]
    bend = (ahead - behind) / (x[2] - x[0])
    if not bend > 0:
        return np.empty(0)
    vertex = at[1] + (x[2] + x[0]) / 2 - (slack[2] - slack[0]) / (x[2] - x[0]) / (2 * bend)
    span = at[2] - at[0]
    near = np.array([vertex - 1e-3 * span, vertex, vertex + 1e-3 * span])
    return near[(near > at[0]) & (near < at[2])]
