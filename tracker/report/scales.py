"""Axes of figures: round tick values, and numbers as they stand at ticks."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Scale", "scale_of"]

_STEPS = (1.0, 2.0, 5.0, 10.0)
_WANTED = 6
_ROOM = 0.5
"""Half-width given to a single value, so that it has an axis at all."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A range of values laid out along a stretch of the drawing.

    Parameters
    ----------
    low, high : float
        Values at its ends.
    start, stop : float
        Where they are drawn.
    ticks : tuple of float
        Round values in between.
    """

    low: float
    high: float
    start: float
    stop: float
    ticks: tuple[float, ...]

    def at(self, value: float) -> float:
        """Return where a value is drawn."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.stop - self.start)

    def label(self, tick: float) -> str:
        """Write a tick with as many decimals as the ticks differ by."""
        step = self.ticks[1] - self.ticks[0] if len(self.ticks) > 1 else abs(tick) or 1.0
        places = max(0, -math.floor(math.log10(step) + 1e-9))
        if places > 4 or abs(tick) >= 1e6:  # noqa: PLR2004 - longer ones are hard to read
            return f"{tick:.4g}".replace("-", "−")
        return f"{tick:.{places}f}".replace("-", "−")


def scale_of(values: Iterable[float], start: float, stop: float) -> Scale:
    """Make a scale that holds all finite values and ends at ticks.

    Parameters
    ----------
    values : iterable of float
        What it must hold.
    start, stop : float
        Where its ends are drawn.
    """
    finite = [each for each in values if math.isfinite(each)]
    low, high = (min(finite), max(finite)) if finite else (0.0, 1.0)
    if not high - low > abs(high) * 1e-12:
        room = abs(high) * _ROOM or _ROOM
        low, high = low - room, high + room
    step = _step(low, high)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    ticks = [number * step for number in range(first, last + 1)]
    return Scale(ticks[0], ticks[-1], start, stop, tuple(ticks))


def _step(low: float, high: float) -> float:
    rough = (high - low) / _WANTED
    power = 10.0 ** math.floor(math.log10(rough))
    return power * next(each for each in _STEPS if rough <= each * power * (1 + 1e-9))
