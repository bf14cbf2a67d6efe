"""demo, new, open."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest

from demo_program.story import FILE_NAME
from tests.integration.cli.conftest import Cli
from tracker.cli.main import run
from tracker.services.wording import CAUTION


def test_new_makes_an_empty_programme(cli: Cli, tmp_path: Path) -> None:
    place = tmp_path / "axle.db"
    told = cli("new", str(place), "--title", "Front axle", "--currency", "USD", "--json")
    assert told.code == 0
    assert told.json["revision"] == 1
    page = cli("status", "--program", str(place), "--json").json
    assert (page["title"], page["currency"]) == ("Front axle", "USD")


def test_new_is_called_after_its_file(cli: Cli, tmp_path: Path) -> None:
    assert "axle, money in EUR" in cli("new", str(tmp_path / "axle.db")).out


def test_new_never_overwrites(cli: Cli, program: Path) -> None:
    before = program.read_bytes()
    told = cli("new", str(program))
    assert told.code == 4
    assert str(program) in told.err
    assert program.read_bytes() == before


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--currency", "Euro"), "ISO 4217"),
        (("--title", "a\x1b[2Jb"), "control character"),
    ],
)
def test_new_leaves_nothing_behind_when_refused(
    cli: Cli, tmp_path: Path, args: tuple[str, ...], said: str
) -> None:
    told = cli("new", str(tmp_path / "axle.db"), *args)
    assert told.code == 2
    assert said in told.err
    assert "\x1b" not in told.err
    assert not list(tmp_path.glob("axle.db*"))


@pytest.fixture(scope="module")
def demo_dir(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("demo")


def test_demo_makes_prints_and_suggests(cli: Cli, demo_dir: Path) -> None:
    told = cli("demo", str(demo_dir), "--no-ui")
    assert told.code == 0, told.err
    assert (demo_dir / FILE_NAME).exists()
    assert CAUTION in told.out
    suggested = told.out.split("Try next")[1].strip().splitlines()
    assert len(suggested) == 3
    assert all("--program" in each and FILE_NAME in each for each in suggested)
    assert cli(*suggested[0].split()[1:]).code == 0


def test_demo_opens_the_one_that_is_there(cli: Cli, demo_dir: Path) -> None:
    cli("demo", str(demo_dir), "--no-ui")
    before = cli("status", "--program", str(demo_dir / FILE_NAME), "--json").json["head"]
    again = cli("demo", str(demo_dir), "--json")
    assert (again.code, again.json["head"]) == (0, before)


def test_open_needs_a_terminal(cli: Cli) -> None:
    told = cli("open")
    assert told.code == 2
    assert "whybone status" in told.err


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_on_a_terminal_open_and_demo_open_the_ui(
    program: Path, demo_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = []
    for name in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{name}", _Terminal())
    for args in (
        ["open", "--program", str(program), "--author", "Ilse"],
        ["demo", str(demo_dir)],
    ):
        assert run(args, open_ui=lambda *told: opened.append(told)) == 0
    assert opened == [(str(program), "Ilse", False), (os.fspath(demo_dir / FILE_NAME), "", False)]


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, ["--linear"]),
        ({"WHYBONE_LINEAR": "1"}, []),
        ({"TERM": "dumb", "WHYBONE_LINEAR": "0"}, ["--linear"]),
    ],
)
def test_line_by_line_needs_no_terminal(
    program: Path, monkeypatch: pytest.MonkeyPatch, told: dict[str, str], said: list[str]
) -> None:
    for name, text in told.items():
        monkeypatch.setenv(name, text)
    opened = []
    args = ["open", *said, "--program", str(program), "--author", "Ilse"]
    assert run(args, open_ui=lambda *told: opened.append(told)) == 0
    assert opened == [(str(program), "Ilse", True)]


def test_a_terminal_that_can_do_nothing_else_is_talked_to_line_by_line(
    program: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = []
    for name in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{name}", _Terminal())
    monkeypatch.setenv("TERM", "dumb")
    args = ["open", "--program", str(program), "--author", "Ilse"]
    assert run(args, open_ui=lambda *told: opened.append(told)) == 0
    assert opened == [(str(program), "Ilse", True)]
