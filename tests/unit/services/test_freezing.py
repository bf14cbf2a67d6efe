"""Freezing a gate keeps all it is shown, and nothing that does not agree is read back."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.unit.services.gate_world import put
from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import toy_tools
from tracker.errors import (
    BadTextError,
    CancelledError,
    InUseError,
    NotReadyError,
    StaleChangeError,
    StoreDamagedError,
    StoreWriteError,
    UnknownKeyError,
)
from tracker.model.changes import Change
from tracker.model.records import Baseline, Gate
from tracker.services.actions import set_values
from tracker.services.gates.freezing import freeze_gate, frozen_pack
from tracker.services.gates.readiness import gate_page
from tracker.services.packs.codec import digest_of, pack_bytes, read_pack
from tracker.services.session import Session


def test_a_freeze_is_one_change_with_a_baseline(settled: Session) -> None:
    head = settled.head
    told = freeze_gate(settled, "G1")
    assert (told.gate, told.baseline, told.ready) == ("G1", "G1-1", True)
    assert (told.revision, told.head) == (head.revision, head.hash)
    assert (told.stored, told.hash) == (settled.head.revision, settled.head.hash)
    record = settled.programme.named("G1-1", Baseline)
    assert (record.revision, record.head, record.content) == (
        head.revision,
        head.hash,
        told.content,
    )
    assert record.ready
    assert set(record.criteria.values()) == {"met"}
    assert record.versions["lever"] == "1"
    assert record.versions["parts-list"] == "2"
    assert "whybone" in record.versions
    data = settled.store.content(record.content)
    assert digest_of(data) == record.content
    (change,) = settled.store.changes(head.revision)
    assert change.reason == "freeze G1: every criterion is met or set aside"
    assert len(change.entries) == 1


def test_the_cover_says_what_was_frozen(settled: Session) -> None:
    head = settled.head
    freeze_gate(settled, "G1", "The board meets today")
    cover = frozen_pack(settled, "G1").cover
    assert (cover.title, cover.currency) == ("Small", "EUR")
    assert (cover.gate, cover.gate_title, cover.gate_date) == ("G1", "Concept", "2031-03-01")
    assert (cover.baseline, cover.author, cover.reason) == ("G1-1", "Ann", "The board meets today")
    assert cover.frozen_at == "2031-01-15T08:00:00Z"
    assert (cover.revision, cover.head, cover.ready) == (head.revision, head.hash, True)
    assert (cover.previous, cover.previous_revision) == ("", 0)
    assert cover.scope == (
        "The whole programme: 7 requirements, 2 decisions, 10 quantities and 2 checks. "
        "Due at G1 or earlier: 1 requirement and 1 decision."
    )
    assert "no substitute" in cover.caution


def test_a_gate_that_is_not_ready_is_frozen_only_with_a_reason(settled: Session) -> None:
    with pytest.raises(NotReadyError, match="no-guesses, bases not met") as caught:
        freeze_gate(settled, "G2", "  ")
    assert (caught.value.item, caught.value.exit_code) == ("G2", 1)
    assert settled.programme.find("G2-1") is None
    told = freeze_gate(settled, "G2", "The board accepts the guesses")
    assert not told.ready
    record = settled.programme.named("G2-1", Baseline)
    assert not record.ready
    assert record.criteria["no-guesses"] == "not met"
    content = frozen_pack(settled, "G2")
    assert not content.cover.ready
    assert content.cover.reason == "The board accepts the guesses"
    unmet = {each.name: each.offenders for each in content.criteria if each.result == "not met"}
    assert [each.key for each in unmet["no-guesses"]] == ["parts", "hub"]


def test_a_reason_is_a_text_like_any_other(settled: Session) -> None:
    with pytest.raises(BadTextError):
        freeze_gate(settled, "G1", "bell \x07")


def test_a_gate_can_be_frozen_again_and_each_is_kept(settled: Session) -> None:
    freeze_gate(settled, "G1")
    set_values(settled, {"load": "105 N"}, "weighed")
    freeze_gate(settled, "G1", "again")
    assert [each.key for each in gate_page(settled, "G1").baselines] == ["G1-2", "G1-1"]
    assert frozen_pack(settled, "G1").cover.baseline == "G1-2"
    first, second = (frozen_pack(settled, "G1", key) for key in ("G1-1", "G1-2"))
    assert (second.cover.previous, second.cover.previous_revision) == ("G1-1", 4)
    assert [load.value for pack in (first, second) for load in pack.quantities[:1]] == [100, 105]
    assert first.quantities[0].key == "load"


def test_a_key_that_is_taken_is_passed_over(settled: Session) -> None:
    gate = settled.programme.named("G2", Gate)
    put(settled, replace(gate, id="other", key="G1-1"))
    assert freeze_gate(settled, "G1").baseline == "G1-2"


def test_nothing_frozen_nothing_to_read(settled: Session) -> None:
    with pytest.raises(UnknownKeyError, match="nothing was frozen"):
        frozen_pack(settled, "G1")
    freeze_gate(settled, "G1")
    with pytest.raises(UnknownKeyError, match="not frozen at G2"):
        frozen_pack(settled, "G2", "G1-1")
    with pytest.raises(UnknownKeyError, match="no baseline"):
        frozen_pack(settled, "G1", "G1-7")


def test_a_change_in_between_refuses_the_freeze(settled: Session, store: MemoryStore) -> None:
    other = Session(store, toy_tools(), "Bob")

    def meddle(words: str) -> None:
        if words == "tables":
            set_values(other, {"load": "105 N"}, "meanwhile")

    with pytest.raises(StaleChangeError, match="stored meanwhile"):
        freeze_gate(settled, "G1", progress=meddle)
    assert settled.programme.find("G1-1") is None
    assert freeze_gate(settled, "G1", "all the same").revision == other.head.revision


def test_it_tells_how_far_it_got_and_stops_when_asked(settled: Session) -> None:
    told: list[str] = []
    freeze_gate(settled, "G1", progress=told.append)
    assert told[0] == "reading the journal"
    assert "decision 2 of 2" in told
    head = settled.head
    for stop in ("reading the journal", "what has changed", "headroom", "decision 2 of 2"):
        said: list[str] = []

        def stopped(at: str = stop, words: list[str] = said) -> bool:
            return bool(words) and words[-1].startswith(at)

        with pytest.raises(CancelledError):
            freeze_gate(settled, "G1", "x", cancel=stopped, progress=said.append)
    assert settled.head == head
    assert settled.programme.find("G1-2") is None


def test_a_write_that_fails_leaves_no_baseline(settled: Session, store: MemoryStore) -> None:
    store.failing = "append"
    with pytest.raises(StoreWriteError):
        freeze_gate(settled, "G1")
    assert settled.programme.find("G1-1") is None


def test_a_baseline_is_never_changed(settled: Session) -> None:
    freeze_gate(settled, "G1")
    record = settled.programme.named("G1-1", Baseline)
    with pytest.raises(InUseError):
        put(settled, replace(record, ready=False))


def test_the_same_programme_freezes_to_the_same_bytes(settled: Session) -> None:
    freeze_gate(settled, "G1")
    data = settled.store.content(settled.programme.named("G1-1", Baseline).content)
    content = frozen_pack(settled, "G1")
    assert pack_bytes(content) == data
    assert pack_bytes(read_pack(data)) == data


# What does not agree is refused, and where is said.


def frozen(settled: Session, store: MemoryStore) -> tuple[int, Baseline]:
    freeze_gate(settled, "G1")
    return len(store.journal) - 1, settled.programme.named("G1-1", Baseline)


def tampered(store: MemoryStore, place: int, **fields: object) -> None:
    """Change a journal entry behind everybody's back, as far as this store keeps no hashes."""
    change: Change = store.journal[place]
    store.journal[place] = replace(change, **fields)  # type: ignore[arg-type] # fields of a change


def refused(session: Session, words: str) -> None:
    with pytest.raises(StoreDamagedError, match=words) as caught:
        frozen_pack(session, "G1")
    assert caught.value.exit_code == 4


def test_a_content_that_is_gone_refuses_the_pack(settled: Session, store: MemoryStore) -> None:
    frozen(settled, store)
    store.contents.clear()
    refused(settled, "missing")


def test_a_content_that_is_no_pack_refuses(settled: Session, store: MemoryStore) -> None:
    _, record = frozen(settled, store)
    plain = json.loads(store.contents[record.content])
    for broken in (
        b"{",
        json.dumps({**plain, "format": 99}).encode(),
        json.dumps({**plain, "risks": 7}).encode(),
        json.dumps({**plain, "more": 1}).encode(),
        json.dumps({**plain, "signatures": [{"role": 1, "meaning": "x"}]}).encode(),
    ):
        store.contents[record.content] = broken
        refused(settled, "cannot be read")


def test_an_audit_that_finds_something_refuses(settled: Session, store: MemoryStore) -> None:
    frozen(settled, store)
    store.problems = ("revision 2, entry 1: its bytes do not hold", "another")
    refused(settled, "revision 2, entry 1: its bytes do not hold, and 1 more")


def test_a_record_the_journal_does_not_hold_refuses(settled: Session, store: MemoryStore) -> None:
    place, record = frozen(settled, store)
    entry = store.journal[place].entries[0]
    other = replace(record, ready=False)
    tampered(store, place, entries=(replace(entry, after=other),))
    refused(settled, "no change that froze it")


def test_a_journal_with_another_hash_there_refuses(settled: Session, store: MemoryStore) -> None:
    place, record = frozen(settled, store)
    kept = store.journal[record.revision - 1]
    tampered(store, record.revision - 1, hash="e" * 64)
    refused(settled, f"revision {record.revision}: its hash is not the one")
    store.journal[record.revision - 1] = kept
    tampered(store, place, at="2031-01-16T00:00:00Z")
    refused(settled, "was frozen by another change")


def test_a_content_of_another_revision_refuses(settled: Session, store: MemoryStore) -> None:
    _, record = frozen(settled, store)
    content = read_pack(store.contents[record.content])
    cover = replace(content.cover, revision=3)
    store.contents[record.content] = pack_bytes(replace(content, cover=cover))
    refused(settled, "names another revision")
