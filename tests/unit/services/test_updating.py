"""Quantities into a programme that has some of them already."""

from __future__ import annotations

from typing import Any

import pytest

from tracker.errors import InputError, ManyProblemsError, SourceError, UnknownKeyError
from tracker.model.records import Quantity
from tracker.services.actions import try_update, undo, update_items
from tracker.services.session import Session


def _document(key: str, **fields: Any) -> dict[str, Any]:  # noqa: ANN401 - JSON data
    return {"kind": "quantity", "key": key, **fields}


def test_new_and_known_come_in_one_change(small: Session) -> None:
    before = small.head.revision
    documents = [
        _document("load", value="110 N", title="Load"),
        _document("gap", title="Gap", unit="mm", value=3),
    ]
    told = update_items(small, documents, "sheet 8")
    assert (told.revision, told.what) == (
        before + 1,
        ("new quantity gap", "load: 100 N → 110 N (guess)"),
    )
    load = small.programme.named("load", Quantity)
    assert load.title == "Load"
    assert load.tolerance is not None  # what is not named stays
    undo(small)
    assert small.programme.find("gap") is None


def test_trying_stores_nothing(small: Session) -> None:
    before = small.store.head()
    ripple = try_update(small, [_document("load", value="130 N")])
    assert ripple.edits == ("load: 100 N → 130 N (guess)",)
    assert small.store.head() == before


def test_a_reason_is_needed(small: Session) -> None:
    with pytest.raises(InputError, match="needs a reason"):
        update_items(small, [_document("load", value="110 N")], " ")


def test_nothing_said_changes_nothing(small: Session) -> None:
    with pytest.raises(InputError, match="nothing would change"):
        update_items(small, [_document("load", value=None, title="", basis="")], "why")


@pytest.mark.parametrize("field", [{"unit": "kN"}, {"type": "point"}, {"choices": ["a"]}])
def test_what_an_item_was_made_as_stays(small: Session, field: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="amending does not change") as caught:
        update_items(small, [_document("load", **field)], "why")
    assert caught.value.item == "load"


def test_other_kinds_of_item_can_only_be_new(small: Session) -> None:
    gate = {"kind": "gate", "key": "G3", "title": "Third", "date": "2032-01-01"}
    assert update_items(small, [gate], "plan").what == ("new gate G3",)
    with pytest.raises(InputError, match="the key is taken"):
        update_items(small, [gate], "plan")


def test_the_source_of_a_value_is_named(small: Session) -> None:
    with pytest.raises(ManyProblemsError) as caught:
        update_items(small, [_document("arm", value=1), _document("torque", value=1)], "why")
    owned, computed = caught.value.problems
    assert isinstance(owned, SourceError)
    assert owned.message == "it is owned by decision D-ARM"
    assert owned.remedy == "Import it --into D-ARM/short or D-ARM/long or D-ARM/later"
    assert computed.message == "it is computed by check C-LEVER"


def test_problems_of_new_and_known_come_together_with_their_places(small: Session) -> None:
    documents = [
        _document("gap", title="Gap", value="wide"),
        _document("load", value="heavy"),
        _document("gip", value=1),
    ]
    with pytest.raises(ManyProblemsError) as caught:
        update_items(small, documents, "why", ["line 2", "line 3", "line 4"])
    assert sorted((each.item, each.field) for each in caught.value.problems) == [
        ("line 2, gap", "value"),
        ("line 3, load", "value"),
        ("line 4, gip", "title"),
    ]


def test_an_option_takes_only_what_its_decision_sets(small: Session) -> None:
    told = update_items(small, [_document("arm", value=130)], "why", into="D-ARM/long")
    assert told.what == ("D-ARM/long.arm: 150 mm → 130 mm (guess)",)
    with pytest.raises(UnknownKeyError, match="D-ARM does not set load"):
        update_items(small, [_document("load", value=1)], "why", into="D-ARM/long")


def test_a_key_of_another_kind_is_refused_by_name(small: Session) -> None:
    with pytest.raises(InputError, match="has no key"):
        update_items(small, [{"kind": "quantity", "key": ["load"], "value": 1}], "why")
