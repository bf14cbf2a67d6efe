"""Texts both front ends show: nothing hidden, every number with its unit."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.property.strategies import NASTY
from tests.unit.services.small import UNITS
from tracker.evaluate.verdict import Band
from tracker.model.units import ONE
from tracker.model.values import Kind
from tracker.services.wording import (
    CAUTION,
    SIGNS,
    band_text,
    limits_text,
    margin_text,
    number_text,
    value_text,
    value_with_unit,
    visible,
    with_unit,
)

MM = UNITS.read("mm")
EUR = UNITS.read("EUR")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (12.0, "12"),
        (12.5, "12.5"),
        (0.1 + 0.2, "0.3"),
        (1 / 3, "0.333333"),
        (0.0123456789, "0.0123457"),
        (0.000123456789, "0.000123457"),
        (0.0000123456789, "1.23457e-05"),
        (999_999.4, "999999"),
        (999_999.9999999995, "1000000"),
        (1_234_567.0, "1.23457e+06"),
        (-1234.5678, "-1234.57"),
        (100.0, "100"),
        (7, "7"),
        (123_456_789, "123456789"),
    ],
)
def test_numbers_show_six_digits(value: float, text: str) -> None:
    assert number_text(value, MM) == text


@given(st.floats(min_value=1e-4, max_value=9.9e5))
def test_a_shown_number_is_within_half_a_sixth_digit(value: float) -> None:
    assert float(number_text(value, ONE)) == pytest.approx(value, rel=5.1e-6)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (550_000.0, "550 000"),
        (1_234.5, "1 234.50"),
        (0.004, "0"),
        (-0.004, "0"),
        (-12.5, "-12.50"),
        (1_234_567.891, "1 234 567.89"),
    ],
)
def test_money_shows_hundredths_in_groups(value: float, text: str) -> None:
    assert number_text(value, EUR) == text


def test_money_per_something_is_not_rounded_to_hundredths() -> None:
    assert number_text(0.01234, UNITS.read("EUR/kg")) == "0.01234"


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (None, Kind.REAL, "—"),
        (True, Kind.FLAG, "yes"),
        (False, Kind.FLAG, "no"),
        ("left\u202e", Kind.CHOICE, "left<U+202E>"),
        ((0.0, 600.0, 1.5), Kind.POINT, "[0, 600, 1.5]"),
        ((("a", 1.0),), Kind.TABLE, "1 row"),
        ((), Kind.TABLE, "0 rows"),
        (12.5, Kind.REAL, "12.5"),
    ],
)
def test_values_show_by_kind(value: object, kind: Kind, text: str) -> None:
    assert value_text(value, kind, MM) == text  # type: ignore[arg-type] # one sample per kind


def test_units_stand_behind_the_number() -> None:
    assert with_unit(12.5, MM) == "12.5 mm"
    assert with_unit(12.5, ONE) == "12.5"
    assert value_with_unit((0.0, 1.0, 2.0), Kind.POINT, MM) == "[0, 1, 2] mm"
    assert value_with_unit("left", Kind.CHOICE, ONE) == "left"


@pytest.mark.parametrize(
    ("lower", "upper", "text"),
    [
        (1.0, 2.0, "1 to 2 mm"),
        (2.0, 2.0, "2 mm"),
        (1.0, None, "at least 1 mm"),
        (None, 2.0, "at most 2 mm"),
        (None, None, "anything"),
    ],
)
def test_limits(lower: float | None, upper: float | None, text: str) -> None:
    assert limits_text(lower, upper, MM) == text
    assert band_text(Band(lower, upper), MM) == text


def test_allowed_values_are_shown_as_alternatives() -> None:
    assert band_text(Band(allowed=("left", "ri\u200bght")), ONE) == "left or ri<U+200B>ght"


@pytest.mark.parametrize(
    ("distance", "margin", "text"),
    [
        (None, None, ""),
        (0.12, 0.12, "+0.12 mm (+12 %)"),
        (-3.0, -1.34, "−3 mm (−134 %)"),
        (3.0, None, "+3 mm"),
        (0.0, 0.0, "+0 mm (+0 %)"),
    ],
)
def test_margins_show_unit_and_share(
    distance: float | None, margin: float | None, text: str
) -> None:
    assert margin_text(distance, margin, MM) == text


# Unicode Standard: general categories (table 4-4) and Default_Ignorable_Code_Point.
HIDDEN = {
    "control": "\x1b",
    "C1": "\x9b",
    "delete": "\x7f",
    "return": "\r",
    "bidi override": "\u202e",
    "bidi isolate": "\u2066",
    "zero-width space": "\u200b",
    "zero-width joiner": "\u200d",
    "byte order mark": "\ufeff",
    "soft hyphen": "\xad",
    "line separator": "\u2028",
    "paragraph separator": "\u2029",
    "tag": "\U000e0041",
    "private use": "\ue000",
    "unassigned": "\u0378",
    "surrogate": "\ud800",
    "Hangul filler": "\u3164",
    "grapheme joiner": "\u034f",
}


@pytest.mark.parametrize("char", HIDDEN.values(), ids=HIDDEN)
def test_hidden_characters_are_spelt_out(char: str) -> None:
    assert visible(f"a{char}b") == f"a<U+{ord(char):04X}>b"


def test_ordinary_text_stays_as_it_is() -> None:
    text = "Ω ≥ 5 µm, naïve\n\ttabbed [link=x]not markup[/]"
    assert visible(text) == text
    assert visible("plain") == "plain"


@given(st.sampled_from(NASTY) | st.text())
def test_no_text_drives_a_terminal_or_turns_a_line(text: str) -> None:
    shown = visible(text)
    assert not {unicodedata.category(char) for char in shown if char not in "\n\t"} & {
        "Cc",
        "Cf",
        "Zl",
        "Zp",
        "Cs",
        "Co",
        "Cn",
    }


def test_every_sign_differs_in_ascii_and_in_the_symbol() -> None:
    for words in (
        ("met", "tight", "missed", "unknown"),
        ("stands", "strained", "broken", "unproven"),
        ("current", "waiting", "failed", "unbound"),
    ):
        symbols, plain = zip(*(SIGNS[word] for word in words), strict=True)
        assert len(set(symbols)) == len(set(plain)) == 4
        assert all(text.isascii() for text in plain)


def test_the_caution_names_what_it_does_not_replace() -> None:
    for words in ("validated analysis", "physical test", "regulation", "responsible engineer"):
        assert words in CAUTION
