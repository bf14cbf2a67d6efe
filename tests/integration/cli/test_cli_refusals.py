"""Bad input: a clear error that names item, field and remedy, exit 2, and nothing stored."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli

SENSE_INPUTS = {
    "input_shaft_direction": {"value": [1, 0, 0]},
    "rack_from_pinion": {"value": [0, 0, -1]},
    "driver_side": {"value": "left"},
    "tie_rod_inner": {"value": [-165, 400, 257]},
    "tie_rod_outer": {"value": [-140, 665, 250]},
    "axis_upper": {"value": [-14, 672, 495]},
    "axis_lower": "joint",
}


def _sense(source: str, target: str) -> tuple[str, ...]:
    inputs = json.dumps({**SENSE_INPUTS, "gear_pinion_side": source})
    return (
        "check=steering-sense",
        "decision=D-1",
        f"inputs={inputs}",
        f'outputs={{"pinion_side": "{target}"}}',
    )


BAD: list[tuple[str, tuple[str, ...], str, tuple[str, ...]]] = [
    ("unknown key", ("set", "nope=1", "--why", "x"), "unknown-key", ("nope", "whybone list")),
    ("unknown key shown", ("show", "nope"), "unknown-key", ("nope", "whybone list")),
    (
        "wrong dimension",
        ("set", "width=5 kg", "--why", "x"),
        "wrong-dimension",
        ("width", "value", "kg", "mm"),
    ),
    ("bad unit", ("set", "width=5 bananas", "--why", "x"), "bad-unit", ("bananas",)),
    ("bad number", ("set", "width=abc", "--why", "x"), "bad-value", ("width", "value", "12.5 mm")),
    (
        "decimal comma",
        ("set", "width=1,5", "--why", "x"),
        "bad-value",
        ("width", "value", "decimal point"),
    ),
    ("not finite", ("set", "width=1e999", "--why", "x"), "bad-value", ("width", "value")),
    ("second source", ("set", "tooling=5", "--why", "x"), "second-source", ("tooling", "C-1")),
    ("owned", ("set", "gap=5", "--why", "x"), "second-source", ("gap", "D-1/OPTION.gap")),
    (
        "second source by a decision",
        (
            "add",
            "decision",
            "D-2",
            "question=Which?",
            'options=[{"key": "a", "title": "A", "settings": {"gap": "3"}}]',
        ),
        "second-source",
        ("gap", "D-1", "D-2"),
    ),
    ("no reason", ("set", "width=5"), "decision-rule", ("why", "--why")),
    ("not a pair", ("set", "width", "--why", "x"), "bad-value", ("width", "KEY=VALUE")),
    ("twice", ("set", "width=1", "width=2", "--why", "x"), "bad-value", ("width", "once")),
    ("bad basis", ("set", "width=1", "--why", "x", "--basis", "hunch"), "bad-value", ("--basis",)),
    ("no rationale", ("settle", "D-1", "a", "--against", "b=no"), "decision-rule", ("--why",)),
    (
        "no reason against",
        ("settle", "D-1", "a", "--why", "clear"),
        "decision-rule",
        ("D-1", "against", "b", "--against"),
    ),
    (
        "reason against a stranger",
        ("settle", "D-1", "a", "--why", "clear", "--against", "z=no"),
        "unknown-key",
        ("D-1", "z", "Options: a, b"),
    ),
    ("unknown option", ("lean", "D-1", "z"), "unknown-key", ("D-1", "z", "Options: a, b")),
    ("not a decision", ("lean", "width", "a"), "unknown-key", ("width", "quantity")),
    (
        "key taken",
        ("add", "gate", "width", "title=W", "date=2032-01-01"),
        "duplicate-key",
        ("width", "key"),
    ),
    (
        "markup in a key",
        ("add", "gate", "[red]x[/red]", "title=W", "date=2032-01-01"),
        "bad-key",
        ("[red]x[/red]", "key", "letters, digits"),
    ),
    ("markup looked up", ("show", "[@click=app.bell]"), "unknown-key", ("[@click=app.bell]",)),
    (
        "escape characters",
        ("add", "gate", "G3", "title=a\x1b[2Jb", "date=2032-01-01"),
        "bad-text",
        ("G3", "title", "U+001B"),
    ),
    ("escape in a reason", ("set", "width=5", "--why", "a\x1bb"), "bad-text", ("why", "U+001B")),
    ("escape in a value", ("set", "width=5\x1b[31m", "--why", "x"), "bad-unit", ("x1b",)),
    ("no such kind", ("add", "thing", "T", "title=x"), "bad-value", ("thing", "kind", "gate")),
    ("no such list", ("list", "things"), "bad-value", ("things", "kind", "requirement")),
    ("no such field", ("add", "gate", "G3", "colour=red"), "bad-value", ("G3", "colour", "date")),
    ("bad JSON", ("add", "decision", "D-2", 'options=[{"key"]'), "bad-file", ("options", "column")),
    ("bad date", ("add", "gate", "G3", "title=W", "date=soon"), "bad-value", ("G3", "date", "DD")),
    ("nothing changes", ("set", "GAP-1.lower=8 mm", "--why", "x"), "input", ("already is",)),
    ("fixed field", ("amend", "width", "unit=kg", "--why", "x"), "bad-value", ("width", "unit")),
    ("no such command", ("nope",), "usage", ("nope", "--help")),
    ("no such option", ("status", "--colour"), "usage", ("--colour", "--help")),
    ("missing argument", ("show",), "usage", ("KEY", "--help")),
]


@pytest.mark.parametrize(
    ("args", "code", "said"), [each[1:] for each in BAD], ids=[b[0] for b in BAD]
)
def test_bad_input_is_refused(
    cli: Cli, head: Callable[[], str], args: tuple[str, ...], code: str, said: tuple[str, ...]
) -> None:
    before = head()
    told = cli(*args)
    assert told.code == 2
    assert told.out == ""
    assert told.err.startswith("whybone: ")
    assert "Traceback" not in told.err
    assert "\x1b" not in told.err
    for part in said:
        assert part in told.err
    document = cli(*args, "--json").json
    assert set(document) == {"error"}
    assert document["error"]["code"] == code
    assert document["error"]["remedy"]
    assert head() == before


def test_a_cycle_is_refused_with_its_path(cli: Cli, head: Callable[[], str]) -> None:
    for key in ("side_p", "side_q"):
        assert not cli("add", "quantity", key, "title=S", "type=choice", "choices=left,right").code
    assert cli("add", "check", "S-1", *_sense("side_p", "side_q")).code == 0
    before = head()
    told = cli("add", "check", "S-2", *_sense("side_q", "side_p"), "--json")
    assert told.code == 2
    assert told.json["error"]["code"] == "cycle"
    assert "S-1 → S-2 → S-1" in told.err
    assert head() == before


def test_options_of_a_settled_decision_are_locked(cli: Cli, head: Callable[[], str]) -> None:
    cli("settle", "D-1", "a", "--why", "clear", "--against", "b=too near")
    before = head()
    options = json.dumps([{"key": key, "title": key, "settings": {"gap": 3}} for key in ("a", "b")])
    for args in (
        ("set", "D-1/a.gap=11 mm", "--why", "x"),
        ("lean", "D-1", "b"),
        ("amend", "D-1", f"options={options}", "--why", "x"),
    ):
        told = cli(*args)
        assert told.code == 2
        assert "Reopen D-1 first" in told.err
    assert head() == before


def test_several_problems_are_told_at_once(cli: Cli, tmp_path: Path) -> None:
    file = tmp_path / "items.json"
    gates = [{"kind": "gate", "key": key, "title": "G", "date": "2032-01-01"} for key in "[]"]
    file.write_text(json.dumps(gates), encoding="utf-8")
    told = cli("import", str(file), "--json")
    error = told.json["error"]
    assert error["code"] == "many-problems"
    assert [each["code"] for each in error["problems"]] == ["bad-key", "bad-key"]
    assert "item 2" in told.err


def test_no_programme_named(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("WHYBONE_PROGRAM")
    told = cli("status")
    assert told.code == 2
    assert "WHYBONE_PROGRAM" in told.err


@pytest.mark.parametrize("command", [("status",), ("set", "a=1", "--why", "x"), ("audit",)])
def test_a_programme_that_is_not_there_exits_4(
    cli: Cli, tmp_path: Path, command: tuple[str, ...]
) -> None:
    told = cli(*command, "--program", str(tmp_path / "no.db"), "--json")
    assert told.code == 4
    assert told.json["error"]["code"] == "store-unreachable"
    assert "no.db" in told.err


def test_a_file_that_is_no_programme_exits_4(cli: Cli, tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    other.write_text("not a database\n" * 100, encoding="utf-8")
    told = cli("status", "--program", str(other))
    assert told.code == 4
    assert "Traceback" not in told.err


def test_a_bug_is_told_in_one_line(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("a\x1b[2Jb")

    monkeypatch.setattr("tracker.cli.commands.looking.overview", fail)
    told = cli("status", "--json")
    assert told.code == 70
    assert told.json["error"]["code"] == "bug"
    assert "WHYBONE_TRACEBACK" in told.err
    assert "\x1b" not in told.err
    monkeypatch.setenv("WHYBONE_TRACEBACK", "1")
    with pytest.raises(RuntimeError):
        cli("status")
