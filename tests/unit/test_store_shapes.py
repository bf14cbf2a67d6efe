"""Old record shapes, step by step to the present one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given

from tests.property.strategies import records
from tracker.errors import FileFormatError, StoreDamagedError
from tracker.model.codec import SHAPES, from_plain, to_plain
from tracker.model.records import Gate, Record, kind_of
from tracker.store import shapes
from tracker.store.canonical import canonical_text
from tracker.store.frames import Sealed
from tracker.store.replay import RecordRow, is_before
from tracker.store.shapes import in_present_shape, read_record, upcast


def _rename(plain: dict[str, Any]) -> dict[str, Any]:
    return {("date" if name == "due" else name): value for name, value in plain.items()}


def _fill_in(plain: dict[str, Any]) -> dict[str, Any]:
    return {"title": "untitled", **plain}


OLD = {"id": "g", "key": "G", "due": "2031-01-01"}
STEPS = {("gate", 1): _rename, ("gate", 2): _fill_in}
PRESENT = {**SHAPES, "gate": 3}
GATE = Gate(id="g", key="G", title="untitled", date="2031-01-01")


def test_every_step_is_taken_in_order() -> None:
    assert from_plain("gate", upcast("gate", 1, OLD, steps=STEPS, present=PRESENT)) == GATE
    assert upcast("gate", 2, OLD, steps=STEPS, present=PRESENT)["due"] == "2031-01-01"
    assert upcast("gate", 3, OLD, steps=STEPS, present=PRESENT) == OLD


@pytest.mark.parametrize(("kind", "shape"), [("gate", 4), ("gate", 0), ("spaceship", 1)])
def test_unknown_shapes_are_refused(kind: str, shape: int) -> None:
    with pytest.raises(FileFormatError, match="not known"):
        upcast(kind, shape, {}, present=PRESENT)


def test_every_shape_on_the_way_has_its_step() -> None:
    for kind, present in SHAPES.items():
        assert all((kind, each) in shapes.UPCASTERS for each in range(1, present))


@given(records)
def test_records_read_back(record: Record) -> None:
    kind = kind_of(record)
    text = canonical_text(to_plain(record))
    assert read_record(kind, SHAPES[kind], text) == record
    assert in_present_shape(kind, SHAPES[kind], text) == text


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("gate", "{"),
        ("gate", "[]"),
        ("gate", "null"),
        ("gate", '{"id":"g"}'),
        ("gate", '{"id":"g","key":"G","title":"","date":"","more":1}'),
        ("spaceship", "{}"),
        (
            "quantity",
            '{"id":"q","key":"q","kind":"real","title":"","unit":{"dimension":[["length","1/0"]]}}',
        ),
    ],
)
def test_what_is_no_record_is_damage(kind: str, text: str) -> None:
    with pytest.raises(StoreDamagedError, match=f"a stored {kind} cannot be read"):
        read_record(kind, 1, text)


def _with_old_shapes(monkeypatch: pytest.MonkeyPatch) -> None:
    def with_steps(kind: str, shape: int, plain: dict[str, Any]) -> Mapping[str, Any]:
        return upcast(kind, shape, plain, steps=STEPS, present=PRESENT)

    monkeypatch.setattr(shapes, "upcast", with_steps)
    monkeypatch.setattr(shapes, "SHAPES", PRESENT)


def test_an_old_record_is_compared_in_the_present_shape(monkeypatch: pytest.MonkeyPatch) -> None:
    _with_old_shapes(monkeypatch)
    row = RecordRow("g", "gate", 1, "G", 1, 1, canonical_text(OLD))
    now = canonical_text(to_plain(GATE))
    assert is_before(row, Sealed("gate", 3, "g", "G", now, None))
    assert not is_before(row, Sealed("gate", 3, "g", "G", now.replace("2031", "2032"), None))
