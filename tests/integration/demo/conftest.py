"""The demo programme, made once for all tests that only look at it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_program.story import make_demo
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
