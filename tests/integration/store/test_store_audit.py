"""The audit finds and locates damage to the journal, and every row that is not the journal's."""

from __future__ import annotations

import hashlib
import json
import random
import re
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, text

from tests.integration.store.programmes import (
    GATE,
    INFO,
    add,
    commit,
    draft,
    fill,
)
from tracker.errors import StoreDamagedError, StoreError
from tracker.model.changes import Entry
from tracker.services.ports import AuditReport
from tracker.store.audit import audit
from tracker.store.canonical import NO_HASH
from tracker.store.guards import missing_guards
from tracker.store.open import open_store
from tracker.store.sql_store import SqlStore
from tracker.store.tables import READABLE

LOCATED = re.compile(r"revision (\d+)(?:, entry (\d+))?")
Damage = Callable[[str], AuditReport]


def _unguard(connection: Connection) -> None:
    if connection.dialect.name == "postgresql":
        for table in ("journal_change", "journal_entry", "baseline_content"):
            connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        key = "fk_journal_entry_revision_journal_change"
        connection.execute(text(f"ALTER TABLE journal_entry DROP CONSTRAINT {key}"))
        return
    for name in connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")):
        connection.execute(text(f"DROP TRIGGER {name[0]}"))
    connection.execute(text("PRAGMA foreign_keys = OFF"))


def damage(store: SqlStore, *statements: str) -> AuditReport:
    """Run statements behind the journal's back, and audit; the guards' absence is left out."""
    with store._backend.engine.connect() as connection:
        _unguard(connection)
        connection.commit()
        for statement in statements:
            connection.execute(text(statement))
        connection.commit()
    report = store.audit()
    problems = tuple(each for each in report.problems if not each.startswith("the guard"))
    assert len(report.problems) - len(problems) == 9
    return AuditReport(revisions=report.revisions, head=report.head, problems=problems)


def places(report: AuditReport) -> list[tuple[int, int]]:
    """Where the problems are: revision and entry, 0 when it is about no entry."""
    found = [LOCATED.search(each) for each in report.problems]
    return [(int(each[1]), int(each[2] or 0)) for each in found if each is not None]


# ---------------------------------------------------------------- the journal's bytes


def _documented_chain(path: Path) -> str:
    """Verify the chain with nothing but SQL, JSON and SHA-256; return the head hash."""
    head = "0" * 64
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT revision, hash, body FROM journal_change ORDER BY 1")
        for number, (revision, hash_, body) in enumerate(rows.fetchall(), 1):
            header = json.loads(body)
            assert (revision, header["revision"], header["previous"]) == (number, number, head)
            bodies = connection.execute(
                "SELECT body FROM journal_entry WHERE revision = ? ORDER BY position", (revision,)
            )
            digests = [hashlib.sha256(each).hexdigest() for (each,) in bodies]
            assert digests == header["entries"]
            assert hashlib.sha256(body).hexdigest() == hash_
            head = hash_
    return head


def test_the_chain_is_what_the_documentation_says(path: Path) -> None:
    with closing(open_store(path)) as store:
        fill(store)
        assert _documented_chain(path) == store.head().hash


@pytest.fixture
def small(path: Path) -> Iterator[SqlStore]:
    """A journal of three changes with little in them, unguarded."""
    store = open_store(path)
    gate = GATE.__class__(id="g", key="G", title="\u00e9", date="")
    commit(store, add(gate, INFO))
    after = GATE.__class__(id="g", key="G", title="b", date="")
    commit(store, draft(Entry(gate, after)), draft(Entry(INFO, None)))
    with store._backend.engine.connect() as connection:
        _unguard(connection)
    yield store
    store.close()


def _report(connection: Connection) -> AuditReport:
    return audit(connection, lambda _: [], "")


def _flips(
    store: SqlStore, table: str, column: str, *, bits: tuple[int, ...]
) -> Iterator[tuple[Any, Callable[[], AuditReport]]]:
    """Flip each byte of a column of a table in turn; the flip is taken back afterwards."""
    keys = "revision, 0" if table == "journal_change" else "revision, position"
    place = "revision = ?" if table == "journal_change" else "revision = ? AND position = ?"
    kind = "BLOB" if column == "body" else "TEXT"
    with store._backend.engine.connect() as connection, store._backend.undecoded(connection):
        raw: Any = connection.connection.driver_connection
        query = f"SELECT {keys}, CAST({column} AS BLOB) FROM {table}"
        for revision, position, data in raw.execute(query).fetchall():
            where = (revision, position)[: place.count("?")]
            for index in range(len(data)):
                for bit in bits:
                    flipped = bytearray(data)
                    flipped[index] ^= bit
                    raw.execute("BEGIN")
                    raw.execute(
                        f"UPDATE {table} SET {column} = CAST(? AS {kind}) WHERE {place}",
                        (bytes(flipped), *where),
                    )
                    yield (revision, position), lambda: _report(connection)
                    raw.execute("ROLLBACK")


@pytest.mark.parametrize("column", ["body", "hash", "at", "author", "reason"])
def test_any_flipped_byte_of_a_header_is_found_there(small: SqlStore, column: str) -> None:
    bits = (0x01, 0x80) if column == "body" else (0x01,)
    tried = 0
    for (revision, _), report in _flips(small, "journal_change", column, bits=bits):
        assert (revision, 0) in places(report())
        tried += 1
    assert tried >= 24


@pytest.mark.parametrize("column", ["body", "kind", "record_id"])
def test_any_flipped_byte_of_an_entry_is_found_there(small: SqlStore, column: str) -> None:
    bits = (0x01, 0x80) if column == "body" else (0x01,)
    tried = 0
    for place, report in _flips(small, "journal_entry", column, bits=bits):
        assert place in places(report())
        tried += 1
    assert tried >= 4


def test_a_sound_small_journal_has_no_problem(small: SqlStore) -> None:
    with small._backend.engine.connect() as connection:
        assert all(each.startswith("the guard") for each in _report(connection).problems)


@pytest.mark.parametrize(
    ("statement", "where"),
    [
        ("UPDATE journal_entry SET shape = 2 WHERE revision = 1 AND position = 3", (1, 3)),
        ("UPDATE journal_entry SET position = 40 WHERE revision = 1 AND position = 3", (1, 3)),
        ("DELETE FROM journal_entry WHERE revision = 1 AND position = 10", (1, 10)),
        ("DELETE FROM journal_entry WHERE revision = 2", (2, 1)),
        (
            """INSERT INTO journal_entry SELECT 2, 2, kind, record_id, shape, body
            FROM journal_entry WHERE revision = 3""",
            (2, 2),
        ),
        ("DELETE FROM journal_change WHERE revision = 2", (2, 0)),
        ("DELETE FROM journal_change WHERE revision = 1", (1, 0)),
        ("UPDATE journal_change SET revision = 9 WHERE revision = 3", (3, 0)),
        ("UPDATE journal_change SET revision = -9 WHERE revision = 1", (1, 0)),
    ],
)
def test_missing_moved_and_added_rows(
    store: SqlStore, statement: str, where: tuple[int, int]
) -> None:
    fill(store)
    assert where in places(damage(store, statement))


def _swap(table: str, columns: str, one: str, other: str) -> list[str]:
    """Exchange the contents of two rows."""
    sets = ", ".join(
        f"{each} = (SELECT {each} FROM spare WHERE NOT ({{0}}))" for each in columns.split()
    )
    return [
        f"CREATE TABLE spare AS SELECT * FROM {table} WHERE ({one}) OR ({other})",
        f"UPDATE {table} SET {sets.format(one)} WHERE {one}",
        f"UPDATE {table} SET {sets.format(other)} WHERE {other}",
        "DROP TABLE spare",
    ]


def test_swapped_entries_are_found(store: SqlStore) -> None:
    fill(store)
    columns = "kind record_id shape body"
    one, other = "revision = 1 AND position = 2", "revision = 1 AND position = 5"
    report = damage(store, *_swap("journal_entry", columns, one, other))
    assert {(1, 2), (1, 5)} <= set(places(report))


def test_entries_swapped_between_changes_are_found(store: SqlStore) -> None:
    fill(store)
    columns = "kind record_id shape body"
    report = damage(store, *_swap("journal_entry", columns, "revision = 2", "revision = 3"))
    assert {(2, 1), (3, 1)} <= set(places(report))


def test_reordered_changes_are_found(store: SqlStore) -> None:
    fill(store)
    columns = "hash at author reason body"
    entries = _swap("journal_entry", "body", "revision = 2", "revision = 3")
    changes = _swap("journal_change", columns, "revision = 2", "revision = 3")
    report = damage(store, *entries, *changes)
    assert {(2, 0), (3, 0)} <= set(places(report))


def test_an_entry_of_no_change_is_found(store: SqlStore) -> None:
    fill(store)
    stray = (
        "INSERT INTO journal_entry SELECT 77, 1, kind, record_id, shape, body "
        "FROM journal_entry WHERE revision = 3"
    )
    report = damage(store, stray)
    assert "after revision 3: 1 entries belong to no change" in report.problems


def _rewrite(path: Path, revision: int, **fields: object) -> None:
    """Rewrite a header and every hash after it, so that the chain holds again."""
    with closing(sqlite3.connect(path)) as connection, connection:
        for name in ("update", "delete", "replace"):
            connection.execute(f"DROP TRIGGER IF EXISTS journal_change_no_{name}")
        rows = connection.execute(
            "SELECT revision, body FROM journal_change WHERE revision >= ?", (revision,)
        ).fetchall()
        for number, body in rows:
            header = {**json.loads(body), **fields}
            new = json.dumps(
                header, ensure_ascii=False, sort_keys=True, separators=(",", ":")
            ).encode()
            hash_ = hashlib.sha256(new).hexdigest()
            connection.execute(
                "UPDATE journal_change SET body = ?, hash = ?, reason = ? WHERE revision = ?",
                (new, hash_, header["reason"], number),
            )
            fields = {"previous": hash_}
        connection.execute("UPDATE head SET hash = ?", (hash_,))


def test_a_consistent_forgery_shows_against_a_known_head(path: Path) -> None:
    with closing(open_store(path)) as store:
        known = fill(store)
    _rewrite(path, 2, reason="never said that")
    with closing(open_store(path)) as store:
        assert [each.reason for each in store.changes()][1] == "never said that"
        assert store.audit(known[0].hash).problems == store.audit().problems
        assert len(store.audit().problems) == 3, "only the guards that the forger dropped"
        (found,) = set(store.audit(known[-1].hash).problems) - set(store.audit().problems)
        assert known[-1].hash in found
        assert "revision 3" in found


def test_a_header_that_skips_what_is_before_it_is_found(path: Path) -> None:
    with closing(open_store(path)) as store:
        fill(store)
    _rewrite(path, 3, previous="ab" * 32)
    with closing(open_store(path)) as store:
        report = store.audit()
        assert [each for each in report.problems if "does not follow" in each] == [
            "revision 3: it does not follow the change before it (another hash before it)"
        ]
        with pytest.raises(StoreDamagedError, match="revision 3"):
            list(store.changes())


@pytest.mark.parametrize("fields", [{"author": 7}, {"more": ""}, {"entries": {}}, {"undoes": "1"}])
def test_a_forged_header_of_another_form_is_found(path: Path, fields: dict[str, object]) -> None:
    with closing(open_store(path)) as store:
        fill(store)
    _rewrite(path, 3, **fields)
    with closing(open_store(path)) as store:
        assert any("revision 3: the header cannot be read" in p for p in store.audit().problems)


def test_a_gap_stops_the_reading(store: SqlStore) -> None:
    fill(store, edits=3)
    damage(store, "DELETE FROM journal_change WHERE revision = 2")
    changes = store.changes()
    assert next(changes).revision == 1
    with pytest.raises(StoreDamagedError, match="revision 2 is missing"):
        next(changes)


def test_a_record_that_cannot_be_read_is_found_behind_sound_hashes(path: Path) -> None:
    with closing(open_store(path)) as store:
        fill(store)
        damage(store)
    body = b'{"after":{"id":"t","key":"track"},"before":null,"kind":"quantity","shape":1}'
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE journal_entry SET body = ? WHERE revision = 3", (body,))
    _rewrite(path, 3, entries=[hashlib.sha256(body).hexdigest()])
    with closing(open_store(path)) as store:
        assert (3, 1) in places(store.audit())
        assert any("a stored quantity cannot be read" in each for each in store.audit().problems)
        with pytest.raises(StoreDamagedError, match="revision 3, entry 1: a stored quantity"):
            list(store.changes())


# ---------------------------------------------------------------- truncation


def test_truncation_shows_against_the_projection(store: SqlStore) -> None:
    last = fill(store)[-1]
    report = damage(
        store,
        "DELETE FROM journal_entry WHERE revision = 3",
        "DELETE FROM journal_change WHERE revision = 3",
    )
    assert report.revisions == 2
    assert any("ends here" in each and last.hash in each for each in report.problems)
    for read in (store.head, store.load, lambda: list(store.changes()), lambda: commit(store)):
        with pytest.raises(StoreDamagedError, match="stands at revision 3, the journal at 2"):
            read()


def test_truncation_of_everything_shows_against_a_known_head(path: Path, tmp_path: Path) -> None:
    """An older copy of the whole file is sound in itself."""
    with closing(open_store(path)) as store:
        fill(store)
    old = shutil.copy(path, tmp_path / "old.db")
    with closing(open_store(path)) as store:
        (last,) = commit(store, draft())
        assert store.audit(last.hash.upper()).ok
    with closing(open_store(old)) as store:
        assert store.audit().ok
        assert store.audit(NO_HASH).ok
        report = store.audit(last.hash)
        assert report.problems == (
            f"revision 3 ends the journal, and no hash up to there is {last.hash}",
        )


def test_a_truncated_journal_with_its_projection_rewritten(store: SqlStore) -> None:
    known = fill(store, edits=1)
    head = f"UPDATE head SET revision = 1, hash = '{known[0].hash}'"
    report = damage(
        store,
        "DELETE FROM journal_entry WHERE revision = 2",
        "DELETE FROM journal_change WHERE revision = 2",
        head,
    )
    assert (report.revisions, report.head) == (1, known[0].hash)
    assert (
        "revision 1, entry 3: the table quantity does not hold what the journal says of track"
        in (report.problems)
    ), "the records are still those of revision 2"


# ---------------------------------------------------------------- the projection


def test_every_projected_table_is_compared(store: SqlStore) -> None:
    """Each table holds rows in the sample programme; each loses them, and is missed."""
    fill(store)
    for table in READABLE:
        with store._backend.engine.connect() as connection:
            count = connection.execute(text(f"SELECT count(*) FROM {table.name}")).scalar_one()
        assert count > 0, table.name
    report = damage(store, *(f"DELETE FROM {table.name}" for table in READABLE))
    for table in READABLE:
        assert any(f"the table {table.name} does not hold" in each for each in report.problems)


@pytest.mark.parametrize(
    ("statement", "where", "table"),
    [
        ("UPDATE quantity SET number = 1 WHERE id = 't'", (3, 1), "quantity"),
        ("UPDATE gate SET title = '' WHERE id = 'g'", (1, 2), "gate"),
        ("UPDATE option_setting SET unknown_reason = 'x' WHERE option_id = 'o2'", (1, 9), "option"),
        ("INSERT INTO requirement_allowed VALUES ('r', 2, 'no')", (1, 8), "requirement_allowed"),
        ("UPDATE record SET added_entry = 5 WHERE id = 'g'", (1, 2), "record"),
    ],
)
def test_a_changed_row_names_the_change_it_should_be_from(
    store: SqlStore, statement: str, where: tuple[int, int], table: str
) -> None:
    fill(store)
    report = damage(store, statement)
    assert places(report) == [where]
    assert table in report.problems[0]


def test_rows_the_journal_never_made_are_found(store: SqlStore) -> None:
    fill(store)
    report = damage(
        store,
        "INSERT INTO record VALUES ('zz', 'gate', 1, 'ZZ', 1, 1, '{}')",
        "INSERT INTO gate VALUES ('zz', 'ZZ', '', '')",
    )
    unknown = "has rows of 'zz', which the journal does not know"
    assert [each for each in report.problems if unknown in each] == [
        f"after revision 3: the table record {unknown}",
        f"after revision 3: the table gate {unknown}",
    ]


def test_a_record_that_came_back_is_found(store: SqlStore) -> None:
    fill(store)
    commit(store, draft(Entry(GATE, None)))
    report = damage(store, "INSERT INTO record VALUES ('g', 'gate', 1, 'G1', 1, 2, '{}')")
    assert "revision 4, entry 1: the table record does not hold what the journal says of g" in (
        report.problems
    )


@pytest.mark.parametrize(
    ("statement", "message"),
    [
        ("DELETE FROM head", "no head"),
        ("UPDATE head SET records = 3", "records are not those"),
        ("UPDATE head SET digest = 'x'", "its head cannot be read"),
        ("UPDATE head SET hash = 'x'", "hash of revision 3 is not"),
        ("UPDATE head SET revision = 2", "stands at revision 2"),
        ("UPDATE record SET body = replace(body, '1502', '1503')", "records are not those"),
        ("UPDATE record SET key = 'other' WHERE id = 'g'", "records are not those"),
        ("UPDATE record SET added_revision = 0 WHERE id = 'x'", "records are not those"),
    ],
)
def test_loading_notices_a_projection_that_is_not_the_journals(
    store: SqlStore, statement: str, message: str
) -> None:
    fill(store)
    report = damage(store, statement)
    assert places(report)
    with pytest.raises(StoreDamagedError, match=message):
        store.load()


def test_a_lost_record_is_noticed(store: SqlStore) -> None:
    fill(store)
    damage(store, "DELETE FROM gate", "DELETE FROM record WHERE id = 'g'")
    with pytest.raises(StoreDamagedError, match=r"records are not those.*whybone audit"):
        store.load()


def test_reading_a_damaged_change_says_where(store: SqlStore) -> None:
    fill(store)
    change = "UPDATE journal_change SET author = 'somebody else' WHERE revision = 2"
    damage(store, change)
    changes = store.changes()
    assert next(changes).revision == 1
    with pytest.raises(StoreDamagedError, match="revision 2: the column author"):
        next(changes)


_OTHER_BYTES = """
UPDATE journal_entry SET body = (SELECT body FROM journal_entry WHERE revision = 3)
WHERE revision = 2
"""


@pytest.mark.parametrize(
    ("broken", "message"),
    [
        ("UPDATE journal_change SET author = 'x' WHERE revision = 2", "2: the column author"),
        ("UPDATE journal_change SET body = '{}' WHERE revision = 2", "2: the header"),
        ("DELETE FROM journal_change WHERE revision = 2", "2 is missing"),
        ("UPDATE journal_entry SET shape = 7 WHERE revision = 2", "2, entry 1: the column shape"),
        ("UPDATE journal_entry SET position = 9 WHERE revision = 2", "2, entry 9: the header"),
        (
            _OTHER_BYTES,
            "2, entry 1: its bytes do not have the digest",
        ),
        (
            "UPDATE journal_entry SET record_id = 't' WHERE revision = 1 AND record_id = 'g'",
            "1, entry 2: the column record_id",
        ),
    ],
)
def test_reading_what_touches_a_record_notices_damage_to_it(
    store: SqlStore, broken: str, message: str
) -> None:
    fill(store)
    damage(store, broken)
    with pytest.raises(StoreDamagedError, match=f"revision {message}"):
        list(store.touching("t"))


def test_damage_to_others_does_not_hide_what_touches_a_record(store: SqlStore) -> None:
    fill(store)
    sound = list(store.touching("t"))
    damage(store, "UPDATE journal_entry SET body = '{}' WHERE record_id = 'g'")
    assert list(store.touching("t")) == sound
    with pytest.raises(StoreDamagedError, match="revision 1, entry 2"):
        list(store.touching("g"))


# ---------------------------------------------------------------- tables and pages gone


@pytest.mark.parametrize("table", ["journal_entry", "quantity", "head", "journal_change"])
def test_a_lost_table_is_reported(path: Path, table: str) -> None:
    with closing(open_store(path)) as store:
        fill(store)
        report = damage_without_guards(store, f"DROP TABLE {table}")
        assert any(table in each for each in report.problems)
        if table != "quantity":
            with pytest.raises(StoreDamagedError, match=table):
                list(store.changes())


def damage_without_guards(store: SqlStore, statement: str) -> AuditReport:
    with store._backend.engine.connect() as connection:
        _unguard(connection)
        connection.execute(text(statement))
        connection.commit()
    return store.audit()


def test_wrong_types_are_reported(path: Path) -> None:
    with closing(open_store(path)) as store:
        fill(store)
        report = damage(
            store,
            "UPDATE journal_change SET body = 'text' WHERE revision = 2",
            "UPDATE journal_entry SET body = 5 WHERE revision = 3",
            "UPDATE journal_entry SET position = 'x' WHERE revision = 1 AND position = 4",
            "UPDATE head SET revision = 'x'",
            "UPDATE record SET body = x'ff' WHERE id = 'g'",
            "UPDATE quantity SET number = x'00' WHERE id = 't'",
            "UPDATE record SET shape = 'x' WHERE id = 'x'",
        )
        assert {(2, 0), (3, 1), (1, 4), (1, 2)} <= set(places(report))


def test_any_damaged_page_is_survived(path: Path, tmp_path: Path) -> None:
    """Flip bytes in use, and some anywhere: no surprise, and never a wrong record."""
    with closing(open_store(path)) as store:
        fill(store)
        wanted = list(store.load()[1])
    sound = path.read_bytes()
    copy = tmp_path / "copy.db"
    outcomes = {"refused": 0, "loaded": 0}
    dice, used = random.Random(20310507), [place for place, byte in enumerate(sound) if byte]
    for place in (*dice.sample(used, 120), *dice.sample(range(len(sound)), 40)):
        damaged = bytearray(sound)
        damaged[place] ^= 0x41
        copy.write_bytes(damaged)
        for tail in ("-wal", "-shm"):
            copy.with_name(copy.name + tail).unlink(missing_ok=True)
        try:
            with closing(open_store(copy, patience=0.1)) as store:
                store.audit()
                assert list(store.load()[1]) == wanted
                outcomes["loaded"] += 1
        except StoreError:
            outcomes["refused"] += 1
    assert outcomes["refused"] > 20
    assert outcomes["loaded"] > 20


def test_missing_guards_are_reported(store: SqlStore) -> None:
    with store._backend.engine.connect() as connection:
        assert missing_guards(connection) == []
        _unguard(connection)
        assert len(missing_guards(connection)) == 9


def test_damage_does_not_stop_the_replay(store: SqlStore) -> None:
    """A record whose entry is gone is named once, not at every later change."""
    fill(store, edits=6)
    report = damage(store, "DELETE FROM journal_entry WHERE revision = 3")
    assert [each for each in places(report) if each[0] > 4] == []
    assert (3, 1) in places(report)
    assert any("track was not before" in each for each in report.problems)
