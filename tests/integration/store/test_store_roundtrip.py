"""What is appended comes back, from the projection and from the journal, in both databases."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings

from tests.integration.store.programmes import (
    CHECK,
    EVERYTHING,
    GATE,
    POINT,
    TRACK,
    add,
    commit,
    draft,
    edit,
    fill,
)
from tests.property.strategies import histories
from tracker.errors import (
    BadTextError,
    BadValueError,
    StaleChangeError,
    StoreDamagedError,
    StoreWriteError,
)
from tracker.model.changes import Change, Draft, Entry, inverse
from tracker.model.programme import Programme
from tracker.model.records import Gate, Setting
from tracker.services.ports import Head, Store, Writer
from tracker.store.canonical import NO_HASH
from tracker.store.open import open_store
from tracker.store.sql_store import SqlStore


def test_the_store_is_what_the_services_ask_for(store: SqlStore) -> None:
    port: Store = store
    with port.writing() as writer:
        held: Writer = writer
        assert held.head == port.head()


def test_a_new_store_is_empty(store: SqlStore) -> None:
    nothing = Head(0, NO_HASH)
    head, programme = store.load()
    assert (head, list(programme)) == (nothing, [])
    assert store.head() == nothing
    assert list(store.changes()) == []
    report = store.audit(NO_HASH)
    assert (report.problems, report.revisions, report.head) == ((), 0, NO_HASH)


def test_a_change_comes_back_whole(store: SqlStore) -> None:
    wanted = draft(
        Entry(None, TRACK), Entry(None, CHECK), reason="because \U0001f9f0\n'x'", based_on=0
    )
    (change,) = commit(store, dataclasses.replace(wanted, undoes=7))
    assert (change.author, change.at, change.undoes) == (wanted.author, wanted.at, 7)
    assert list(store.changes()) == [change]
    assert store.head() == Head(1, change.hash)
    assert list(store.load()[1]) == [TRACK, CHECK]


@pytest.mark.parametrize("kind", ["sqlite", "postgres"])
def test_any_history_comes_back(kind: str, request: pytest.FixtureRequest) -> None:
    make: Callable[[], str] = request.getfixturevalue(f"new_{kind}")

    @settings(
        max_examples=60 if kind == "sqlite" else 12,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(histories())
    def check(drafts: list[Draft]) -> None:
        store = open_store(make())
        programme = Programme()
        changes = []
        for each in drafts:
            changes += commit(store, each)
            programme.apply(each.entries)
        assert list(store.load()[1]) == list(programme)
        assert list(store.changes()) == changes
        assert store.audit(changes[-1].hash).problems == ()
        store.close()

    check()


def test_records_keep_their_place_until_they_go(store: SqlStore) -> None:
    fill(store, edits=1)
    commit(store, draft(Entry(GATE, None), Entry(POINT, None)))
    commit(store, draft(Entry(None, POINT), Entry(None, GATE)))
    programme = Programme()
    for change in store.changes():
        programme.apply(change.entries)
    loaded = [each.key for each in store.load()[1]]
    assert loaded == [each.key for each in programme]
    assert loaded[-2:] == ["lower_outer", "G1"]


def test_one_change_may_touch_a_record_twice(store: SqlStore) -> None:
    commit(store, add(GATE, TRACK))
    once, first = edit(TRACK, 1510.0)
    twice, second = edit(once, 1520.0)
    moved = draft(first, second, Entry(GATE, None), Entry(None, GATE))
    commit(store, moved)
    assert list(store.load()[1]) == [twice, GATE]
    commit(store, draft(*inverse(moved.entries)))
    assert {each.key: each for each in store.load()[1]} == {"G1": GATE, "track": TRACK}
    assert store.audit().problems == ()


def test_two_records_may_swap_their_keys(store: SqlStore) -> None:
    left = Gate(id="1", key="left", title="", date="")
    right = Gate(id="2", key="right", title="", date="")
    commit(store, add(left, right))
    swapped = [dataclasses.replace(left, key="right"), dataclasses.replace(right, key="left")]
    commit(store, draft(Entry(left, swapped[0]), Entry(right, swapped[1])))
    assert list(store.load()[1]) == swapped
    assert store.audit().problems == ()


def test_an_empty_change_is_kept(store: SqlStore) -> None:
    (change,) = commit(store, draft(reason="looked at it again"))
    assert list(store.changes()) == [change]
    assert store.audit().problems == ()


def test_more_records_than_one_statement_takes(store: SqlStore) -> None:
    gates = [Gate(id=f"g{n}", key=f"G{n}", title="", date="") for n in range(1203)]
    commit(store, add(*gates))
    commit(store, draft(*(Entry(gate, None) for gate in gates[:1100])))
    assert list(store.load()[1]) == gates[1100:]
    assert store.audit().problems == ()


def test_ranges_of_changes(store: SqlStore) -> None:
    changes = fill(store, edits=7)
    assert list(store.changes()) == changes
    assert list(store.changes(2)) == changes[2:]
    assert list(store.changes(2, 5)) == changes[2:5]
    assert list(store.changes(0, 99)) == changes
    assert list(store.changes(99)) == []
    assert list(store.changes(5, 3)) == []


def test_a_journal_longer_than_one_batch(store: SqlStore) -> None:
    commit(store, *(draft(reason=str(number)) for number in range(600)))
    assert [each.reason for each in store.changes()] == [str(n) for n in range(600)]
    with store.writing() as writer:
        assert [each.revision for each in writer.changes_since(3)] == list(range(4, 601))
        assert writer.changes_since(600) == []
    assert store.audit().revisions == 600


def test_the_changes_that_touch_a_record(store: SqlStore) -> None:
    changes = fill(store, edits=3)
    changes += commit(store, draft(Entry(GATE, None)), draft(Entry(None, GATE), Entry(POINT, None)))
    assert list(store.touching(TRACK.id)) == own_parts(changes[:4], TRACK.id)
    assert list(store.touching(GATE.id)) == own_parts([changes[0], *changes[4:]], GATE.id)
    assert list(store.touching("nobody")) == []


def test_more_changes_of_a_record_than_one_batch(store: SqlStore) -> None:
    changes = fill(store, edits=600)
    assert list(store.touching(TRACK.id)) == own_parts(changes, TRACK.id)


def own_parts(changes: list[Change], record_id: str) -> list[Change]:
    """Leave only the entries on a record."""
    return [
        dataclasses.replace(each, entries=tuple(e for e in each.entries if e.id == record_id))
        for each in changes
    ]


def test_the_writer_sees_what_it_appended(store: SqlStore) -> None:
    with store.writing() as writer:
        first = writer.append(add(TRACK))
        second = writer.append(draft(edit(TRACK, 1.0)[1], based_on=1))
        assert writer.head == Head(2, second.hash)
        assert writer.changes_since(0) == [first, second]
        assert store.head().revision == 0
    assert list(store.changes()) == [first, second]


def test_an_error_inside_takes_everything_back(store: SqlStore) -> None:
    before = fill(store)[-1]

    def change_and_fail() -> None:
        with store.writing() as writer:
            writer.append(draft(Entry(GATE, None)))
            raise KeyError("somebody else's mistake")

    with pytest.raises(KeyError, match="somebody"):
        change_and_fail()
    assert store.head() == Head(before.revision, before.hash)
    assert store.audit().problems == ()
    assert commit(store, draft())[0].revision == before.revision + 1


@pytest.mark.parametrize(
    "stale",
    [
        Entry(dataclasses.replace(TRACK, title="other"), TRACK),
        Entry(None, TRACK),
        Entry(POINT, None),
        Entry(Gate(id="t", key="track", title="", date=""), None),
    ],
    ids=["another before", "there already", "not there", "another kind"],
)
def test_a_stale_entry_is_refused_and_the_lock_still_serves(store: SqlStore, stale: Entry) -> None:
    commit(store, add(TRACK))
    with store.writing() as writer:
        with pytest.raises(StaleChangeError):
            writer.append(draft(Entry(None, GATE), stale))
        writer.append(add(CHECK))
    assert [each.key for each in store.load()[1]] == ["track", "C-1"]
    assert store.audit().problems == ()


@pytest.mark.parametrize(
    ("setting", "error"),
    [
        (Setting(typed="a\0b"), BadTextError),
        (Setting(typed="lone \ud800"), BadValueError),
        (Setting(value=float("nan")), BadValueError),
        (Setting(value=float("inf")), BadValueError),
        (Setting(value=2**53), BadValueError),
    ],
)
def test_what_cannot_be_stored_is_refused_by_name(
    store: SqlStore, setting: Setting, error: type[Exception]
) -> None:
    with store.writing() as writer:
        with pytest.raises(error, match="track"):
            writer.append(add(dataclasses.replace(TRACK, given=setting)))
        with pytest.raises(BadTextError, match="the change"):
            writer.append(draft(reason="a\0b"))
        writer.append(add(GATE))
    assert list(store.load()[1]) == [GATE]


def test_a_taken_key_fails_the_write_and_the_lock(store: SqlStore) -> None:
    fill(store)
    twin = dataclasses.replace(TRACK, id="t2")
    errors = []

    def go_on_after_a_failure() -> None:
        with store.writing() as writer:
            for each in (twin, dataclasses.replace(twin, key="other")):
                with pytest.raises(StoreWriteError) as caught:
                    writer.append(add(each))
                errors.append(caught.value)

    with pytest.raises(StoreWriteError) as left:
        go_on_after_a_failure()
    assert errors == [left.value, left.value]
    assert store.head().revision == 3
    assert store.audit().problems == ()
    assert commit(store, draft())[0].revision == 4


def test_numbers_come_back_to_the_bit(store: SqlStore) -> None:
    numbers = [1e20, 1e21, 0.1 + 0.2, 5e-324, 1e16, 123456789012345678.0, -1e15, 2.0**53]
    commit(
        store,
        add(
            *(
                dataclasses.replace(TRACK, id=f"t{n}", key=f"t{n}", given=Setting(value=number))
                for n, number in enumerate(numbers)
            )
        ),
    )
    loaded = [each.given.value for each in store.load()[1].of(type(TRACK)) if each.given]
    assert [float(str(each)).hex() for each in loaded] == [each.hex() for each in numbers]
    assert store.audit().problems == ()


def test_everything_of_a_kind_is_there(store: SqlStore) -> None:
    fill(store, edits=0)
    assert tuple(store.load()[1]) == EVERYTHING


def test_reading_notices_a_missing_change(store: SqlStore) -> None:
    with store.writing() as writer:
        writer.head = Head(7, NO_HASH)
        with pytest.raises(StoreDamagedError, match="revision 6 is missing"):
            writer.changes_since(5)
