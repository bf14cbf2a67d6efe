"""The formula: a whitelist that holds, dimensions that fit, numbers that are Python's own."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.contract.check import Check, Config, Inputs, Manifest, Outputs
from tracker.contract.faults import ConfigError, UnitTextError
from tracker.contract.kit import PROMISES, Row, Subject
from tracker.contract.units import Unit
from tracker.errors import BindingError, ManyProblemsError
from tracker.exchange.units import PintUnits
from tracker.host.catalogue import EntryPoints
from whybone_chassis.formula import CHECK
from whybone_chassis.formula_dimensions import WorkingUnits, in_words
from whybone_chassis.formula_grammar import LONGEST, FormulaError, parse

CATALOGUE = EntryPoints(PintUnits())
READER = PintUnits()


def read(text: str) -> Unit:
    try:
        return READER.read(text.replace("money", "EUR"))
    except Exception as error:
        raise UnitTextError(str(error)) from error


FORMULA: Check = CHECK.with_units(read)


def config(expression: str, inputs: str, unit: str = "") -> dict[str, str]:
    made = {"expression": expression, "inputs": inputs}
    return {**made, "unit": unit} if unit else made


def answer(settings: dict[str, str], *rows: Row) -> Outputs:
    subject = Subject(check=FORMULA, rows=rows, config=settings)
    return FORMULA.compute(subject.batch(rows), settings)


def value(expression: str, inputs: str, unit: str = "", /, **row: object) -> float:
    outputs = answer(config(expression, inputs, unit), row)
    assert not outputs.problems
    return float(outputs.values["result"][0])


def wrong(settings: dict[str, str]) -> dict[str, str]:
    with pytest.raises(ConfigError) as caught:
        FORMULA.manifest(settings)
    return caught.value.fields


# --- what it computes ---------------------------------------------------------------------------

NAMES = ("a", "b", "c")
PLAIN = "a, b, c"


def leaves() -> st.SearchStrategy[str]:
    numbers = st.integers(0, 99).map(str) | st.floats(0.0, 9.0).map(lambda x: f"{x:.3f}")
    return st.sampled_from([*NAMES, "pi"]) | numbers


def grown(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    calls = st.sampled_from(["abs", "sqrt", "exp", "log", "log10", "floor", "ceil"])
    return st.one_of(
        st.tuples(inner, st.sampled_from(["+", "-", "*", "/", "//", "%"]), inner).map(
            lambda parts: f"({' '.join(parts)})"
        ),
        st.tuples(inner, st.sampled_from(["2", "3", "0.5", "-1"])).map(
            lambda parts: f"({parts[0]}) ** {parts[1]}"
        ),
        st.tuples(calls, inner).map(lambda parts: f"{parts[0]}({parts[1]})"),
        st.tuples(inner, inner).map(lambda parts: f"max({parts[0]}, {parts[1]}, 1)"),
        st.tuples(inner, inner, inner).map(
            lambda parts: f"({parts[0]} if {parts[1]} < {parts[2]} else -{parts[2]})"
        ),
    )


EXPRESSIONS = st.recursive(leaves(), grown, max_leaves=8)
PYTHON: dict[str, Any] = {
    "__builtins__": {},
    **{name: getattr(math, name) for name in ("sqrt", "exp", "log", "log10", "pi")},
    "floor": lambda x: float(math.floor(x)),
    "ceil": lambda x: float(math.ceil(x)),
    "abs": math.fabs,  # refuses a complex number, where abs would turn it real
    "max": max,
}


def python(text: str, row: Row) -> float | None:
    """Let Python compute the row by itself; None where it has no real, finite value."""
    try:
        result = eval(text, dict(PYTHON), dict(row))  # noqa: S307  the text is drawn above
    except (ZeroDivisionError, OverflowError, ValueError, TypeError):
        return None
    if isinstance(result, complex) or not math.isfinite(result):
        return None
    return float(result)


@settings(max_examples=300, deadline=None)
@given(text=EXPRESSIONS, seed=st.integers(0, 2**32 - 1))
def test_numbers_are_those_of_python(text: str, seed: int) -> None:
    text = f"{text} + 0 * (a + b + c)"
    generator = np.random.default_rng(seed)
    rows = [
        dict(zip(NAMES, generator.uniform(-3.0, 9.0, 3).tolist(), strict=True)) for _ in range(5)
    ]
    try:
        outputs = answer(config(text, PLAIN), *rows)
    except ConfigError:  # a constant part or an exponent out of bounds
        return
    refused = outputs.problems[0].rows if outputs.problems else np.zeros(5, dtype=bool)
    for row, found, no_value in zip(rows, outputs.values["result"], refused, strict=True):
        wanted = python(text, row)
        if wanted is None:
            assert no_value
        elif abs(wanted) < 1e12 and not no_value:
            assert found == pytest.approx(wanted, rel=1e-9, abs=1e-9)


def test_refused_rows_are_those_python_refuses() -> None:
    text = "sqrt(a) / (b - 1) + log(c)"
    rows = [
        {"a": a, "b": b, "c": c} for a in (-1.0, 0.0, 4.0) for b in (1.0, 2.0) for c in (-1.0, 1.0)
    ]
    outputs = answer(config(text, PLAIN), *rows)
    assert outputs.problems[0].rows.tolist() == [python(text, row) is None for row in rows]
    assert "division by zero" in outputs.problems[0].reason


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("1 if a > 0 else 2", 1.0),
        ("a if a >= 3 and not b > 3 else 0 - a", 3.0),
        ("1 if 1 < a < 4 == c else 0", 1.0),
        ("min(a, b, c)", 2.0),
        ("max(a, b)", 3.0),
        ("hypot(a, c)", 5.0),
        ("a // b", 1.0),
        ("-a % b", 1.0),
        ("2 ** a", 8.0),
        ("a ** (2 / 3) ** 1 * 0 + b ** -1", 0.5),
        ("1 if a != b or c == 0 else 0", 1.0),
    ],
)
def test_constructs(text: str, wanted: float) -> None:
    used = ", ".join(name for name in NAMES if name in text)
    row = {name: {"a": 3.0, "b": 2.0, "c": 4.0}[name] for name in used.split(", ")}
    assert value(text, used, **row) == pytest.approx(wanted, rel=1e-14)


def test_branch_that_is_not_chosen_does_no_harm() -> None:
    assert value("b / a if a != 0 else b", "a, b", a=0.0, b=7.0) == 7.0
    assert value("1 if a != 0 and b / a > 1 else 0", "a, b", a=0.0, b=7.0) == 0.0
    assert value("1 if a == 0 or b / a > 1 else 0", "a, b", a=0.0, b=7.0) == 1.0


@pytest.mark.parametrize(
    "text",
    [
        "1 if sqrt(a) > 0 else 0",
        "1 / (1 / (a + 1))",
        "1 if not sqrt(a) > 0 else 0",
        "sqrt(a) ** 0 + b * 0",
        "max(b, sqrt(a))",
        "1 if sqrt(a) > 0 and b > 0 else 0",
        "b if log(a + 1) > 1 else b",
    ],
)
def test_value_that_is_missing_is_never_papered_over(text: str) -> None:
    used = "a, b" if "b" in text else "a"
    row = {"a": -1.0, "b": 1.0} if "b" in text else {"a": -1.0}
    assert answer(config(text, used), row).problems


def test_constant_that_divides_by_zero_has_no_value() -> None:
    assert answer(config("a + 1 / 0", "a"), {"a": 1.0}).problems
    assert answer(config("a + 0 ** -1", "a"), {"a": 1.0}).problems


def test_result_may_be_yes_or_no() -> None:
    settings = config("arm > 0 and force > 0 or locked", "force: N, arm: mm, locked: flag")
    assert FORMULA.manifest(settings).outputs[0].kind == "flag"
    rows = [{"force": -1.0, "arm": 1.0, "locked": locked} for locked in (True, False)]
    assert answer(settings, *rows).values["result"].tolist() == [True, False]
    batch = Subject(check=FORMULA, rows=rows, config=settings).batch(rows[:1])
    assert FORMULA.figures(batch, settings) == ()  # type: ignore[attr-defined]  # it draws figures
    either = config("a > 2 if b > 0 else not a > 2", "a, b")
    pairs = [{"a": a, "b": b} for a in (1.0, 3.0) for b in (-1.0, 1.0)]
    assert answer(either, *pairs).values["result"].tolist() == [True, False, False, True]
    alone = answer(config("locked", "locked: flag"), {"locked": True})
    assert alone.values["result"].tolist() == [True]


# --- dimensions ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "inputs", "unit", "row", "wanted"),
    [
        ("force * arm", "force: N, arm: mm", "N*m", {"force": 200.0, "arm": 50.0}, 10.0),
        ("force * arm", "force: kN, arm: m", "N*mm", {"force": 2.0, "arm": 0.5}, 1e6),
        ("a + b", "a: mm, b: in", "mm", {"a": 1.0, "b": 1.0}, 26.4),
        ("a + b", "a: mm, b: in", "in", {"a": 25.4, "b": 1.0}, 2.0),
        ("sqrt(k / m) / (2 * pi)", "k: N/mm, m: kg", "Hz", {"k": 40.0, "m": 400.0}, 1.5915494309),
        ("c * turns", "c: mm/rev, turns: rev", "mm", {"c": 50.0, "turns": 1.5}, 75.0),
        ("sin(angle)", "angle: deg", "", {"angle": 30.0}, 0.5),
        ("atan2(x, y)", "x: mm, y: m", "deg", {"x": 1000.0, "y": 1.0}, 45.0),
        ("asin(x) + rad", "x", "rad", {"x": 0.0}, 1.0),
        (
            "radius * angle / rad",
            "radius: mm, angle: deg",
            "mm",
            {"radius": 2.0, "angle": 90.0},
            math.pi,
        ),
        ("t", "t: degC", "K", {"t": 20.0}, 293.15),
        ("t", "t: K", "degC", {"t": 293.15}, 20.0),
        ("2 * t", "t: degC", "K", {"t": 0.0}, 546.3),
        ("v ** 2 / (2 * d)", "v: km/h, d: g", "m", {"v": 36.0, "d": 1.0}, 50 / 9.80665),
        ("cost / 1000 * n", "cost: money, n", "money", {"cost": 500.0, "n": 3.0}, 1.5),
        ("volume ** (1/3)", "volume: mm^3", "cm", {"volume": 1000.0}, 1.0),
        ("a * b ** 0.5", "a: m, b: m", "m^1.5", {"a": 4.0, "b": 4.0}, 8.0),
        ("max(0, x)", "x: mm", "mm", {"x": -3.0}, 0.0),
        ("x if x > 0 else 0", "x: mm", "mm", {"x": 3.0}, 3.0),
        ("a // b", "a: m, b: mm", "", {"a": 1.0, "b": 300.0}, 3.0),
        ("a % b", "a: m, b: mm", "mm", {"a": 1.0, "b": 300.0}, 100.0),
        ("share * 2", "share: %", "%", {"share": 10.0}, 20.0),
    ],
)
def test_units_are_converted(text: str, inputs: str, unit: str, row: Row, wanted: float) -> None:
    assert value(text, inputs, unit, **row) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "inputs", "unit"),
    [
        ("a - b", "a: mm, b: mm", "mm"),
        ("a * b / c", "a: N, b: mm, c: mm", "N"),
        ("a * b", "a: N, b: mm", "N*mm"),
        ("a / b", "a: kN, b: mm", "kN/mm"),
        ("a + b", "a: deg/g, b: deg/g", "deg/g"),
        ("a / b", "a: money, b: kg", "money/kg"),
        ("a / b * c", "a: km/h, b: g, c: g", "km/h"),
    ],
)
def test_nothing_is_rounded_where_the_users_units_go_together(
    text: str, inputs: str, unit: str
) -> None:
    generator = np.random.default_rng(4)
    names = [each.split(":")[0].strip() for each in inputs.split(",")]
    for _ in range(50):
        row = {name: round(float(generator.uniform(0.1, 99.0)), 2) for name in names}
        assert value(text, inputs, unit, **row) == python(text, row)


@pytest.mark.parametrize(
    ("text", "inputs", "words"),
    [
        ("a + b", "a: mm, b: N", "+ mixes length with length·mass/time^2"),
        ("a + 5", "a: mm", "+ mixes length with a pure number"),
        ("a < b", "a: mm, b: deg", "< mixes length with angle"),
        ("max(a, b)", "a: mm, b", "max mixes"),
        ("a if c > 0 else b", "a: mm, b: N, c", "if mixes"),
        ("sin(a)", "a: mm", "sin wants angle, not length"),
        ("sin(a)", "a", "sin wants angle, not a pure number"),
        ("exp(a)", "a: deg", "exp wants a pure number, not angle"),
        ("log(a)", "a: mm", "log wants a pure number"),
        ("floor(a)", "a: mm", "floor wants a pure number"),
        ("a ** b", "a: mm, b", "to a power that is no constant"),
        ("2 ** a", "a: mm", "wants a pure number as exponent"),
        ("a ** 13", "a: mm", "raises to more than 12"),
        ("a ** 0.123456", "a: mm", "no simple fraction"),
        ("a * (b > 1)", "a, b", "* wants a number, not yes or no"),
        ("a and b", "a, b", "and wants yes or no"),
        ("not a", "a", "not wants yes or no"),
        ("a if b else c", "a, b, c", "if wants yes or no"),
        ("(a > 1) == (b > 1)", "a, b", "== wants a number"),
        ("a + c", "a", "'c' is neither an input nor a constant"),
        ("atan2(a, b)", "a: mm, b: kg", "atan2 mixes"),
    ],
)
def test_dimensions_that_do_not_fit_are_told(text: str, inputs: str, words: str) -> None:
    assert words in wrong(config(text, inputs))["expression"]


@pytest.mark.parametrize(
    ("text", "inputs", "unit", "words"),
    [
        ("a", "a: mm", "N", "the formula gives length, which N does not measure"),
        ("a", "a: mm", "", "the formula gives length, which a pure number does not measure"),
        ("a > 0", "a: mm", "mm", "yes or no, which has no unit"),
        ("a", "a: mm", "mmm", "mmm"),
        ("a / b", "a: N, b: mm", "N*mm", "gives mass/time^2"),
    ],
)
def test_unit_that_does_not_fit_is_told(text: str, inputs: str, unit: str, words: str) -> None:
    assert words in wrong(config(text, inputs, unit))["unit"]


def test_working_units_keep_what_goes_together() -> None:
    units = [read(text) for text in ("N", "mm", "N*mm", "kN", "m", "deg")]
    working = WorkingUnits(units)
    assert [working.factor(unit) for unit in units[:3]] == [1.0, 1.0, 1.0]
    assert working.factor(units[3]) == pytest.approx(1e3, rel=1e-15)
    assert working.factor(units[4]) == pytest.approx(1e3, rel=1e-15)
    assert working.factor(units[5]) == pytest.approx(math.pi / 180, rel=1e-15)


def test_dimensions_in_words() -> None:
    assert in_words(()) == "a pure number"
    assert in_words((("time", Fraction(-1)),)) == "1/time"
    assert in_words((("length", Fraction(3, 2)),)) == "length^3/2"


# --- the whitelist ------------------------------------------------------------------------------

HOSTILE = [
    "a.real",
    "a . real",
    "(1).real",
    "1.real",
    "1..real",
    "a.__class__.__mro__",
    "().__class__",
    "a[0]",
    "[a]",
    "{a}",
    "{}",
    "(a, a)",
    "()",
    "'a'",
    '"a"',
    "f'{a}'",
    "b'a'",
    "lambda: a",
    "lambda a: a",
    "a := 1",
    "(a := 1)",
    "__import__('os')",
    "__import__(a)",
    "open(a)",
    "eval(a)",
    "exec(a)",
    "print(a)",
    "getattr(a, a)",
    "sqrt(x=a)",
    "sqrt(*a)",
    "sqrt(**a)",
    "sqrt(a, a)",
    "sqrt()",
    "max(a)",
    "min(a, a, a, a, a, a, a, a, a)",
    "sqrt(a)(a)",
    "(sqrt)(a)(a)",
    "sqrt",
    "a in a",
    "a is a",
    "a is not a",
    "a not in a",
    "a @ a",
    "a << 2",
    "a >> 2",
    "a & 1",
    "a | 1",
    "a ^ 2",
    "~a",
    "await a",
    "yield a",
    "(yield a)",
    "a for a in a",
    "(a for a in a)",
    "...",
    "None",
    "True",
    "True + a",
    "a if a",
    "a;a",
    "a\n a",
    "a = 1",
    "import os",
    "1j * a",
    "0x10 * a",
    "0b1 * a",
    "0o7 * a",
    "1_000 * a",
    "007 * a",
    "1if a > 0 else 2",
    "2a",
    "a # comment",
    "a \\\n + 1",
    "a ** 9 ** 9 ** 9",
    "9 ** 9 ** 9 * a",
    "a ** 1e9",
    "2 ** 13 * a",
    "1e31 * a",
    "1e999 * a",
    "9" * 400 + " * a",
    "1e30 * 1e30 * 1e30 * 1e30 * 1e30 * 1e30 * 1e30 * 1e30 * 1e30 * 1e30 * 1e30 * a",
    "(" * 150 + "a" + ")" * 150 + ".x",
    "(" * 240 + "a" + ")" * 240,
    "-" * 450 + "a",
    "not " * 100 + "a > 1",
    "a" + "+a" * 240,
    "abs(" * 70 + "a" + ")" * 70,
    "a" + " " * LONGEST,
    " + ".join(["max(a,a,a,a,a,a,a,a)"] * 21),
    "a\x00",
    "a\u202e",
    "а",  # a Cyrillic letter that looks like ours
    "ａ",  # a full-width letter that Python would fold to ours
    "a ＋ 1",  # a full-width sign
    "a $ 1",
    "a ? 1",
    "",
    "   ",
    "+",
    "a +",
    ")",
    "(a",
    ".",
    "1 . 2",
    "a . 5",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_everything_else_is_refused(text: str) -> None:
    reason = wrong(config(text, "a"))
    assert "expression" in reason
    assert len(reason["expression"]) < 400


@settings(max_examples=400, deadline=None)
@given(st.text(max_size=60) | st.text("a1.()+-*/%<>=!, efiornd", max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    with contextlib.suppress(FormulaError):
        parse(text)


@pytest.mark.parametrize("error", [MemoryError, RecursionError, ValueError])
def test_parser_that_gives_up_is_a_refusal(
    error: type[Exception], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which texts are too much for it depends on the version of Python."""

    def give_up(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("whybone_chassis.formula_grammar.ast.parse", give_up)
    with pytest.raises(FormulaError, match="nested too deep"):
        parse("a")


def test_refusal_says_where() -> None:
    assert wrong(config("a + a.b", "a"))["expression"].startswith("character 5")
    assert wrong(config("a + foo(a)", "a"))["expression"].startswith("character 5: no function")


def test_every_wrong_field_is_named_at_once() -> None:
    found = wrong(
        {
            "expression": "a +",
            "inputs": "a: mm, a: N, sin: mm, 2x, if, b: furlongs",
            "unit": "parsecs",
            "colour": "red",
        }
    )
    assert set(found) == {
        "expression",
        "inputs.a",
        "inputs.sin",
        "inputs.2x",
        "inputs.if",
        "inputs.b",
        "unit",
        "colour",
    }


@pytest.mark.parametrize(
    ("settings", "field", "words"),
    [
        ({"unit": ""}, "inputs", "name 1 to 20 inputs"),
        ({"unit": ""}, "expression", "empty"),
        (config("a", "a, b"), "inputs.b", "does not use it"),
        (config("a", ",".join(f"a{n}" for n in range(21))), "inputs", "name 1 to 20"),
        (config("result", "result"), "inputs.result", "taken"),
        (config("pi * 2", "pi"), "inputs.pi", "taken"),
        (config("a", "é"), "inputs.é", "letters"),
    ],
)
def test_wrong_inputs_are_told(settings: dict[str, str], field: str, words: str) -> None:
    assert words in wrong(settings)[field]


def test_without_any_configuration_it_says_how_to_write_one() -> None:
    manifest = CHECK.manifest({})
    assert manifest.inputs == ()
    assert "expression" in manifest.purpose
    assert "hypot" in manifest.purpose
    (problem,) = CHECK.compute({}, {}).problems
    assert problem.reason == "no formula is configured: give it an expression"
    assert CHECK.figures({}, {}) == ()


def test_without_a_reader_there_are_pure_numbers_only() -> None:
    assert CHECK.manifest(config("a * 2", "a")).outputs[0].unit == ""
    with pytest.raises(ConfigError) as caught:
        CHECK.manifest(config("a * 2", "a: mm"))
    assert caught.value.fields["inputs.a"] == "no units are known here"


# --- in the host --------------------------------------------------------------------------------


def test_host_hands_the_reader_over_and_money_is_the_programmes() -> None:
    settings = config("cost * mass", "cost: EUR/kg, mass: kg", "money")
    loaded = CATALOGUE.load("formula", settings, "EUR")
    assert loaded.units["result"].text == "EUR"
    with pytest.raises(BindingError, match="does not measure") as caught:
        CATALOGUE.load("formula", settings, "USD")
    assert caught.value.field == "config unit"


def test_host_tells_every_wrong_field() -> None:
    with pytest.raises(ManyProblemsError) as caught:
        CATALOGUE.load("formula", config("a +", "a: wat"), "EUR")
    assert {problem.field for problem in caught.value.problems} == {
        "config expression",
        "config inputs.a",
    }


def test_check_that_chokes_on_the_reader_is_named() -> None:
    class Picky:
        def with_units(self, read: object) -> Check:
            raise KeyError("furlong")

        def manifest(self, config: Config) -> Manifest:
            raise AssertionError(config)

        def compute(self, inputs: Inputs, config: Config) -> Outputs:
            raise AssertionError(inputs, config)

    catalogue = EntryPoints(PintUnits(), {"picky": Picky()})
    with pytest.raises(BindingError, match="failed while it was given the units: KeyError"):
        catalogue.load("picky", {}, "EUR")


def test_many_formulas_do_not_pile_up() -> None:
    formula = CHECK.with_units(read)
    for number in range(200):
        formula.manifest(config(f"a * {number}", "a"))
    assert len(formula._ready) <= 64


# --- speed --------------------------------------------------------------------------------------

Columns = dict[str, np.ndarray]
BY_HAND: list[tuple[str, str, str, Callable[[Columns], np.ndarray]]] = [
    (
        "sqrt(a ** 2 + b ** 2) * c",
        "a: N, b: N, c: mm",
        "N*mm",
        lambda x: np.sqrt(x["a"] ** 2 + x["b"] ** 2) * x["c"],
    ),
    (
        "a / (1 + b * c) if a > b else max(a, c)",
        "a, b, c",
        "",
        lambda x: np.where(
            x["a"] > x["b"], x["a"] / (1 + x["b"] * x["c"]), np.maximum(x["a"], x["c"])
        ),
    ),
    (
        "a * sin(b) + c",
        "a: N, b: deg, c: kN",
        "N",
        lambda x: x["a"] * np.sin(x["b"] * (math.pi / 180)) + x["c"] * 1e3,
    ),
]


@pytest.mark.parametrize(("text", "inputs", "unit", "by_hand"), BY_HAND)
def test_a_large_batch_equals_numpy_by_hand(
    text: str, inputs: str, unit: str, by_hand: Callable[[Columns], np.ndarray]
) -> None:
    generator = np.random.default_rng(2)
    columns = {name: generator.uniform(1.0, 9.0, 100_000) for name in NAMES}
    settings = config(text, inputs, unit)
    found = FORMULA.compute(columns, settings).values["result"]
    assert found == pytest.approx(by_hand(columns), rel=1e-12)


# --- the contract -------------------------------------------------------------------------------

LENGTHS = {"mm": 2.0, "m": 2.0, "N": 1.0, "kN": 1.0, "deg": 1.0}
SUBJECTS: dict[str, dict[str, Any]] = {
    "moment": {
        "config": config("hypot(a, b) * c", "a: N, b: kN, c: mm", "N*m"),
        "scalings": [LENGTHS, {**LENGTHS, "N": 3.0, "kN": 3.0}],
        "degenerate": [{"a": 1e308, "b": 1e306}, {"c": math.inf}],
    },
    "verdict": {
        "config": config("log(a / b) > 0 and c > 2 * b", "a: mm, b: mm, c: mm"),
        "scalings": [LENGTHS],
        "degenerate": [{"a": -1.0, "c": 99.0}, {"b": 0.0}],
    },
    "choice": {
        "config": config("a / (c - b) if c > b else tan(a) * rad", "a: deg, b, c", "deg"),
        "degenerate": [{"b": math.nan}, {"a": math.inf}, {"b": 1.0, "c": 1.0 + 4e-16, "a": 1e300}],
    },
}


def draw(generator: np.random.Generator) -> Row:
    return {name: float(generator.uniform(1.0, 9.0)) for name in NAMES}


@pytest.mark.parametrize("case", SUBJECTS)
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, case: str) -> None:
    PROMISES[promise](Subject(check=FORMULA, rows=draw, **SUBJECTS[case]))


def test_a_bad_neighbour_changes_no_bit() -> None:
    """Rows beside one that divides by zero take the careful way, to the same bits."""
    text = "exp(sin(a * rad)) / (b - c) + (sqrt(a) if a > 2 else a ** 3) - 7 // b"
    settings = config(text, PLAIN)
    generator = np.random.default_rng(8)
    rows = [draw(generator) for _ in range(1000)]
    clean = answer(settings, *rows).values["result"]
    bad = {"a": 1.0, "b": 2.0, "c": 2.0}
    mixed = answer(settings, *rows, bad)
    assert mixed.problems[0].rows.tolist() == [False] * 1000 + [True]
    assert mixed.values["result"][:1000].tobytes() == clean.tobytes()


def test_curve_shows_the_result_over_each_input() -> None:
    settings = config("force * arm", "force: N, arm: mm", "N*mm")
    row = {"force": 2.0, "arm": 3.0}
    batch = Subject(check=FORMULA, rows=[row], config=settings).batch([row])
    (figure,) = FORMULA.figures(batch, settings)  # type: ignore[attr-defined]  # it draws figures
    force, arm = figure.series
    assert (force.title, arm.title) == ("force", "arm")
    assert force.y[0] == pytest.approx(0.8 * 6.0)
    assert force.y[-1] == pytest.approx(1.2 * 6.0)
