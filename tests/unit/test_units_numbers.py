"""Splitting typed values into numbers and unit texts."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.errors import BadValueError
from tracker.model.numbers import MAX_LENGTH, TypedNumber, read_number, read_typed


@pytest.mark.parametrize(
    ("text", "value", "number", "unit"),
    [
        ("12.5 mm", 12.5, "12.5", "mm"),
        ("-3", -3.0, "-3", ""),
        ("−3 deg", -3.0, "−3", "deg"),
        ("+.5%", 0.5, "+.5", "%"),
        ("5.", 5.0, "5.", ""),
        ("1e3 N", 1000.0, "1e3", "N"),
        ("1E−3N", 0.001, "1E−3", "N"),
        ("12mm", 12.0, "12", "mm"),
        ("2 e", 2.0, "2", "e"),
        ("5 1/s", 5.0, "5", "1/s"),
        ("  7   N m ", 7.0, "7", "N m"),
        ("[1, 2, 3] mm", (1.0, 2.0, 3.0), "[1, 2, 3]", "mm"),
        ("[-1.5,0,1e2]", (-1.5, 0.0, 100.0), "[-1.5,0,1e2]", ""),
    ],
)
def test_parts_of_a_value(
    text: str, value: float | tuple[float, float, float], number: str, unit: str
) -> None:
    assert read_typed(text) == TypedNumber(value, number, unit)
    assert read_number(text) == (number, unit)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "'' does not begin with a number"),
        ("mm", "'mm' does not begin with a number"),
        ("--1", "does not begin with a number"),
        ("٣", "does not begin with a number"),
        ("nan", "does not begin with a number"),
        ("inf mm", "does not begin with a number"),
        ("12,5 mm", "'12,5 mm' has a comma in its number. Write a decimal point, as in 12.5"),
        ("1,000", "has a comma in its number"),
        ("1 000", "is not one number"),
        ("1_000", "is not one number"),
        ("1'000", "is not one number"),
        ("1..2", "is not one number"),
        ("1-2 mm", "is not one number"),
        ("1e999", "'1e999' is too large a number"),
        ("[1, 2]", "is not a point"),
        ("[1, 2, 3", "is not a point"),
        ("[[1, 2, 3]]", "is not a point"),
        ("[1, x, 3]", "'x' is not a number"),
        ("[1, 1e999, 3]", "'1e999' is too large"),
        ("\x1b[31m", r"'\\x1b[31m' does not begin"),
        ("9" * (MAX_LENGTH + 1), "is too long for a value"),
        ("9" * 10_000_000, "is too long for a value"),
    ],
)
def test_bad_value_is_refused_with_its_reason(text: str, words: str) -> None:
    with pytest.raises(BadValueError) as caught:
        read_typed(text, item="mass", field="value")
    shown = str(caught.value)
    assert words.replace(r"\\", "\\") in shown
    assert shown.startswith("mass, value: ")
    assert len(shown) < 300


@settings(deadline=None)  # the machine may be busy
@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["", " mm", " 1/s"]))
def test_every_float_comes_back(value: float, unit: str) -> None:
    typed = read_typed(f"{value!r}{unit}")
    assert typed.value == value
    assert typed.unit_text == unit.strip()


@settings(deadline=None)  # the machine may be busy
@given(st.text(max_size=60))
def test_any_text_is_a_value_or_refused(text: str) -> None:
    try:
        typed = read_typed(text)
    except BadValueError:
        return
    values = typed.value if isinstance(typed.value, tuple) else (typed.value,)
    assert all(math.isfinite(each) for each in values)
