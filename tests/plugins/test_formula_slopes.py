"""Derivatives and trends of formulas: against complex steps, by hand, and by the author's kit."""

from __future__ import annotations

import cmath
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.plugins.test_formula import EXPRESSIONS, FORMULA, PLAIN, config, wrong
from tracker.contract.check import Problem
from tracker.contract.faults import ConfigError
from tracker.contract.kit import Row, Subject
from tracker.contract.kit_slopes import promise_derivatives_right, promise_trends_kept

COMPLEX: dict[str, Any] = {
    "__builtins__": {},
    **{each: getattr(cmath, each) for each in ("sqrt", "exp", "log", "log10", "sin", "cos", "tan")},
    **{each: getattr(cmath, each) for each in ("asin", "acos", "atan")},
    "hypot": lambda a, b: cmath.sqrt(a * a + b * b),
    "atan2": lambda y, x: cmath.atan(y / x),  # in the right half-plane
    "rad": 1.0,
    "pi": math.pi,
}
AT = {"a": 0.7, "b": 1.9, "c": 0.4}
_STEP = 1e-30


def slopes(settings_: dict[str, str], row: Row) -> dict[str, float]:
    batch = Subject(check=FORMULA, rows=[row], config=settings_).batch([row])
    found = FORMULA.derivatives(batch, settings_)  # type: ignore[attr-defined] # it has some
    return {name: float(slope[0]) for (_, name), slope in found.items()}


def trends(settings_: dict[str, str]) -> dict[str, int | None]:
    names = [port.key for port in FORMULA.manifest(settings_).inputs]
    return {
        each: FORMULA.monotone("result", each, settings_)  # type: ignore[attr-defined] # as above
        for each in names
    }


SMOOTH = [
    "a * b + c - (-a) + (+b)",
    "a / b - c / a",
    "a ** 3 * b ** -2 + c ** 0.5 + a ** (1 / 3)",
    "b ** a + a ** (b * c)",
    "sqrt(a * b) + exp(-c) * log(b) + log10(a)",
    "hypot(a, b) * c",
    "sin(a * rad) * cos(b * rad) / tan(c * rad)",
    "(asin(a) + acos(c) + atan(b) + atan2(a, b)) / rad",
]


@pytest.mark.parametrize("text", SMOOTH)
def test_derivatives_are_those_of_a_complex_step(text: str) -> None:
    """Im f(x + ih)/h is the derivative to rounding: Squire & Trapp, SIAM Review 40 (1998), 110."""
    text = f"{text} + 0 * (a + b + c)"
    found = slopes(config(text, PLAIN), AT)
    for name, number in AT.items():
        moved = {**AT, name: complex(number, _STEP)}
        wanted = eval(text, dict(COMPLEX), moved).imag / _STEP  # noqa: S307 - the text stands above
        assert found[name] == pytest.approx(wanted, rel=1e-12, abs=1e-15), name


NAN = float("nan")
BY_HAND: list[tuple[str, dict[str, float], dict[str, float]]] = [
    ("abs(a) + max(b, c)", {"a": -2, "b": 3, "c": 1}, {"a": -1, "b": 1, "c": 0}),
    ("abs(a) + min(b, c)", {"a": 0, "b": 3, "c": 1}, {"a": NAN, "b": 0, "c": 1}),
    ("max(a, b) + c", {"a": 2, "b": 2, "c": 1}, {"a": NAN, "b": NAN, "c": 1}),
    ("floor(a) + ceil(b) * c", {"a": 1.5, "b": 2.5, "c": 2}, {"a": 0, "b": 0, "c": 3}),
    ("floor(a) + ceil(b) * c", {"a": 2, "b": 2, "c": 2}, {"a": NAN, "b": NAN, "c": 2}),
    ("a // b + c", {"a": 7, "b": 2, "c": 1}, {"a": 0, "b": 0, "c": 1}),
    ("a // b + c", {"a": 6, "b": 2, "c": 1}, {"a": NAN, "b": NAN, "c": 1}),
    ("a % b + c", {"a": 7, "b": 2, "c": 1}, {"a": 1, "b": -3, "c": 1}),
    ("a % b + c", {"a": 6, "b": 2, "c": 1}, {"a": NAN, "b": NAN, "c": 1}),
    ("a if b > c else 2 * a", {"a": 5, "b": 3, "c": 1}, {"a": 1, "b": 0, "c": 0}),
    ("a if b > c else 2 * a", {"a": 5, "b": 0, "c": 1}, {"a": 2, "b": 0, "c": 0}),
    ("a if b > c else 2 * a", {"a": 5, "b": 1, "c": 1}, {"a": 2, "b": NAN, "c": NAN}),
    ("a if not (b > 0 and c > 1) else c", {"a": 5, "b": 1, "c": 3}, {"a": 0, "b": 0, "c": 1}),
    ("a / b + c", {"a": 1, "b": 0, "c": 1}, {"a": NAN, "b": NAN, "c": NAN}),
    ("sqrt(a) + b + c", {"a": 0, "b": 1, "c": 1}, {"a": NAN, "b": 1, "c": 1}),
    ("atan2(a, b) / rad + c", {"a": 0, "b": -1, "c": 1}, {"a": NAN, "b": NAN, "c": 1}),
]


@pytest.mark.parametrize(("text", "row", "wanted"), BY_HAND)
def test_kinks_and_jumps_have_no_derivative(
    text: str, row: dict[str, float], wanted: dict[str, float]
) -> None:
    found = slopes(config(text, PLAIN), {key: float(each) for key, each in row.items()})
    assert found == pytest.approx(wanted, nan_ok=True)


def test_derivatives_are_in_the_units_of_the_ports() -> None:
    settings_ = config(
        "force * arm if fixed else force * arm / 2", "force: kN, arm: mm, fixed: flag", "N*m"
    )
    found = slopes(settings_, {"force": 3.0, "arm": 20.0, "fixed": True})
    assert found == pytest.approx({"force": 20.0, "arm": 3.0})  # kN · mm are N · m


def test_yes_or_no_and_no_formula_have_no_derivatives() -> None:
    assert slopes(config("a > b and c > 1", PLAIN), AT) == {}
    assert FORMULA.derivatives({}, {}) == {}  # type: ignore[attr-defined] # it has some
    assert FORMULA.monotone("result", "a", {}) is None  # type: ignore[attr-defined] # as above


UP, DOWN, STAYS = 1, -1, 0
TRENDS: list[tuple[str, str, tuple[int | None, int | None, int | None]]] = [
    ("a - (b + c)", "", (UP, DOWN, DOWN)),
    ("a * b + c", "", (None, None, UP)),
    ("a * b + c", "b", (UP, None, UP)),
    ("a * b + c", "a, b", (UP, UP, UP)),
    ("a * b - c", "a", (None, UP, DOWN)),
    ("a / (2 * b) - c", "", (None, None, DOWN)),
    ("a / (2 * b) - c", "b", (UP, None, DOWN)),
    ("a / (2 * b) - c", "a, b", (UP, DOWN, DOWN)),
    ("c * a / (a + b)", "a, b", (None, None, UP)),  # a rises above and below
    ("c / (a + b)", "a, b, c", (DOWN, DOWN, UP)),
    ("c / (a + b) + a", "a, b, c", (None, DOWN, UP)),
    ("-a / -b + c * 0", "b, a", (UP, DOWN, STAYS)),
    ("c / (b - a)", "c", (None, None, None)),  # its sign is not known
    ("c / (a + b)", "c", (None, None, None)),
    ("a // b + c", "a, b", (UP, DOWN, UP)),
    ("a % b + c", "a, b", (None, None, UP)),
    ("a ** 2 + b ** 3 - c ** 4", "a", (UP, UP, None)),
    ("(-a) ** 2 + b ** -2 + c ** -1", "a, b", (UP, DOWN, None)),
    ("a ** 0.5 + b ** -0.5 + c ** 0", "", (UP, DOWN, None)),
    ("b ** a + c", "b", (None, None, UP)),
    ("(a * b) ** 0.5 + c", "b", (None, None, UP)),  # two decide whether there is a root
    ("(a * b) ** 0.5 + c", "a, b", (UP, UP, UP)),
    ("(1e30 * (1 + abs(a))) ** 12 + b + c", "", (None, UP, UP)),
    ("sqrt(a) + log(b) + log10(c)", "", (UP, UP, UP)),
    ("sqrt(a - b) + c", "", (None, None, UP)),
    ("sqrt(a ** 2 + b ** 2) + c", "a, b", (UP, UP, UP)),
    ("sqrt(a ** 2 + b ** 2) + c", "", (None, None, UP)),
    ("abs(a) + hypot(b, c)", "a, b", (UP, UP, None)),
    ("exp(-a) + floor(b) - ceil(c)", "", (DOWN, UP, DOWN)),
    ("exp(a + b) + c", "", (None, None, UP)),  # it overflows where both are large
    ("(asin(a) + acos(b) + atan(c)) / rad", "", (UP, DOWN, UP)),
    ("sin(a * rad) + tan(b * rad) + c", "", (None, None, UP)),
    ("atan2(a, b) / rad + c", "", (None, None, UP)),
    ("max(a, b) - min(b, c)", "", (UP, None, DOWN)),
    ("a > b and not c > 1", "", (UP, DOWN, DOWN)),
    ("a <= b or c == 1", "", (DOWN, UP, None)),
    ("a > 1 / b and c > 0", "", (None, None, None)),  # one side may tell without the other
    ("a if c > 0 else a + b", "", (UP, UP, None)),
    ("a if c > 0 else sqrt(b) + a", "", (None, None, None)),  # only there a root is asked for
    ("a - b if 1 > 0 else b + c", "", (UP, None, UP)),
]


@pytest.mark.parametrize(("text", "positive", "wanted"), TRENDS)
def test_trends_follow_from_signs(
    text: str, positive: str, wanted: tuple[int | None, int | None, int | None]
) -> None:
    settings_ = {**config(text, PLAIN), "positive": positive}
    assert tuple(trends(settings_).values()) == wanted
    promise_trends_kept(Subject(check=FORMULA, rows=draw, config=settings_))


def draw(dice: np.random.Generator) -> Row:
    """Give numbers of both signs, often small whole ones, which meet edges."""
    return {
        name: dice.uniform(-3, 9) if dice.random() < 0.5 else float(dice.integers(-2, 3))
        for name in "abc"
    }


@settings(max_examples=200, deadline=None)
@given(text=EXPRESSIONS, positive=st.sets(st.sampled_from("abc")), seed=st.integers(0, 2**32 - 1))
def test_no_formula_goes_against_its_trends(text: str, positive: set[str], seed: int) -> None:
    settings_ = {**config(f"{text} + 0 * (a + b + c)", PLAIN), "positive": ", ".join(positive)}
    try:
        FORMULA.manifest(settings_)
    except ConfigError:  # a constant part or an exponent out of bounds
        return
    promise_trends_kept(Subject(check=FORMULA, rows=draw, config=settings_, seed=seed))


@pytest.mark.parametrize("text", SMOOTH)
def test_the_kit_agrees_with_the_derivatives(text: str) -> None:
    def near(dice: np.random.Generator) -> Row:
        return {name: float(dice.uniform(0.1, 0.9)) for name in "abc"}

    promise_derivatives_right(Subject(check=FORMULA, rows=near, config=config(text, PLAIN)))


def test_flags_have_no_trend_and_temperatures_are_positive_in_kelvin() -> None:
    settings_ = {
        **config("a / t if on else 2 * a / t", "a: K, t: degC, on: flag"), "positive": "t"
    }  # fmt: skip
    assert trends(settings_) == {"a": UP, "t": None, "on": None}


def test_what_is_stated_as_positive_must_be() -> None:
    settings_ = {**config("a * b", "a, b"), "positive": "a; b"}
    rows = [{"a": 1.0, "b": 2.0}, {"a": 0.0, "b": 2.0}, {"a": 1.0, "b": -2.0}]
    outputs = FORMULA.compute(
        Subject(check=FORMULA, rows=rows, config=settings_).batch(rows), settings_
    )
    told: list[Problem] = list(outputs.problems)
    assert [each.reason for each in told] == ["a must be positive", "b must be positive"]
    assert outputs.values["result"].tolist()[:1] == [2.0]
    assert np.isnan(outputs.values["result"][1:]).all()


def test_only_numbers_among_the_inputs_are_positive() -> None:
    settings_ = {**config("a if on else 2 * a", "a, on: flag"), "positive": "on, z"}
    assert wrong(settings_) == dict.fromkeys(
        ("positive.on", "positive.z"), "no input that is a number is called that"
    )
