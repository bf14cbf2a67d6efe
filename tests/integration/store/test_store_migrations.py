"""The migrations make exactly the declared tables, and keep the journal guarded."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import make_url, text
from sqlalchemy.exc import DBAPIError

from tests.integration.store.conftest import new_database
from tests.integration.store.programmes import (
    CONTENT,
    EVERYTHING,
    FROZEN,
    add,
    commit,
    draft,
    fill,
)
from tracker.errors import StoreUnreachableError
from tracker.store import open as opening
from tracker.store.backend import Backend, PostgresBackend, SqliteBackend
from tracker.store.guards import missing_guards
from tracker.store.open import open_store
from tracker.store.schema import MIGRATIONS, SCHEMA, migrate, version_of
from tracker.store.sql_store import SqlStore
from tracker.store.tables import METADATA


@pytest.fixture(params=["sqlite", "postgres"])
def bare(request: pytest.FixtureRequest, tmp_path: Path) -> Backend:
    """A database without any table."""
    if request.param == "sqlite":
        (tmp_path / "bare.db").touch()
        return SqliteBackend(tmp_path / "bare.db", 1.0)
    url = new_database(request.getfixturevalue("postgres"))
    return PostgresBackend(make_url(url).set(drivername="postgresql+psycopg"), 1.0)


def _revisions() -> list[str]:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    steps = ScriptDirectory.from_config(config).walk_revisions()
    return [step.revision for step in reversed(list(steps))]


def test_the_program_expects_the_last_migration() -> None:
    assert _revisions()[-1] == SCHEMA


def test_the_journal_is_guarded_after_every_migration(bare: Backend) -> None:
    for revision in _revisions():
        with bare.engine.connect() as connection:
            bare.lock_schema(connection)
            migrate(connection, to=revision)
            connection.commit()
            assert version_of(connection) == revision
            later = [] if revision != "r0001" else ["baseline_content"]
            assert {each.rpartition("_no_")[0] for each in missing_guards(connection)} == {*later}
    bare.engine.dispose()


def test_the_migrations_make_the_declared_tables(store: SqlStore) -> None:
    with store._backend.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        assert compare_metadata(context, METADATA) == []


def test_the_comparison_would_notice_a_difference(store: SqlStore) -> None:
    with store._backend.engine.begin() as connection:
        connection.execute(text("ALTER TABLE gate ADD COLUMN extra TEXT"))
    with store._backend.engine.connect() as connection:
        differences = compare_metadata(MigrationContext.configure(connection), METADATA)
    assert [each[0] for each in differences] == ["remove_column"]


STATEMENTS = [
    "UPDATE journal_change SET reason = 'better'",
    "UPDATE journal_entry SET record_id = 'x' WHERE position = 1",
    "DELETE FROM journal_entry",
    "DELETE FROM journal_change WHERE revision = 3",
    "UPDATE journal_change SET reason = reason WHERE revision = 99",
]
REPLACING = [
    "INSERT OR REPLACE INTO journal_change SELECT * FROM journal_change WHERE revision = 1",
    "REPLACE INTO journal_entry SELECT * FROM journal_entry WHERE revision = 1 AND position = 1",
]
TRUNCATING = ["TRUNCATE journal_entry", "TRUNCATE journal_change CASCADE"]


def _refused(store: SqlStore, statement: str) -> bool:
    with store._backend.engine.connect() as connection:
        try:
            touched = connection.execute(text(statement)).rowcount
        except DBAPIError as error:
            return "append-only" in str(error)
        return touched == 0


def test_the_guards_refuse_to_rewrite_the_journal(store: SqlStore) -> None:
    fill(store)
    sqlite = isinstance(store._backend, SqliteBackend)
    for statement in (*STATEMENTS, *(REPLACING if sqlite else TRUNCATING)):
        assert _refused(store, statement), statement
    assert store.audit().problems == ()


REBUILDING = '''
"""Rebuild a table of the journal, which drops its triggers on SQLite."""
import sqlalchemy as sa
from alembic import op

revision = "r9998"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade():
    with op.batch_alter_table("journal_entry", recreate="always") as batch:
        batch.alter_column("kind", type_=sa.String(40), existing_type=sa.Text())
    with op.batch_alter_table("record", recreate="always") as batch:
        batch.alter_column("kind", type_=sa.String(40), existing_type=sa.Text())
'''


def test_an_older_store_is_brought_up_to_date_on_opening(
    new_sqlite: Callable[[], str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also shows that a rebuilt table loses its guards, which the audit then reports."""
    location = new_sqlite()
    store = open_store(location)
    fill(store)
    store.close()
    scripts = tmp_path / "with % sign"
    shutil.copytree(MIGRATIONS, scripts)
    (scripts / "versions" / "r9998_rebuild.py").write_text(REBUILDING.format(before=SCHEMA))
    monkeypatch.setattr(opening, "SCHEMA", "r9998")
    monkeypatch.setattr(opening, "migrate", partial(migrate, scripts=scripts, to="r9998"))
    store = open_store(location)
    with store._backend.engine.connect() as connection:
        assert version_of(connection) == "r9998"
    assert [each.id for each in store.load()[1]] == [each.id for each in EVERYTHING]
    assert commit(store, draft())[0].revision == 4
    assert store.audit().problems == tuple(
        f"the guard journal_entry_no_{verb} is missing" for verb in ("update", "delete", "replace")
    )
    store.close()
    with closing(open_store(location)) as again:
        assert again.head().revision == 4


FIRST = Path(__file__).with_name("store_r0001.sql")
"""A store as the first version of whybone made and filled it, written out as SQL."""


def _first_store(request: pytest.FixtureRequest, tmp_path: Path, kind: str) -> str:
    """Make a store of the first version with its tables, guards and rows."""
    path = tmp_path / "first.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(FIRST.read_text())
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        rows = {
            name: connection.execute(f"SELECT * FROM {name}").fetchall()
            for (name,) in tables.fetchall()
        }
    if kind == "sqlite":
        return str(path)
    url = new_database(request.getfixturevalue("postgres"))
    backend = PostgresBackend(make_url(url).set(drivername="postgresql+psycopg"), 1.0)
    with backend.engine.begin() as connected:
        migrate(connected, to="r0001")
        connected.execute(text("DELETE FROM alembic_version"))
        connected.execute(text("DELETE FROM head"))
        first = ["journal_change", "record"]
        for name in (*first, *(each for each in rows if each not in first)):
            for row in rows[name]:
                marks = ", ".join(f":v{place}" for place in range(len(row)))
                values = {f"v{place}": value for place, value in enumerate(row)}
                connected.execute(text(f"INSERT INTO {name} VALUES ({marks})"), values)
    backend.engine.dispose()
    return url


@pytest.mark.parametrize("kind", ["sqlite", "postgres"])
def test_a_store_of_the_first_version_opens_and_goes_on(
    request: pytest.FixtureRequest, tmp_path: Path, kind: str
) -> None:
    location = _first_store(request, tmp_path, kind)
    with closing(open_store(location)) as store:
        with store._backend.engine.connect() as connection:
            assert version_of(connection) == SCHEMA
            assert missing_guards(connection) == []
        wanted = {each.id: each for each in EVERYTHING}
        held = list(store.load()[1])
        assert [each.id for each in held] == ["p", "g", "t", "x", "s", "l", "f", "r", "d", "c"]
        assert [each for each in held if each.id != "t"] == [
            wanted[each.id] for each in held if each.id != "t"
        ], "what was stored then reads as what it was"
        before = store.audit()
        assert (before.problems, before.revisions) == ((), 3)
        commit(store, add(*(each for each in EVERYTHING if each.id not in {e.id for e in held})))
        assert store.audit(before.head).problems == ()
        assert store.content(FROZEN.content) == CONTENT


def test_a_store_of_the_first_version_that_somebody_writes_waits(
    request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    path = Path(_first_store(request, tmp_path, "sqlite"))
    with closing(sqlite3.connect(path)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreUnreachableError, match="lock"):
            open_store(path, patience=0.05)
        writer.rollback()
    with closing(open_store(path)) as store:
        assert store.audit().problems == ()
