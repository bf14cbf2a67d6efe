"""The demo programme, made once for all tests that only look at it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from demo_program.story import make_demo
from tracker.app import main
from tracker.bootstrap import open_session
from tracker.services.session import Session


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def demo(demo_file: Path) -> Iterator[Session]:
    """For looking only: all tests share the file."""
    session = open_session(demo_file, "tester")
    yield session
    session.store.close()


@pytest.fixture
def own_demo(demo_file: Path, tmp_path: Path) -> Iterator[Session]:
    """For changing: the test has the file to itself."""
    session = open_session(shutil.copy(demo_file, tmp_path / demo_file.name), "tester")
    yield session
    session.store.close()


Cli = Callable[..., Any]


@pytest.fixture
def cli(
    demo_file: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Cli:
    """Run a command on the test's own copy of the demo; what it answers as JSON."""
    place = shutil.copy(demo_file, tmp_path / demo_file.name)
    monkeypatch.setenv("WHYBONE_PROGRAM", str(place))
    monkeypatch.setenv("WHYBONE_AUTHOR", "tester")

    def run(*args: str) -> Any:  # noqa: ANN401 - JSON data
        code = main([*args, "--json"])
        told = json.loads(capsys.readouterr().out)
        assert code in (0, 1), told
        return told

    return run
