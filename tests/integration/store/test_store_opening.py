"""Making and opening stores: nothing is overwritten, nothing foreign is taken for a programme."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.integration.store.conftest import connect, new_database
from tests.integration.store.programmes import EVERYTHING, commit, draft, fill
from tracker.errors import StoreDamagedError, StoreError, StoreUnreachableError
from tracker.store import open as opening
from tracker.store.open import create_store, open_store


def test_a_new_file_is_a_programme(tmp_path: Path) -> None:
    path = tmp_path / "odd name %20?#'; é.db"
    store = create_store(path)
    fill(store)
    assert store.name == str(path)
    store.close()
    assert [each.name for each in tmp_path.iterdir()] == [path.name]
    for location in (path, str(path)):
        with closing(open_store(location)) as again:
            assert [each.id for each in again.load()[1]] == [each.id for each in EVERYTHING]


def test_a_sqlite_url_is_a_path(tmp_path: Path) -> None:
    create_store(f"sqlite:///{tmp_path}/a.db").close()
    with closing(open_store(tmp_path / "a.db")) as store:
        assert store.audit().problems == ()


def test_an_existing_file_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("precious")
    with pytest.raises(StoreUnreachableError, match="already"):
        create_store(path)
    assert path.read_text() == "precious"


def test_a_file_that_cannot_be_made_says_why(tmp_path: Path) -> None:
    with pytest.raises(StoreUnreachableError, match="No such file or directory"):
        create_store(tmp_path / "nowhere" / "a.db")


def test_a_creation_that_fails_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise StoreError("on purpose")

    monkeypatch.setattr(opening, "migrate", fail)
    with pytest.raises(StoreError, match="on purpose"):
        create_store(tmp_path / "a.db")
    assert list(tmp_path.iterdir()) == []


def test_a_postgres_database_takes_one_programme(postgres: str) -> None:
    url = new_database(postgres)
    create_store(url).close()
    with pytest.raises(StoreUnreachableError, match="a programme already"):
        create_store(url)
    other = new_database(postgres)
    with connect(other) as connection:
        connection.execute("CREATE TABLE record (id text)")
    with pytest.raises(StoreUnreachableError, match="already exists"):
        create_store(other)


def test_a_missing_file_is_not_made(tmp_path: Path) -> None:
    for place in (tmp_path / "a.db", tmp_path):
        with pytest.raises(StoreUnreachableError, match="no such file"):
            open_store(place)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "url",
    ["mysql://a:secret@b/c", "sqlite://", "http://x:secret@y", "a://[", "postgresql://h:port/x"],
)
def test_other_urls_are_refused_without_their_password(url: str) -> None:
    with pytest.raises(StoreUnreachableError) as caught:
        open_store(url)
    assert "secret" not in str(caught.value)


def test_a_missing_driver_names_the_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [name for name in sys.modules if name.split(".")[0] == "psycopg"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "psycopg", None)
    with pytest.raises(StoreUnreachableError, match=r"whybone\[postgres\]"):
        open_store("postgresql://owner@localhost/none")


def test_foreign_files_are_not_programmes(tmp_path: Path) -> None:
    text = tmp_path / "text.db"
    text.write_text("not a database, but long enough to be looked at " * 20)
    with pytest.raises(StoreDamagedError, match="not a database"):
        open_store(text)
    empty = tmp_path / "empty.db"
    empty.touch()
    with pytest.raises(StoreError, match="holds no programme"):
        open_store(empty)
    foreign = tmp_path / "foreign.db"
    with closing(sqlite3.connect(foreign)) as connection:
        connection.execute("CREATE TABLE alembic_version (version_num TEXT)")
    with pytest.raises(StoreError, match="holds no programme"):
        open_store(foreign)


def test_a_newer_programme_is_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = 'r9999'")
    with pytest.raises(StoreError, match=r"'r9999'.*newer"):
        open_store(path)


def test_opening_and_reading_changes_no_byte(path: Path) -> None:
    store = open_store(path)
    fill(store)
    store.close()
    before = path.read_bytes()
    store = open_store(path)
    store.load()
    list(store.changes())
    store.audit()
    store.close()
    assert path.read_bytes() == before
    assert not path.with_name(path.name + "-wal").exists()


def test_a_file_out_of_wal_mode_goes_back_to_it_when_written(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA journal_mode = DELETE").fetchone() == ("delete",)
    store = open_store(path)
    commit(store, draft())
    with store._backend.engine.connect() as held:
        assert held.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
        assert held.exec_driver_sql("PRAGMA synchronous").scalar_one() == 2
        assert held.exec_driver_sql("PRAGMA foreign_keys").scalar_one() == 1
    store.close()


def test_opening_loads_nothing_heavy(path: Path) -> None:
    code = (
        "import sys; from tracker.store.open import open_store; "
        f"store = open_store({str(path)!r}); store.load(); list(store.changes()); "
        "print(*({name.split('.')[0] for name in sys.modules}"
        " & {'alembic', 'mako', 'pint', 'textual', 'psycopg', 'networkx'}))"
    )
    root = Path(__file__).parents[3]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, check=True, capture_output=True, text=True
    )
    assert done.stdout.strip() == ""


def test_a_moved_file_still_opens(path: Path, tmp_path: Path) -> None:
    store = open_store(path)
    fill(store)
    store.close()
    link = tmp_path / "link.db"
    link.symlink_to(shutil.copy(path, tmp_path / "moved.db"))
    with closing(open_store(link)) as moved:
        assert moved.audit().problems == ()


def test_closing_twice_is_harmless(new_location: Callable[[], str]) -> None:
    store = open_store(new_location())
    store.close()
    store.close()
