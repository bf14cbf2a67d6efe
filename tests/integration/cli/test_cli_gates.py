"""gate list, show, freeze, pack, compare: what they print, and their exit codes."""

from __future__ import annotations

from pathlib import Path

from tests.integration.cli.conftest import Cli


def test_a_gate_that_is_not_ready_says_why_and_exits_1(cli: Cli, program: Path) -> None:
    told = cli("gate", "list")
    assert told.code == 1
    assert "not ready" in told.out
    assert "G1 is next; blocked by" in told.out
    shown = cli("gate", "show", "G1")
    assert shown.code == 1
    assert "not met" in shown.out
    assert "requirements-met" in shown.out
    assert "no substitute" in shown.out
    assert program.exists()


def test_freezing_it_needs_a_reason(cli: Cli, program: Path) -> None:
    refused = cli("gate", "freeze", "G1", "--json")
    assert (refused.code, refused.json["error"]["code"]) == (1, "not-ready")
    assert "--why" in refused.json["error"]["remedy"]
    told = cli("gate", "freeze", "G1", "--why", "The board accepts it")
    assert told.code == 0
    assert "G1 frozen as G1-1, not ready" in told.out
    assert "not met" in told.out
    shown = cli("gate", "show", "G1")
    assert "Baselines" in shown.out
    assert "The board accepts it" in shown.out
    assert "frozen as G1-1" in cli("gate", "list").out
    assert program.exists()


def test_packing_writes_files_and_names_them(cli: Cli, program: Path, tmp_path: Path) -> None:
    missing = cli("gate", "pack", "G1", "--json")
    assert (missing.code, missing.json["error"]["code"]) == (2, "unknown-key")
    cli("gate", "freeze", "G1", "--why", "The board accepts it")
    out = tmp_path / "packs"
    told = cli("gate", "pack", "G1", "--out", str(out), "--format", "json", "--format", "md")
    assert told.code == 0
    assert sorted(each.name for each in out.iterdir()) == ["G1-1.json", "G1-1.md"]
    assert "G1-1.md" in told.out
    assert program.exists()


def test_a_gate_that_is_ready_prints_as_such(cli: Cli, program: Path) -> None:
    aside = '{"bases":"guess","no-guesses":"no"'
    names = (
        *("requirements-met", "decisions-settled", "decisions-standing", "decisions-unshifted"),
        *("nothing-unproven", "reasons-given", "actions-closed", "risks-answered"),
        "evidence-intact",
    )
    aside += "".join(f',"{name}":"no"' for name in names) + "}"
    assert cli("amend", "G1", f"criteria={aside}", "--why", "a dry run").code == 0
    told = cli("gate", "list")
    assert told.code == 0
    assert "G1 is next; nothing blocks it." in told.out
    shown = cli("gate", "show", "G1")
    assert shown.code == 0
    assert "set aside" in shown.out
    assert "(guess)" in shown.out
    frozen = cli("gate", "freeze", "G1")
    assert (frozen.code, "not met" in frozen.out) == (0, False)
    assert cli("gate", "list").code == 0


def test_a_programme_without_gates(cli: Cli, tmp_path: Path) -> None:
    place = str(tmp_path / "empty.db")
    assert cli("new", place, "--title", "Empty", "--currency", "EUR").code == 0
    told = cli("gate", "list", "--program", place)
    assert told.code == 0
    assert "None yet." in told.out


def test_a_group_without_a_command_shows_its_commands(cli: Cli) -> None:
    told = cli("gate", "--help")
    assert told.code == 0
    assert all(each in told.out for each in ("list", "show", "freeze", "pack", "compare"))


def test_comparing_says_reasons(cli: Cli, program: Path) -> None:
    cli("gate", "freeze", "G1", "--why", "first")
    cli("set", "volume=5000", "--why", "Sold better")
    cli("gate", "freeze", "G1", "--why", "second")
    told = cli("gate", "compare", "G1-1", "G1-2")
    assert told.code == 0
    assert "Items, worst first" in told.out
    assert "Sold better" in told.out
    assert cli("compare", "G9", "1", "--json").json["error"]["code"] == "unknown-revision"
    assert program.exists()


def test_criteria_there_are_none_of_are_refused(cli: Cli, program: Path) -> None:
    refused = cli("amend", "G1", 'criteria={"tidy":"yes"}', "--why", "x", "--json")
    assert (refused.code, refused.json["error"]["code"]) == (2, "bad-value")
    assert "requirements-met" in refused.json["error"]["remedy"]
    refused = cli("amend", "G1", 'criteria={"bases":"sure"}', "--why", "x", "--json")
    assert "measured" in refused.json["error"]["remedy"]
    assert program.exists()
