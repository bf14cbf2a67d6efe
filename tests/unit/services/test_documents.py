"""Documents out and in again: nothing is lost but ids."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.unit.services.small import AGAINST, Document, empty_session
from tracker.model.codec import to_plain
from tracker.services.actions import add_items, lean, set_values, settle, withdraw
from tracker.services.documents import document_of
from tracker.services.session import Session


def documents(session: Session) -> list[Document]:
    programme = session.programme
    return [document_of(programme, each) for each in programme if each.key != "programme"]


def by_key(session: Session) -> dict[str, Any]:
    """Return every record as plain data, ids replaced by keys."""
    names = {each.id: each.key for each in session.programme}
    for decision in json.loads(json.dumps(documents(session))):
        for option in decision.get("options", ()):
            record = session.programme.find(decision["key"])
            made = next(each for each in record.options if each.key == option["key"])  # type: ignore[union-attr] # a decision
            names[made.id] = f"{decision['key']}/{option['key']}"
    return {each.key: _renamed(to_plain(each), names) for each in session.programme}


def _renamed(plain: Any, names: dict[str, str]) -> Any:  # noqa: ANN401 - JSON data
    if isinstance(plain, dict):
        kept = {key: value for key, value in plain.items() if key != "bindings"}  # made of ids
        return {_name(key, names): _renamed(value, names) for key, value in kept.items()}
    if isinstance(plain, list):
        return [_renamed(each, names) for each in plain]
    return _name(plain, names) if isinstance(plain, str) else plain


def _name(text: str, names: dict[str, str]) -> str:
    head, bar, part = text.partition("|")
    word, blank, mark = head.partition(" ")
    return names.get(word, word) + blank + mark + bar + part


def again(session: Session) -> Session:
    twin = empty_session()
    add_items(twin, json.loads(json.dumps(documents(session))), "import")
    return twin


def full(session: Session) -> Session:
    """Bring every kind of value and state into a programme."""
    settle(session, "D-ARM", "short", "The short arm holds", AGAINST)
    lean(session, "D-MASS", "cast")
    set_values(session, {"hub.x": "1 cm", "parts[1].count": 3, "R-HUB.scale": "5 mm"}, "edit")
    extra: list[Document] = [
        {"kind": "decision", "key": "D-OUT", "question": "Keep it?"},
        {
            "kind": "quantity",
            "key": "none",
            "title": "Empty",
            "type": "table",
            "columns": [{"name": "x", "unit": "mm"}],
            "value": [],
        },
        {"kind": "quantity", "key": "zero", "title": "Zero", "value": 0, "basis": "measured"},
        {"kind": "quantity", "key": "off", "title": "Off", "type": "flag", "value": False},
    ]
    add_items(session, extra, "more")
    withdraw(session, "D-OUT", "gone")
    return session


def test_a_fresh_programme_gets_the_same_records(small: Session) -> None:
    full(small)
    twin = again(small)
    assert by_key(twin) == by_key(small)
    assert sorted(documents(again(twin)), key=str) == sorted(documents(small), key=str)
    arm = next(each for each in documents(small) if each["key"] == "D-ARM")
    assert arm["against"] == AGAINST
    assert (arm["state"], arm["chosen"]) == ("settled", "short")


def test_the_same_values_come_out_of_the_fresh_programme(small: Session) -> None:
    full(small)
    twin = again(small)
    for name in ("findings", "standings"):
        mine, theirs = getattr(small.engine.state, name), getattr(twin.engine.state, name)
        assert len(mine) == len(theirs) > 0
    assert [each.judgement for each in small.engine.state.findings if each] == [
        each.judgement for each in twin.engine.state.findings if each
    ]


def test_empty_fields_are_left_out_but_zero_no_and_empty_tables_are_values(small: Session) -> None:
    full(small)
    told = {each["key"]: each for each in documents(small)}
    assert told["zero"]["value"] == 0.0
    assert told["off"]["value"] is False
    assert told["none"]["value"] == []
    assert "tolerance" not in told["zero"]
    assert "value" not in told["arm"]
    assert told["tread"] == {
        "kind": "quantity",
        "key": "tread",
        "title": "Tread",
        "type": "real",
        "unit": "mm",
        "unknown": "not chosen",
        "basis": "guess",
    }


def test_texts_are_told_as_typed_and_data_as_data(small: Session) -> None:
    told = {each["key"]: each for each in documents(small)}
    assert told["load"]["value"] == "100 N"
    assert told["R-HUB"]["lower"] == "29 cm"
    assert told["R-CELL"]["quantity"] == "parts[arm].mass"
    assert told["C-MASS"]["inputs"] == {
        "parts": "parts",
        "limit": "R-CELL.upper",
        "side": "side",
        "at": "hub",
    }
    assert told["C-LEVER"]["inputs"]["angle"] == {"value": "1.5707963267948966 rad"}
    set_values(small, {"load": 90, "hub.x": 1}, "data")
    told = {each["key"]: each for each in documents(small)}
    assert told["load"]["value"] == 90.0
    assert told["hub"]["value"] == [1.0, 600.0, 300.0]


def test_the_programme_itself_is_told_too(small: Session) -> None:
    record = small.programme.find("programme")
    assert record is not None
    assert document_of(small.programme, record) == {
        "kind": "programme",
        "key": "programme",
        "title": "Small",
        "currency": "EUR",
    }


def test_renamed_items_are_told_by_their_new_key(small: Session) -> None:
    from tracker.services.actions import amend_item

    amend_item(small, "load", {"key": "axle_load"}, "clearer")
    told = {each["key"]: each for each in documents(small)}
    assert told["C-LEVER"]["inputs"]["force"] == "axle_load"


@pytest.mark.parametrize("value", ["1e-3 t", 0.1, 1 / 3, 5e-324, 1.7e308])
def test_numbers_survive_to_the_bit(empty: Session, value: object) -> None:
    q = {"kind": "quantity", "key": "q", "title": "Q", "unit": "kg", "value": value}
    add_items(empty, [q], "one")
    assert by_key(again(empty)) == by_key(empty)
