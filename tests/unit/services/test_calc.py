"""Running one check on its own."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.small import near, toy_tools
from tracker.errors import (
    BadUnitError,
    BadValueError,
    BindingError,
    DimensionError,
    InputError,
    UnknownKeyError,
)
from tracker.services.calc import calculate, manifest
from tracker.services.calc_views import CaseResult

TOOLS = toy_tools()
ROWS = [{"part": "arm", "mass": "1.6e-3 t", "count": 2}, ["stop", 0.2, "4", "no"]]


def one(check: str, inputs: dict[str, Any], **more: object) -> CaseResult:
    result = calculate(TOOLS, check, {"inputs": inputs, **more})
    assert len(result.cases) == 1
    return result.cases[0]


def test_inputs_are_read_with_their_units() -> None:
    case = one("lever", {"force": "0.1 kN", "arm": 120})
    assert case.outputs == {"torque": (near(12_000.0), "N*mm"), "dead": (False, "")}
    assert case.problems == ()


def test_rules_are_judged_with_their_reasons() -> None:
    case = one("lever", {"force": 5, "arm": 120, "angle": 0})
    assert [(each.output, each.verdict, each.reason) for each in case.rules] == [
        ("torque", "missed", "It must move the lock"),
        ("dead", "missed", "It would jam"),
    ]
    assert case.rules[0].margin == near(-1.0)
    assert case.rules[1].margin is None


def test_cases_run_one_by_one_and_carry_their_cautions() -> None:
    cases = [{"force": each, "arm": "10 cm"} for each in (10, 20, 30)]
    result = calculate(TOOLS, "lever", {"cases": cases, "check": "lever"})
    assert (result.check, result.version) == ("lever", "1")
    assert [case.outputs["torque"][0] for case in result.cases] == near([1e3, 2e3, 3e3])
    assert "no substitute" in result.cautions[0]
    assert result.cautions[1:] == ("The arm is rigid.",)
    assert calculate(TOOLS, "lever", {"cases": []}).cases == ()


def test_every_kind_of_output_comes_back_as_plain_data() -> None:
    inputs = {"parts": ROWS, "limit": "2 kg", "side": "right", "at": "[1, 2, 3] cm"}
    case = one("parts-list", inputs)
    assert case.outputs == {
        "mass": (near(4.0), "kg"),
        "pieces": (6, ""),
        "to": ("right", ""),
        "place": ((10.0, 20.0, 30.0), "mm"),
        "slack": (near(0.4), "kg"),
    }
    assert [(each.output, each.verdict, each.margin) for each in case.rules] == [
        ("slack", "met", near(0.4))
    ]


def test_columns_and_optional_inputs_have_defaults() -> None:
    case = one("parts-list", {"parts": [{"part": "arm", "mass": 3}]})
    assert case.outputs["pieces"] == (1, "")
    assert case.outputs["to"] == ("left", "")
    assert case.outputs["place"] == ((0.0, 0.0, 0.0), "mm")


def test_what_is_absent_says_why() -> None:
    case = one("parts-list", {"parts": []})
    assert case.outputs["slack"] == (None, "kg")
    assert case.problems == ("slack is absent: there is nothing to lift",)
    assert [(each.verdict, each.margin) for each in case.rules] == [("unknown", None)]


def test_what_fails_says_why_once() -> None:
    case = one("fickle", {"x": -1})
    assert case.outputs == {"half": (None, "mm"), "root": (None, "1")}
    assert case.problems == ("the check failed: ValueError: no root of a negative number",)


def test_what_is_partly_unknown_says_which(monkeypatch: pytest.MonkeyPatch) -> None:
    case = one("fickle", {"x": "2 m"})
    assert case.outputs == {"half": (None, "mm"), "root": (near(2000**0.5), "1")}
    assert case.problems == ("it is too far out",)
    case = one("fickle", {"x": 500})
    assert case.problems == ("root is not finite",)


def test_two_causes_are_told_apart() -> None:
    from tracker.evaluate.slots import Unknown
    from tracker.services.calc import _problems

    slots = {"a": Unknown("one", ""), "b": Unknown("two", ""), "c": Unknown("one", "")}
    assert _problems(Unknown("one", ""), slots) == ("one", "b: two")


def test_the_manifest_needs_no_programme() -> None:
    told = manifest(TOOLS, "parts-list")
    assert (told.key, told.version) == ("parts-list", "2")
    assert [port.key for port in told.inputs] == ["parts", "limit", "side", "at"]
    with pytest.raises(BindingError):
        manifest(TOOLS, "none")


def test_configuration_and_currency_reach_the_check() -> None:
    assert one("lever", {"force": 1, "arm": 1}, config={"note": 5}).problems == ()
    inputs = {"parts": [{"part": "a", "set_cost": 78_000, "set_life": 60_000, "piece_cost": 46,
                         "per_vehicle": 2}], "volume_per_year": 3500, "years": 6}  # fmt: skip
    case = one("tooling-budget", inputs, currency="USD")
    # One set of tools makes 60 000 pieces; 42 000 a side are needed, so one set a side.
    assert case.outputs["tooling_total"] == (near(156_000.0), "USD")
    stated = {**inputs, "parts": [{**inputs["parts"][0], "set_cost": "78000 USD"}]}  # type: ignore[index] # rows
    assert one("tooling-budget", stated, currency="USD").outputs == case.outputs
    with pytest.raises(DimensionError):
        one("tooling-budget", stated, currency="EUR")
    with pytest.raises(DimensionError):
        one("tooling-budget", stated)


@pytest.mark.parametrize(
    ("document", "error", "word"),
    [
        ({}, BadValueError, "either inputs or cases"),
        ({"inputs": {}, "cases": []}, BadValueError, "either inputs or cases"),
        ({"inputs": {}, "colour": 1}, BadValueError, "no field 'colour'"),
        ({"inputs": None}, BadValueError, "a case is an object"),
        ({"inputs": [1]}, BadValueError, "a case is an object"),
        ({"cases": {"force": 1}}, BadValueError, "a case is an object"),
        ({"cases": ""}, BadValueError, "a case is an object"),
        ({"cases": "abc"}, BadValueError, "a case is an object"),
        ({"cases": [5]}, BadValueError, "a case is an object"),
        ({"inputs": {}, "config": [1]}, BadValueError, "config: it is not an object"),
        ({"inputs": {}, "config": {"colour": 1}}, BindingError, "no such field"),
        ({"inputs": {}, "currency": "euro"}, BadValueError, "EUR"),
        ({"inputs": {}, "currency": "\\1"}, BadValueError, "EUR"),
        ({"inputs": {}, "currency": None}, BadValueError, "EUR"),
        ({"inputs": {"colour": 1}}, UnknownKeyError, "Its inputs: force, arm, angle"),
        ({"inputs": {"force": 1}}, BadValueError, "case 1, arm: the input is missing"),
        ({"inputs": {"force": 1, "arm": None}}, BadValueError, "arm"),
        ({"inputs": {"force": "1 kg", "arm": 1}}, DimensionError, "case 1, force"),
        ({"inputs": {"force": "1 wug", "arm": 1}}, BadUnitError, "case 1, force"),
        (
            {"cases": [{"force": 1, "arm": 1}, {"force": 1, "arm": []}]},
            BadValueError,
            "case 2, arm",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_run_is_named(
    document: dict[str, Any], error: type[InputError], word: str
) -> None:
    with pytest.raises(InputError) as caught:
        calculate(TOOLS, "lever", document)
    assert type(caught.value) is error
    assert word in str(caught.value)


def test_a_check_that_is_not_installed_is_named() -> None:
    with pytest.raises(BindingError) as caught:
        calculate(TOOLS, "none", {"inputs": {}})
    assert caught.value.item == "none"
    with pytest.raises(UnknownKeyError):
        calculate(TOOLS, "parts-list", {"inputs": {1: 2}})
