"""Scratch stores: SQLite files, and databases of a PostgreSQL server started for the session."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from tracker.store.open import create_store, open_store
from tracker.store.sql_store import SqlStore

_NUMBERS = count(1)


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """Base URL of a server of our own, which listens on a socket in a scratch folder only."""
    pytest.importorskip("psycopg", reason="the PostgreSQL driver is not installed")
    programs = _programs()
    if programs is None:
        pytest.skip("no PostgreSQL server programs (initdb, postgres) on this machine")
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    # The server refuses to run as root; its package brings a user for it.
    other: dict[str, Any] = {"user": "postgres", "group": "postgres"} if os.getuid() == 0 else {}
    if other:
        shutil.chown(folder, "postgres", "postgres")
    quiet: dict[str, Any] = {"cwd": "/", "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    options = ["-U", "owner", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"]
    subprocess.run(
        [programs / "initdb", "-D", folder / "data", *options], check=True, **other, **quiet
    )
    server = subprocess.Popen(
        [programs / "postgres", "-D", folder / "data", "-k", folder, "-c", "listen_addresses="],
        **other,
        **quiet,
    )
    try:
        url = f"postgresql://owner@/{{name}}?host={folder}"
        _wait_for(url.format(name="postgres"))
        yield url
    finally:
        server.send_signal(signal.SIGQUIT)  # nothing to keep: no checkpoint
        server.wait(30)
        shutil.rmtree(folder)


def _programs() -> Path | None:
    found = shutil.which("initdb")
    places = [Path(found).resolve().parent] if found else []
    places += sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    return next((each for each in places if (each / "postgres").exists()), None)


def connect(url: str) -> Any:  # noqa: ANN401 - the driver may be missing
    """Connect to a database without the program under test."""
    import psycopg

    return psycopg.connect(url, autocommit=True)


def _wait_for(url: str) -> None:
    import psycopg

    for _ in range(200):
        try:
            connect(url).close()
        except psycopg.OperationalError:
            time.sleep(0.05)
        else:
            return
    pytest.fail("the PostgreSQL server did not start")


def new_database(postgres: str, template: str = "template1") -> str:
    """Make a database on the server and return its URL."""
    name = f"scratch{next(_NUMBERS)}"
    with connect(postgres.format(name="postgres")) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    return postgres.format(name=name)


@pytest.fixture(scope="session")
def new_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Callable[[], str]:
    """Make files that hold an empty programme: copies of one, which is much faster."""
    folder = tmp_path_factory.mktemp("stores")
    template = folder / "template.db"
    create_store(template).close()

    def make() -> str:
        path = folder / f"scratch{next(_NUMBERS)}.db"
        shutil.copyfile(template, path)
        return str(path)

    return make


@pytest.fixture(scope="session")
def new_postgres(postgres: str) -> Callable[[], str]:
    """Make databases that hold an empty programme."""
    url = new_database(postgres)
    create_store(url).close()
    template = url.partition("@/")[2].partition("?")[0]
    return lambda: new_database(postgres, template)


@pytest.fixture(params=["sqlite", "postgres"])
def new_location(request: pytest.FixtureRequest) -> Callable[[], str]:
    """Make locations that hold an empty programme, in either database."""
    make: Callable[[], str] = request.getfixturevalue(f"new_{request.param}")
    return make


@pytest.fixture
def location(new_location: Callable[[], str]) -> str:
    """Where an empty programme is, in either database."""
    return new_location()


@pytest.fixture
def store(location: str) -> Iterator[SqlStore]:
    """An empty store in either database."""
    store = open_store(location, patience=0.2)
    yield store
    store.close()


@pytest.fixture
def path(new_sqlite: Callable[[], str]) -> Path:
    """A file that holds an empty programme."""
    return Path(new_sqlite())
