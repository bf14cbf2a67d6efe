"""Computed numbers are rounded to significant digits of what they are seen against."""

from __future__ import annotations

import math

import pytest

from tracker.services.packs.rounding import largest, rounded, rounded_value


@pytest.mark.parametrize(
    ("number", "against", "digits", "expected"),
    [
        (math.pi, 0.0, 9, 3.14159265),
        (math.pi * 1e6, 0.0, 9, 3141592.65),
        (-math.pi * 1e-5, 0.0, 9, -3.14159265e-05),
        (123456789012.0, 0.0, 9, 123456789000.0),
        (1e-17, 1.0, 9, 0.0),
        (-1e-17, 1.0, 9, 0.0),
        (0.1234567894, 1.0, 9, 0.12345679),
        (2.0 / 3.0, 0.0, 3, 0.667),
        (0.0, 0.0, 9, 0.0),
        (999999999.6, 0.0, 9, 1000000000.0),
    ],
)
def test_significant_digits(number: float, against: float, digits: int, expected: float) -> None:
    found = rounded(number, against, digits)
    assert found == expected
    assert math.copysign(1.0, found) == math.copysign(1.0, expected)


def test_what_differs_in_its_last_bits_becomes_the_same() -> None:
    other = math.nextafter(math.nextafter(0.1 + 0.2, 1), 1)
    assert rounded(0.1 + 0.2) == rounded(other) == 0.3


def test_values_of_every_kind() -> None:
    assert rounded_value(1 / 3) == 0.333333333
    assert rounded_value((1 / 3, 1e-18, 2000 / 3)) == (0.333333, 0.0, 666.666667)
    rows = (("a", 1 / 3), ("b", 2 / 3), ("c", 1.0))
    for value in (None, 7, True, "left", rows, rows[:1]):
        assert rounded_value(value) == value


def test_the_largest_size() -> None:
    assert largest([1.0, None, -3.0]) == 3.0
    assert largest([]) == 0.0
