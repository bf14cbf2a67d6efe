"""Rows about the store: durable, journal."""

from __future__ import annotations

import sqlite3
import statistics
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from tests.bench.harness import Row, timed
from tests.bench.programmes import many_items
from tracker.model.changes import Draft, Entry
from tracker.model.records import Quantity, Setting
from tracker.services.actions import set_values
from tracker.services.session import Session
from tracker.store.sql_store import SqlStore

__all__ = ["durable", "journal"]


def _written(path: Path, revision: int) -> list[tuple[str, list[tuple[object, ...]]]]:
    """Return the rows one change left in every table, to write them again plainly."""
    with sqlite3.connect(path) as connection:
        body = connection.execute(
            "SELECT * FROM journal_change WHERE revision = ?", (revision,)
        ).fetchall()
        entries = connection.execute(
            "SELECT * FROM journal_entry WHERE revision = ?", (revision,)
        ).fetchall()
        record = entries[0][3]
        rows = [("journal_change", body), ("journal_entry", entries)]
        rows.append(("head", connection.execute("SELECT * FROM head").fetchall()))
        for table, column in (("record", "id"), ("quantity", "id")):
            found = connection.execute(
                f"SELECT * FROM {table} WHERE {column} = ?", (record,)
            ).fetchall()
            rows.append((table, found))
    return rows


class _Plain:
    """The same rows by plain sqlite3: WAL, synchronous FULL, one transaction."""

    def __init__(self, path: Path, rows: list[tuple[str, list[tuple[object, ...]]]]) -> None:
        self._connection = sqlite3.connect(path, isolation_level=None)
        self._connection.execute("PRAGMA journal_mode=WAL")
        self._connection.execute("PRAGMA synchronous=FULL")
        self._rows = rows
        for table, found in rows:
            columns = ", ".join(f"c{number}" for number in range(len(found[0])))
            self._connection.execute(f"CREATE TABLE {table} ({columns})")

    def write(self) -> None:
        self._connection.execute("BEGIN IMMEDIATE")
        for table, found in self._rows:
            marks = ", ".join("?" * len(found[0]))
            self._connection.executemany(f"INSERT INTO {table} VALUES ({marks})", found)
        self._connection.execute("COMMIT")


def durable(*, quick: bool) -> Row:
    """Edit to acknowledged ÷ the same rows written by plain sqlite3, synchronous FULL."""
    rounds = 30 if quick else 300
    with tempfile.TemporaryDirectory() as folder:
        session = many_items(Path(folder), 500)
        values = iter(range(1, 10_000))

        def change() -> None:
            set_values(session, {"m0-b": f"{next(values)} kg"}, "bench")

        change()
        path = Path(folder) / "many-500.db"
        plain = _Plain(Path(folder) / "plain.db", _written(path, session.head.revision))
        ours, theirs = [], []
        for _ in range(rounds):
            ours.append(timed(change, "wall time"))
            theirs.append(timed(plain.write, "wall time"))
        session.store.close()
    high, low = statistics.median(ours), statistics.median(theirs)
    note = f"{high * 1e3:.2f} ms against {low * 1e3:.2f} ms raw write and sync"
    return Row("durable", high / low, 3.0, note, of="wall time")


def _changes(session: Session, count: int) -> Iterator[Draft]:
    quantity = session.programme.named("m0-b", Quantity)
    for number in range(count):
        after = replace(quantity, given=Setting(value=float(number + 1_000)))
        yield Draft(
            author="bench",
            at="2026-01-01T00:00:00Z",
            reason="fill the journal",
            based_on=0,
            entries=(Entry(quantity, after),),
        )
        quantity = after


def _commit_time(folder: Path, length: int, rounds: int) -> float:
    session = many_items(folder, 500)
    store = session.store
    assert isinstance(store, SqlStore)
    with store.writing() as writer:
        for draft in _changes(session, length):
            writer.append(draft)
    session.refresh()
    times = [
        timed(lambda n=n: set_values(session, {"m0-b": f"{n + 1} kg"}, "bench"), "wall time")  # type: ignore[misc] # mypy cannot infer a lambda with a default
        for n in range(rounds)
    ]
    store.close()
    return statistics.median(times)


def journal(*, quick: bool) -> Row:
    """Commit at 100,000 changes ÷ at 1,000."""
    long, rounds = (5_000, 20) if quick else (100_000, 200)
    with tempfile.TemporaryDirectory() as folder:
        places = [Path(folder) / name for name in ("short", "long")]
        for place in places:
            place.mkdir()
        low = _commit_time(places[0], 1_000, rounds)
        high = _commit_time(places[1], long, rounds)
    note = f"{high * 1e3:.2f} ms at {long} changes, {low * 1e3:.2f} ms at 1,000"
    return Row("journal", high / low, 1.2, note, of="wall time")
