"""status, show, list: what they tell, as text and as JSON."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli
from tracker.services.wording import CAUTION, SIGNS


def test_status_has_the_promised_keys(cli: Cli, program: Path) -> None:
    page = cli("status", "--json").json
    assert page["program"] == str(program)
    assert page["revision"] == 3
    assert len(page["head"]) == 64
    assert page["caution"] == CAUTION
    gap = next(each for each in page["requirements"] if each["key"] == "GAP-1")
    # margin of a one-sided band: distance to the bound as a share of the bound, (12 − 8) / 8
    expected = {"required": "at least 8 mm", "verdict": "met", "value": 12.0, "unit": "mm"}
    assert {name: gap[name] for name in expected} == expected
    assert (gap["lower"], gap["upper"], gap["margin"]) == (8.0, None, pytest.approx(0.5))
    decision = {"key": "D-1", "state": "leaning", "standing": "stands", "shifted": False}
    assert decision.items() <= page["decisions"][0].items()
    assert page["checks"] == [
        {
            "key": "C-1",
            "title": "tooling-budget",
            "check": "tooling-budget",
            "decision": "D-1",
            "state": "current",
            "message": "",
        }
    ]


def test_status_tells_value_band_margin_gate_and_what_is_due(cli: Cli) -> None:
    told = cli("status")
    assert told.code == 0
    line = next(each for each in told.out.splitlines() if "GAP-1" in each)
    for part in (f"{SIGNS['met'][0]} met", "12 mm", "at least 8 mm", "+4 mm (+50 %)", "by G1"):
        assert part in line
    assert "Due at G1" in told.out
    assert "leaning, not settled" in told.out
    assert CAUTION in told.out


def test_status_names_what_is_missed_and_exits_0(cli: Cli) -> None:
    cli("lean", "D-1", "b")
    told = cli("status")
    assert told.code == 0
    assert f"{SIGNS['broken'][0]} broken" in told.out
    assert "GAP-1 is missed" in told.out


def test_a_verdict_always_has_word_and_sign(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WHYBONE_ASCII", "1")
    told = cli("show", "D-1").out
    assert told.isascii()
    assert "o met" in told
    assert "[X] broken" in told  # option b leaves 6 mm where 8 are wanted


def test_show_tells_the_whole_why(cli: Cli) -> None:
    told = cli("show", "D-1").out
    for part in ("Which arm?", "leaning", "Option a (applied)", "gap =", "12 mm", "GAP-1"):
        assert part in told
    assert "Stands on" in told
    assert "C-1" in told.split("Bears")[1]
    assert "because: lean to a for now" in told
    assert CAUTION in told


def test_show_as_json_carries_options_and_history(cli: Cli) -> None:
    page = cli("show", "D-1", "--json").json
    assert [each["key"] for each in page["options"]] == ["a", "b"]
    assert page["options"][1]["standing"] == "broken"
    assert {"label": "state", "text": "leaning"} in page["facts"]
    assert page["history"][-1]["author"] == "Mara"


@pytest.mark.parametrize("kind", ["requirement", "decision", "quantity", "check", "gate"])
def test_list_shows_every_kind(cli: Cli, kind: str) -> None:
    keys = {item["key"] for item in cli("list", kind, "--json").json["items"]}
    text = cli("list", kind).out
    assert keys
    assert all(each in text for each in keys)


def test_every_page_with_a_verdict_carries_the_caution(cli: Cli) -> None:
    for command in (("list", "requirement"), ("list", "decision"), ("show", "G1"), ("show", "gap")):
        told = " ".join(cli(*command).out.split())
        assert "met" in told or "stands" in told
        assert told.endswith(CAUTION)
        assert CAUTION in cli(*command, "--json").out
    assert cli("list", "requirement", "--json").json["caution"] == CAUTION


def test_list_of_nothing_says_so(cli: Cli, tmp_path: Path) -> None:
    empty = str(tmp_path / "empty.db")
    cli("new", empty)
    assert cli("list", "gate", "--program", empty).out == "no gate yet\n"
    assert "none yet" in cli("status", "--program", empty).out


def test_options_go_before_or_after_the_command(cli: Cli, program: Path) -> None:
    first = cli("--program", str(program), "--json", "status").out
    assert first == cli("status", "--json", "--program", str(program)).out


def test_hidden_characters_are_spelt_out(cli: Cli) -> None:
    cli("add", "quantity", "odd", "title=price \u202egnirts [@click=app.bell]", "unit=mm")
    for told in (
        cli("list", "quantity"),
        cli("show", "odd"),
        cli("log"),
        cli("show", "odd", "--json"),
    ):
        assert "\u202e" not in told.out
    assert "<U+202E>gnirts [@click=app.bell]" in cli("show", "odd").out
