"""What a baseline froze is kept for good, under its own hash, in both databases."""

from __future__ import annotations

import dataclasses
import hashlib
import zlib

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from tests.integration.store.programmes import (
    CONTENT,
    EVERYTHING,
    FROZEN,
    GATE,
    add,
    commit,
    draft,
    fill,
)
from tests.integration.store.test_store_audit import damage, places
from tracker.errors import BadValueError, StoreDamagedError, StoreWriteError
from tracker.model.changes import Draft, Entry
from tracker.model.records import Baseline
from tracker.store.backend import SqliteBackend
from tracker.store.sql_store import SqlStore


def baseline(content: bytes, key: str = "B-9") -> Baseline:
    digest = hashlib.sha256(content).hexdigest()
    return dataclasses.replace(FROZEN, id=key, key=key, content=digest)


def freeze(store: SqlStore, wanted: Draft, contents: dict[str, bytes]) -> None:
    with store.writing() as writer:
        writer.append(wanted, contents)


def test_the_content_comes_back(store: SqlStore) -> None:
    fill(store)
    assert store.content(FROZEN.content) == CONTENT
    assert store.audit().problems == ()


def test_large_contents_are_kept_small(store: SqlStore) -> None:
    """The bytes are those of zlib (RFC 1950), so that anything else can read them too."""
    content = b"".join(b'{"requirement":"R-%d"}' % number for number in range(20_000))
    held = baseline(content)
    commit(store, add(GATE))
    freeze(store, add(held), {held.content: content})
    assert store.content(held.content) == content
    with store._backend.engine.connect() as connection:
        query = text("SELECT size, body FROM baseline_content")
        size, body = connection.execute(query).one()
    assert size == len(content)
    assert zlib.decompress(body) == content
    assert len(body) < size / 5


def test_two_baselines_may_have_frozen_the_same(store: SqlStore) -> None:
    fill(store)
    freeze(store, add(baseline(CONTENT)), {FROZEN.content: CONTENT})
    assert store.content(FROZEN.content) == CONTENT
    assert store.audit().problems == ()


@pytest.mark.parametrize(
    ("records", "contents", "item"),
    [
        ((baseline(b"shown"),), {}, "B-9"),
        ((baseline(b"shown"),), {baseline(b"shown").content: b"something else"}, "B-9"),
        ((baseline(b"shown"),), {baseline(b"other").content: b"other"}, "B-9"),
        ((), {baseline(b"other").content: b"other"}, "the change"),
        (
            (baseline(b"shown"),),
            {baseline(b"shown").content: b"shown", baseline(b"other").content: b"other"},
            "the change",
        ),
    ],
    ids=["missing", "of another hash", "of another name", "of nothing", "one too many"],
)
def test_baselines_and_contents_come_together(
    store: SqlStore, records: tuple[Baseline, ...], contents: dict[str, bytes], item: str
) -> None:
    fill(store)
    with store.writing() as writer:
        with pytest.raises(BadValueError) as refused:
            writer.append(add(*records), contents)
        writer.append(draft())
    assert refused.value.item == item
    assert [each.id for each in store.load()[1]] == [each.id for each in EVERYTHING]
    assert store.audit().problems == ()


def test_a_refused_change_leaves_no_content(store: SqlStore) -> None:
    fill(store)
    twin = dataclasses.replace(baseline(b"shown"), key="track")
    with pytest.raises(StoreWriteError):
        freeze(store, add(twin), {twin.content: b"shown"})
    with pytest.raises(StoreDamagedError, match="it is missing"):
        store.content(twin.content)
    assert store.audit().problems == ()


STATEMENTS = [
    "UPDATE baseline_content SET size = 5",
    "DELETE FROM baseline_content",
]
REPLACING = ["INSERT OR REPLACE INTO baseline_content SELECT * FROM baseline_content"]
TRUNCATING = ["TRUNCATE baseline_content"]


def test_the_guards_refuse_to_rewrite_a_content(store: SqlStore) -> None:
    fill(store)
    sqlite = isinstance(store._backend, SqliteBackend)
    for statement in (*STATEMENTS, *(REPLACING if sqlite else TRUNCATING)):
        with (
            store._backend.engine.connect() as connection,
            pytest.raises(DBAPIError, match="written once"),
        ):
            connection.execute(text(statement))
    assert store.content(FROZEN.content) == CONTENT


@pytest.mark.parametrize(
    ("statement", "fault"),
    [
        ("DELETE FROM baseline_content", "it is missing"),
        ("UPDATE baseline_content SET body = '{}'", "cannot be unpacked"),
        ("UPDATE baseline_content SET size = 5", "the size beside it is wrong"),
    ],
)
def test_a_damaged_content_is_found_where_it_was_frozen(
    store: SqlStore, statement: str, fault: str
) -> None:
    fill(store)
    report = damage(store, statement)
    assert places(report) == [(1, 19)]
    assert fault in report.problems[0]
    assert "baseline B-1" in report.problems[0]
    with pytest.raises(StoreDamagedError, match=fault) as refused:
        store.content(FROZEN.content)
    assert FROZEN.content in refused.value.item
    assert "audit" in refused.value.remedy


def test_a_forged_content_is_found(store: SqlStore) -> None:
    fill(store)
    forged = zlib.compress(CONTENT.replace(b"gate", b"GATE"))
    hexed = f"x'{forged.hex()}'"
    if store._backend.engine.dialect.name == "postgresql":
        hexed = f"decode('{forged.hex()}', 'hex')"
    report = damage(store, f"UPDATE baseline_content SET body = {hexed}")
    assert places(report) == [(1, 19)]
    with pytest.raises(StoreDamagedError, match="do not have their hash"):
        store.content(FROZEN.content)


def test_a_content_of_no_baseline_is_found(store: SqlStore) -> None:
    fill(store)
    stray = "INSERT INTO baseline_content SELECT 'stray', size, body FROM baseline_content"
    report = damage(store, stray)
    assert report.problems == ("after revision 3: the content 'stray' is of no baseline",)


@pytest.mark.parametrize("after", [dataclasses.replace(FROZEN, ready=False), None])
def test_a_changed_baseline_is_found_in_the_journal(
    store: SqlStore, after: Baseline | None
) -> None:
    """The programme refuses to write such a change; a forger may not."""
    fill(store)
    contents = {} if after is None else {FROZEN.content: CONTENT}
    freeze(store, draft(Entry(FROZEN, after)), contents)
    (problem,) = store.audit().problems
    assert problem == "revision 4, entry 1: baseline B-1 was changed, which nothing may do"
