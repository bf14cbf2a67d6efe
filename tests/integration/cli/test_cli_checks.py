"""checks, calc: the installed checks, without a programme."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.integration.cli.conftest import Cli
from tracker.errors import BindingError
from tracker.services.wording import CAUTION

BUDGET = {
    "parts": [
        {
            "part": "knuckle",
            "process": "casting",
            "set_cost": 78000,
            "set_life": 60000,
            "piece_cost": 46,
            "per_vehicle": 2,
            "fits_both_sides": True,
        }
    ],
    "volume_per_year": 3500,
    "years": "6 year",
}
SENSE: dict[str, Any] = {
    "input_shaft_direction": [1, 0, 0],
    "rack_from_pinion": [0, 0, -1],
    "gear_pinion_side": "left",
    "driver_side": "left",
    "tie_rod_inner": [-165, 400, 257],
    "tie_rod_outer": [-140, 665, 250],
    "axis_upper": [-14, 672, 495],
    "axis_lower": [8, 728, 205],
}


def test_checks_are_listed_with_version_and_title(cli: Cli) -> None:
    known = {each["key"]: each for each in cli("checks", "--json").json["checks"]}
    assert {"steering-sense", "tooling-budget"} <= set(known)
    assert known["tooling-budget"]["title"] in cli("checks").out
    assert not known["tooling-budget"]["problem"]


def test_a_check_is_described(cli: Cli) -> None:
    page = cli("checks", "tooling-budget", "--json").json
    ports = {each["key"]: each for each in page["inputs"]}
    assert ports["years"]["unit"] == "year"
    assert page["sources"]
    assert page["cautions"]
    text = cli("checks", "tooling-budget").out
    for heading in ("Inputs", "Outputs", "Sources", "Cautions"):
        assert heading in text
    assert all(key in text for key in ports)


def test_calc_has_the_promised_keys(cli: Cli, tmp_path: Path) -> None:
    file = tmp_path / "in.json"
    file.write_text(json.dumps({"inputs": BUDGET, "currency": "EUR"}), encoding="utf-8")
    result = cli("calc", "tooling-budget", str(file), "--json").json
    assert result["check"] == "tooling-budget"
    assert isinstance(result["version"], str)
    assert result["cautions"][0] == CAUTION
    case = result["cases"][0]
    # 3500 × 6 × 2 = 42,000 pieces from sets that last 60,000: one set
    assert case["outputs"]["tooling_total"] == {"value": 78000.0, "unit": "EUR"}
    assert case["rules"] == []
    text = cli("calc", "tooling-budget", str(file)).out
    assert "78000" in text
    assert CAUTION in text


def test_calc_takes_cases_from_standard_input(cli: Cli) -> None:
    cases = [BUDGET, {**BUDGET, "volume_per_year": 30000}]
    told = cli("calc", "tooling-budget", "-", "--json", stdin=json.dumps({"cases": cases}).encode())
    totals = [each["outputs"]["tooling_total"]["value"] for each in told.json["cases"]]
    assert totals == [78000.0, 468000.0]


@pytest.mark.parametrize(("up", "verdict", "code"), [(-1, "met", 0), (1, "missed", 1)])
def test_calc_exits_1_when_a_rule_is_missed(cli: Cli, up: int, verdict: str, code: int) -> None:
    # A left turn turns the wheel anticlockwise as the driver, who looks along +x, sees it: ω = −x.
    # Teeth under the pinion then move with ω × r = (−1, 0, 0) × (0, 0, −1) = (0, −1, 0), to the
    # right; an arm behind the axis that is pulled to the right steers left (ISO 8855 axes). Over
    # the pinion everything turns round.
    document = {"inputs": {**SENSE, "rack_from_pinion": [0, 0, up]}}
    told = cli("calc", "steering-sense", "-", "--json", stdin=json.dumps(document).encode())
    rule = next(r for r in told.json["cases"][0]["rules"] if r["output"] == "sense")
    assert set(rule) >= {"output", "verdict", "reason"}
    assert (rule["verdict"], told.code) == (verdict, code)
    assert told.json["cases"][0]["outputs"]["rack_direction"]["value"] == up


@pytest.mark.parametrize(
    ("document", "said"),
    [
        ('{"inputs": {"parts": [], "volume_per_year": 1, "years": "6 kg"}}', "kg"),
        ('{"inputs": {"volumes": 1}}', "volumes"),
        ('{"inputs": {}, "cases": []}', "inputs or cases"),
        ("[1]", "not an object"),
        ("{", "line 1"),
        ('{"inputs": {"years": NaN}}', "NaN"),
        ('{"inputs": {}, "inputs": {}}', "twice"),
        ("[" * 100_000, "nested"),
        ('{"inputs": {"years": ' + "9" * 5000 + "}}", "digits"),
    ],
)
def test_calc_refuses_bad_documents(cli: Cli, document: str, said: str) -> None:
    told = cli("calc", "tooling-budget", "-", "--json", stdin=document.encode())
    assert told.code == 2
    assert said in told.err
    assert told.json["error"]["code"]


def test_an_unknown_check_names_the_installed_ones(cli: Cli) -> None:
    for told in (cli("checks", "nope"), cli("calc", "nope", "-", stdin=b"{}")):
        assert told.code == 2
    assert "tooling-budget" in cli("checks", "nope").err


def test_a_file_that_is_not_there(cli: Cli, tmp_path: Path) -> None:
    told = cli("calc", "tooling-budget", str(tmp_path / "no.json"))
    assert told.code == 2
    assert "no.json" in told.err


def test_a_check_that_cannot_be_loaded_is_listed_with_its_reason(
    cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object, key: str) -> None:
        raise BindingError("the check failed while it was imported", item=key)

    monkeypatch.setattr("tracker.cli.commands.checking.manifest", fail)
    listed = cli("checks", "--json").json["checks"]
    assert all("while it was imported" in each["problem"] for each in listed)
    assert "while it was imported" in cli("checks").out


def test_calc_tells_why_something_is_unknown(cli: Cli) -> None:
    # teeth on the pinion's own axis do not move when it turns: no sense can be told
    document = {"inputs": {**SENSE, "rack_from_pinion": [0, 0, 0]}}
    stdin = json.dumps(document).encode()
    case = cli("calc", "steering-sense", "-", "--json", stdin=stdin).json["cases"][0]
    assert case["problems"]
    assert {"sense": "unknown"}.items() <= {
        e["output"]: e["verdict"] for e in case["rules"]
    }.items()
    text = cli("calc", "steering-sense", "-", stdin=stdin).out
    assert "unknown" in text
    assert case["problems"][0] in text


def test_calc_writes_every_kind_of_value(cli: Cli) -> None:
    document = {"cases": [{**SENSE, "rack_from_pinion": [0, 0, up]} for up in (-1, 1)]}
    text = cli("calc", "steering-sense", "-", stdin=json.dumps(document).encode()).out
    assert "Case 2" in text
    for row in ("sense -1", "pinion_on_driver_side yes", "pinion_side left"):
        assert row in " ".join(text.split())


def test_rules_and_columns_are_described(cli: Cli) -> None:
    text = " ".join(cli("checks", "steering-sense").out.split())
    assert "ISO 8855" in text.split("Rules")[1]
    assert "set_cost: real money" in " ".join(cli("checks", "tooling-budget").out.split())
