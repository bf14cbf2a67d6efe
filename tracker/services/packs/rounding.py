"""Rounding of computed numbers that are kept for years and compared between machines.

The last bits of a computed number depend on the machine's arithmetic. What is frozen is rounded to
`DIGITS` significant digits of what it is seen against (its band, the largest value of its line),
so that noise about zero does not count as a value.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from tracker.model.values import AXES, Value

__all__ = ["DIGITS", "END_DIGITS", "LINE_DIGITS", "largest", "rounded", "rounded_value"]

DIGITS = 9
"""Significant digits of computed numbers."""
LINE_DIGITS = 6
"""Of the points of a figure, against the largest of their line."""
END_DIGITS = 6
"""Of the ends of a headroom, which are searched for and not computed."""


def rounded(number: float, against: float = 0.0, digits: int = DIGITS) -> float:
    """Round to significant digits.

    Parameters
    ----------
    number : float
        Finite.
    against : float
        Size it is seen against, where that is larger than its own.
    """
    size = max(abs(number), against)
    if not size:
        return 0.0
    places = digits - 1 - math.floor(math.log10(size))
    return round(number, places) + 0.0  # no negative zero


def largest(numbers: Iterable[float | None]) -> float:
    """Return the largest size among numbers; 0 where there is none."""
    return max((abs(each) for each in numbers if each is not None), default=0.0)


def rounded_value(value: Value | None, against: float = 0.0) -> Value | None:
    """Round a computed value; a point's components against the largest of them."""
    if isinstance(value, float):
        return rounded(value, against)
    if isinstance(value, tuple) and len(value) == len(AXES):
        x, y, z = value
        if isinstance(x, float) and isinstance(y, float) and isinstance(z, float):
            size = largest((x, y, z))
            return (rounded(x, size), rounded(y, size), rounded(z, size))
    return value
