"""The bytes of entries and headers."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.property.strategies import records
from tracker.model.changes import Entry
from tracker.model.records import Record
from tracker.store.canonical import canonical_text, parse
from tracker.store.frames import parse_header, seal, unseal


@given(records, st.sampled_from(["add", "remove", "alter"]), records)
def test_an_entry_comes_back_from_its_bytes(record: Record, what: str, other: Record) -> None:
    before = None if what == "add" else record
    after = None if what == "remove" else dataclasses.replace(record, key=other.key)
    sealed = seal(Entry(before, after))
    assert unseal(sealed.body) == sealed
    assert sealed.key == (after or record).key
    plain = parse(sealed.body.decode())
    assert canonical_text(plain).encode() == sealed.body, "the whole frame is canonical"
    assert (plain["kind"], plain["shape"]) == (sealed.kind, sealed.shape)


GATE = '{"date":"","id":"g","key":"G","title":""}'
SOUND = f'{{"after":{GATE},"before":null,"kind":"gate","shape":1}}'


def test_the_sound_frame() -> None:
    assert unseal(SOUND.encode()).after == GATE


@pytest.mark.parametrize(
    "body",
    [
        "text",
        None,
        b"",
        b"\xff",
        b'{"after":',
        b"[1, 2, 3]",
        SOUND.replace('"before":null,', '"before":[],').encode(),
        SOUND.replace('"before":null,', f'"before":{GATE.replace("g", "h")},').encode(),
        SOUND.replace('"id":"g",', "").encode(),
        SOUND.replace('"id":"g"', '"id":7').encode(),
        SOUND.replace('"gate"', '"spaceship"').encode(),
        SOUND.replace('"gate"', "[]").encode(),
        SOUND.replace('"shape":1', '"shape":true').encode(),
        SOUND.replace('"shape":1', '"shape":1,"more":1').encode(),
        SOUND.replace('"shape":1', '"shape": 1').encode(),
        SOUND.replace("after", "later").encode(),
        f'{{"after":{GATE},"before":null7'.encode(),
        b'{"after":null,"before":null,"kind":"gate","shape":1}',
        (SOUND + " ").encode(),
    ],
)
def test_anything_else_is_refused(body: object) -> None:
    with pytest.raises(ValueError, match=r".+"):
        unseal(body)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"at":""}'])
def test_what_is_no_header_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        parse_header(text)
