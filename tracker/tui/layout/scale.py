"""Round values along an axis, as many as there is room for."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Scale", "scale_of", "short_number"]

_STEPS = (1.0, 2.0, 5.0)
_MOST_PLACES, _MANY, _FINE = 4, 1e6, 500


@dataclass(frozen=True, slots=True)
class Scale:
    """A stretch of values and the round ones in it.

    Parameters
    ----------
    low, high : float
        Its ends, `low < high`.
    ticks : tuple of float
        Round values from `low` to `high`.
    places : int
        Decimals that tell the ticks apart; -1 where they are written with an exponent.
    """

    low: float
    high: float
    ticks: tuple[float, ...]
    places: int

    def share(self, value: float) -> float:
        """Return how far along the stretch a value is: 0 at `low`, 1 at `high`."""
        return (value - self.low) / (self.high - self.low)

    def label(self, value: float) -> str:
        """Write a value to the decimals of the ticks."""
        if self.places < 0:
            return short_number(value)
        return f"{value:.{self.places}f}".replace("-", "−")

    def fine(self, value: float) -> str:
        """Write a value to about a five-hundredth of the stretch."""
        if self.places < 0:
            return short_number(value)
        places = max(0, -math.floor(math.log10((self.high - self.low) / _FINE)))
        return f"{value:.{places}f}".replace("-", "−")


def short_number(value: float) -> str:
    """Write a number in as few characters as tell it well enough."""
    return f"{value:.5g}".replace("-", "−")


def scale_of(values: Iterable[float], most: int, *, margin: float = 0.0) -> Scale:
    """Return a scale that holds all finite values.

    Parameters
    ----------
    values : iterable of float
        What it must hold.
    most : int
        Ticks there is room for, at least 2.
    margin : float
        Share of the range to leave free at each end.
    """
    finite = [each for each in values if math.isfinite(each)]
    low, high = (min(finite), max(finite)) if finite else (0.0, 1.0)
    if not high - low > abs(high) * 1e-12:
        half = abs(high) * 0.5 or 0.5
        low, high = low - half, high + half
    room = (high - low) * margin
    low, high = low - room, high + room
    step, ticks = _ticks(low, high, max(most, 2))
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    if places > _MOST_PLACES or max(abs(low), abs(high)) >= _MANY:
        places = -1
    return Scale(low, high, ticks, places)


def _ticks(low: float, high: float, most: int) -> tuple[float, tuple[float, ...]]:
    """Return the least step of 1, 2 or 5 times a power of ten that has few enough ticks."""
    power = 10.0 ** (math.floor(math.log10((high - low) / most)) - 1)
    while True:
        for factor in _STEPS:
            step = power * factor
            first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
            if last - first < most:
                return step, tuple(number * step for number in range(first, last + 1))
        power *= 10.0
