"""Probabilities in closed form."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

__all__ = ["within_rectangular_sum"]


def within_rectangular_sum(half_widths: Sequence[float], end: float) -> float:
    """P(|Σ x| ≤ end) of independent rectangular x within ± half widths.

    Exact: the distribution function is a sum over the corners of the box of truncated powers
    (Feller, An Introduction to Probability Theory and Its Applications II, section I.9).
    """
    count, volume = len(half_widths), math.prod(2 * each for each in half_widths)

    def below(y: float) -> float:
        total = 0.0
        for signs in itertools.product((1, -1), repeat=count):
            reach = y + sum(sign * each for sign, each in zip(signs, half_widths, strict=True))
            total += math.prod(signs) * max(reach, 0.0) ** count
        return total / (math.factorial(count) * volume)

    return below(end) - below(-end)
