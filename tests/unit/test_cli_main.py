"""The frame of the command line: help, version, names of commands."""

from __future__ import annotations

from importlib import import_module

import click
import pytest

from tracker import app
from tracker.cli.commands.history import PAST
from tracker.cli.main import COMMANDS
from tracker.cli.version import VERSION


@pytest.mark.parametrize("args", [[], ["--help"], ["-h"]])
def test_help_lists_every_command(args: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert app.main(args) == 0
    told = capsys.readouterr().out
    for name, (_, text) in COMMANDS.items():
        assert name in told
        assert text.split()[0] in told
    assert "Exit codes" in told


@pytest.mark.parametrize("args", [["--version"], ["--json", "--version"]])
def test_version(args: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert app.main(args) == 0
    assert capsys.readouterr().out == f"whybone {VERSION}\n"


@pytest.mark.parametrize("table", [COMMANDS, PAST], ids=["commands", "past"])
def test_the_table_names_what_is_there(table: dict[str, tuple[str, str]]) -> None:
    for name, (module, _) in table.items():
        command = getattr(import_module(module), f"{name}_command")
        assert isinstance(command, click.Command)
        assert command.name == name
        assert command.help


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_and_takes_the_shared_options(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.main([name, "--help"]) == 0
    told = capsys.readouterr().out
    for option in ("--program", "--author", "--json"):
        assert option in told
    assert all(len(line) <= 80 for line in told.splitlines())


def test_ctrl_c_while_loading_exits_130(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object, **__: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("tracker.cli.main.run", stop)
    assert app.main(["status"]) == 130


def test_the_ui_is_opened_through_its_own_door(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = []
    for door in ("tracker.tui.app.run", "tracker.tui.linear.open.run_linear"):
        monkeypatch.setattr(door, lambda *told, door=door: opened.append((door, *told)))
    for linear in (False, True):
        monkeypatch.setattr(
            "tracker.cli.main.run",
            lambda _, open_ui, linear=linear: open_ui("x.db", "Mara", linear) or 0,
        )
        assert app.main(["open"]) == 0
    assert opened == [
        ("tracker.tui.app.run", "x.db", "Mara"),
        ("tracker.tui.linear.open.run_linear", "x.db", "Mara"),
    ]
