"""Samples along the range of one source, closing in on the nearest value that mends.

`LineSearch.wanted` proposes where the next look pays: wherever some bound is crossed between two
samples that lie nearer than the nearest value known to mend, and wherever a bound that is missed at
three samples in a row comes close to being met between them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tracker.explore.sources import Source

__all__ = ["WHOLE_MOST", "LineSearch"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

WHOLE_MOST = 4096
"""Whole numbers tried one by one."""

_PARTS = 16  # a crossing is bracketed this much closer in one look
_HUMP_WIDTH = 1e-10  # share of the range below which a hump is not looked into further
_ULP = float(np.finfo(np.float64).eps)


def _nothing() -> Reals:
    return np.empty(0)


@dataclass(slots=True)
class LineSearch:
    """A source and what is known at samples of its range.

    Parameters
    ----------
    source : Source
        A number.
    low, high : float
        Where it may move.
    certified : bool
        Whether every bound is proven to be crossed at most once.
    places, decisions : tuple
        The judges and decisions that count along it.
    at : ndarray, shape (n,)
        Samples by rising value.
    ok : ndarray of bool, shape (n,)
        Whether the sample mends.
    slack : ndarray, shape (n, sides)
        As `Goal.slack`.
    """

    source: Source
    low: float
    high: float
    certified: bool
    places: tuple[int, ...] = ()
    decisions: tuple[str, ...] = ()
    at: Reals = field(default_factory=_nothing)
    ok: Flags = field(default_factory=lambda: np.empty(0, dtype=np.bool_))
    slack: Reals = field(default_factory=lambda: np.empty((0, 0)))

    @property
    def whole(self) -> bool:
        """Whether only whole numbers count."""
        return isinstance(self.source.value, int)

    @property
    def exhausted(self) -> bool:
        """Whether every value in range is tried."""
        return self.whole and self.high - self.low <= WHOLE_MOST

    @property
    def proven(self) -> bool:
        """Whether no nearer value can mend."""
        known = not np.isnan(self.slack).any()
        return self.exhausted or (self.certified and known)

    @property
    def nearest(self) -> float | None:
        """The nearest value that mends; None where none is known."""
        good = self.at[self.ok]
        if not len(good):
            return None
        return float(good[np.argmin(np.abs(good - self.source.number))])

    def first(self, points: int) -> Reals:
        """Return where to look first."""
        if self.exhausted:
            return np.arange(self.low, self.high + 1)
        now = np.clip(self.source.number, self.low, self.high)
        return self._grid(np.append(np.linspace(self.low, self.high, points + 1), now))

    def _grid(self, values: Reals) -> Reals:
        return np.unique((np.rint(values) if self.whole else values) + 0.0)

    def take(self, at: Reals, ok: Flags, slack: Reals) -> None:
        """Add samples."""
        held = self.slack if len(self.at) else slack[:0]
        every = np.concatenate([self.at, at])
        self.at, order = np.unique(every, return_index=True)
        self.ok = np.concatenate([self.ok, ok])[order]
        self.slack = np.concatenate([held, slack])[order]

    def wanted(self) -> Reals:
        """Return where to look next; nothing when the nearest value is known."""
        points = [*self._at_crossings(), *self._at_humps()]
        if self.exhausted or not points:
            return np.empty(0)
        return np.setdiff1d(self._grid(np.concatenate(points)), self.at)

    def _worth(self) -> Flags:
        """Tell which gaps between neighbours may hold something nearer than what is known."""
        nearest = self.nearest
        now = self.source.number
        if nearest is None:
            return np.ones(len(self.at) - 1, dtype=np.bool_)
        off = np.abs(self.at - now)
        return np.asarray(np.minimum(off[1:], off[:-1]) < abs(nearest - now))

    def _at_crossings(self) -> Iterator[Reals]:
        sign = np.sign(np.nan_to_num(self.slack, nan=-np.inf)) >= 0
        known = np.isnan(self.slack)
        crossed = (np.diff(sign, axis=0) | np.diff(known, axis=0)).any(axis=1)
        for place in np.flatnonzero(crossed & self._worth()).tolist():
            a, b = self.at[place], self.at[place + 1]
            if b - a > self._finest(a, b):
                yield np.linspace(a, b, _PARTS + 1)[1:-1]

    def _finest(self, a: float, b: float) -> float:
        """Return the width at which a bracket cannot or need not shrink further."""
        if self.whole:
            return 1.0
        size = max(abs(self.source.number), self.high - self.low)
        return max(float(np.spacing(min(abs(a), abs(b)))), size * _ULP / 16)

    def _at_humps(self) -> Iterator[Reals]:
        """Yield values where a bound missed at three samples may be met between them."""
        if self.certified:
            return
        left, middle, right = self.slack[:-2], self.slack[1:-1], self.slack[2:]
        rise = middle - np.minimum(left, right)
        near = (middle >= left) & (middle >= right) & (middle < 0) & (-middle <= rise)
        wide = self.at[2:] - self.at[:-2] > _HUMP_WIDTH * (self.high - self.low)
        worth = self._worth()
        tops = near.any(axis=1) & wide & (worth[1:] | worth[:-1])
        for place in np.flatnonzero(tops).tolist():
            three = self.at[place : place + 3]
            yield np.linspace(three[0], three[1], _PARTS + 1)[1:-1]
            yield np.linspace(three[1], three[2], _PARTS + 1)[1:-1]
            for column in np.flatnonzero(near[place]).tolist():
                yield _vertex(three, self.slack[place : place + 3, column])


def _vertex(at: Reals, slack: Reals) -> Reals:
    """Return the highest point of the parabola through three samples, the middle one highest."""
    x = at - at[1]
    ahead, behind = (slack[2] - slack[1]) / x[2], (slack[1] - slack[0]) / -x[0]
    bend = (ahead - behind) / (x[2] - x[0])
    vertex = at[1] - (behind * x[2] - ahead * x[0]) / (x[2] - x[0]) / (2 * bend)
    return np.array([vertex])
