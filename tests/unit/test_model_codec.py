"""Records to canonical JSON (RFC 8785) and back."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
import rfc8785
from hypothesis import given

from tests.property import strategies as some
from tests.unit.small_world import decision, quantity, requirement
from tracker.errors import FileFormatError
from tracker.model.codec import SHAPES, from_plain, to_plain
from tracker.model.records import RECORD_TYPES, Footing, Quantity, Record, kind_of


@given(some.records)
def test_every_record_comes_back_from_canonical_json(record: Record) -> None:
    data = rfc8785.dumps(to_plain(record))
    again = from_plain(kind_of(record), json.loads(data))
    assert again == record
    assert rfc8785.dumps(to_plain(again)) == data


def test_what_comes_back_is_hashable_where_the_record_is() -> None:
    record = requirement("R", "q", 1.0, parents=("S",))
    assert hash(from_plain("requirement", json.loads(rfc8785.dumps(to_plain(record)))))


def test_fields_with_their_default_are_left_out() -> None:
    assert to_plain(quantity("q")) == {"id": "q", "key": "q", "title": "", "kind": "real"}
    assert "footing" not in to_plain(decision("D"))


def test_an_empty_footing_is_not_no_footing() -> None:
    record = decision("D", footing=Footing())
    assert to_plain(record)["footing"] == {}
    assert from_plain("decision", to_plain(record)) == record


def _measured_in(unit: dict[str, Any]) -> dict[str, Any]:
    return {"id": "q", "key": "q", "title": "", "kind": "real", "unit": unit}


def test_equal_units_are_one_object_and_no_others_pass_for_them() -> None:
    metre = {"dimension": [["length", "1"]], "text": "m", "scale": 1.0}
    one, other = (from_plain("quantity", _measured_in({**metre})) for _ in range(2))
    assert isinstance(one, Quantity)
    assert isinstance(other, Quantity)
    assert one.unit is other.unit
    with pytest.raises(FileFormatError, match="True is not a number"):
        from_plain("quantity", _measured_in({**metre, "scale": True}))
    for number in range(3000):  # more than are remembered
        found = from_plain("quantity", _measured_in({**metre, "text": str(number)}))
        assert found == replace(one, unit=replace(one.unit, text=str(number)))


def test_every_kind_has_a_shape() -> None:
    assert set(SHAPES) == set(RECORD_TYPES)


PLAIN: dict[str, Any] = {"id": "q", "key": "q", "title": "", "kind": "real"}


@pytest.mark.parametrize(
    ("kind", "plain", "says"),
    [
        ("widget", {}, "'widget' is no record kind"),
        ("quantity", {}, "missing"),
        ("quantity", [], "not a quantity record"),
        ("quantity", {**PLAIN, "colour": "red"}, "colour"),
        ("quantity", {**PLAIN, "kind": "imaginary"}, "'imaginary' is not a valid Kind"),
        ("quantity", {**PLAIN, "title": 3}, "3 is not str"),
        ("quantity", {**PLAIN, "low": "3"}, "'3' is not a number"),
        ("quantity", {**PLAIN, "low": True}, "True is not a number"),
        ("quantity", {**PLAIN, "choices": "abc"}, "a str is no list"),
        ("quantity", {**PLAIN, "given": {"value": {"x": 1}}}, "a dict is no value"),
        ("quantity", {**PLAIN, "unit": {"text": "mm", "dimension": [["l", "1/0"]]}}, "1, 0"),
        ("quantity", {**PLAIN, "unit": {"text": "mm", "dimension": [["l"]]}}, "not a quantity"),
        ("check", {**PLAIN, "inputs": ["a"]}, "not a check record"),
    ],
)
def test_what_is_no_record_is_refused(kind: str, plain: Any, says: str) -> None:  # noqa: ANN401 - JSON data
    with pytest.raises(FileFormatError, match=says):
        from_plain(kind, plain)
