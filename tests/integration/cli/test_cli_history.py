"""log, at, compare, audit."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli
from tracker.services.wording import CAUTION


@pytest.fixture
def moved(cli: Cli) -> Cli:
    """The small programme with a change on top: revision 4 breaks D-1."""
    cli("set", "volume=30000", "--why", "a new customer")
    return cli


def test_log_is_newest_first_and_can_be_cut(moved: Cli) -> None:
    journal = moved("log", "--json").json
    assert [each["revision"] for each in journal["changes"]] == [4, 3, 2, 1]
    assert journal["head"] == journal["changes"][0]["hash"]
    assert journal["changes"][0]["reason"] == "a new customer"
    cut = moved("log", "--limit", "1", "--before", "4", "--json").json
    assert [each["revision"] for each in cut["changes"]] == [3]
    text = moved("log").out
    assert "volume: 3500 vehicle/year → 30000 vehicle/year" in text
    assert journal["head"][:12] in text


@pytest.mark.parametrize(
    "command", [("status",), ("show", "tooling"), ("list", "requirement"), ("log",)]
)
def test_at_shows_an_earlier_revision(moved: Cli, command: tuple[str, ...]) -> None:
    told = moved("at", "3", *command, "--json")
    assert told.code == 0, told.err
    assert told.json["revision"] == 3


def test_at_gives_the_values_of_then(moved: Cli) -> None:
    assert moved("show", "tooling", "--json").json["value"] == 468000.0
    assert moved("at", "3", "show", "tooling", "--json").json["value"] == 78000.0


def test_at_exports_the_history_of_then(moved: Cli, tmp_path: Path) -> None:
    assert moved("at", "3", "export", str(tmp_path / "then.md")).code == 0
    assert "30000" not in (tmp_path / "then.md").read_text(encoding="utf-8")


def test_at_can_change_nothing(moved: Cli) -> None:
    told = moved("at", "3", "set", "width=1", "--why", "no")
    assert told.code == 2
    assert "No such command" in told.err


def test_compare_speaks_in_engineering_words(moved: Cli) -> None:
    told = moved("compare", "3", "4")
    for part in ("broken", "D-1", "was stands", "COST-1", "was met at 78 000 EUR"):
        assert part in told.out
    assert CAUTION in told.out
    found = moved("compare", "3", "4", "--json").json
    assert found["standings"][0]["after"] == "broken"
    assert found["findings"][0]["after"]["value"] == 468000.0
    assert moved("compare", "4", "4").out.startswith("Revision 4 → revision 4\nNothing differs.")


def test_compare_names_a_finding_that_is_gone(cli: Cli) -> None:
    cli("add", "requirement", "W-1", "statement=Wide", "quantity=width", "lower=90 mm")
    cli("undo")
    text = " ".join(cli("compare", "4", "5").out.split())
    assert "gone W-1 was met at 100 mm" in text
    found = cli("compare", "4", "5", "--json").json["findings"]
    assert (found[0]["requirement"], found[0]["after"]) == ("W-1", None)


@pytest.mark.parametrize("revision", ["99", "-1", "one", "9" * 40, "١"])
def test_a_revision_that_is_not_there(cli: Cli, revision: str) -> None:
    for command in (("at", revision, "status"), ("compare", "1", revision), ("undo", revision)):
        told = cli("--json", command[0], "--", *command[1:])
        assert told.code == 2
        assert told.json["error"]["remedy"]


def test_audit_proves_the_store(moved: Cli) -> None:
    head = moved("status", "--json").json["head"]
    assert moved("audit", "--json").json == {
        "ok": True,
        "revisions": 4,
        "head": head,
        "problems": [],
    }
    assert moved("audit", "--expect", head).code == 0


def test_audit_of_another_head_exits_4(moved: Cli) -> None:
    told = moved("audit", "--expect", "ab" * 32, "--json")
    assert (told.code, told.json["ok"]) == (4, False)
    assert "ab" * 32 in moved("audit", "--expect", "ab" * 32).out


def test_audit_takes_no_head_cut_short(moved: Cli) -> None:
    head = moved("status", "--json").json["head"]
    for short in ("", head[:12]):
        told = moved("audit", "--expect", short, "--json")
        assert (told.code, told.json["error"]["field"]) == (2, "--expect")


def test_audit_finds_a_changed_table(moved: Cli, program: Path) -> None:
    connection = sqlite3.connect(program)
    with connection:
        connection.execute("UPDATE quantity SET title = 'another title' WHERE key = 'width'")
    connection.close()
    told = moved("audit")
    assert told.code == 4
    assert "width" in told.out
