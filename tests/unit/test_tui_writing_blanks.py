"""The table of fields: complete, and a way there and back for every item."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.gate_world import action, deviation, evidence, put, risk
from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import AGAINST, small_session
from tracker.errors import BadValueError, InputError
from tracker.services.actions import settle
from tracker.services.documents import document_of
from tracker.services.intake import amend_entries
from tracker.services.session import Session
from tracker.services.writing import ports_of, try_writing
from tracker.tui.blanks import (
    BLANKS,
    KINDS_WRITTEN,
    Blank,
    Sort,
    document_typed,
    port_blanks,
    typed_of,
)

MADE_ELSEWHERE = {
    "decision": {"state", "chosen", "rationale", "against", "superseded_by", "reviews"},
    "check": {"inputs", "outputs"},
}
"""What deciding adds, and what the ports of the check bring."""


@pytest.fixture
def session() -> Session:
    made = small_session(MemoryStore())
    settle(made, "D-ARM", "short", "The short arm holds", AGAINST)
    put(made, deviation(made, "R-TORQUE", "G2"), action(made, "G1"), risk(made, "G2"))
    put(made, evidence(made, "rig.pdf"))
    return made


def fields_read(session: Session, kind: str) -> set[str]:
    """Ask the reader of a kind of item which fields it knows."""
    odd = {"kind": kind, "key": "odd", "no such field": 1}
    (problem,) = try_writing(session, odd).problems[:1]
    assert isinstance(problem, BadValueError)
    return set(problem.remedy.removeprefix("Fields: ").split(", "))


@pytest.mark.parametrize("kind", KINDS_WRITTEN)
def test_every_field_that_is_read_has_its_blank(session: Session, kind: str) -> None:
    blanks = {each.name.partition(".")[0] for each in BLANKS[kind]}
    assert blanks == fields_read(session, kind) - MADE_ELSEWHERE.get(kind, set())


def blanks_of(session: Session, document: dict[str, Any]) -> tuple[Blank, ...]:
    own = BLANKS[document["kind"]]
    if document["kind"] != "check":
        return own
    return (*own, *port_blanks(ports_of(session, document["check"], document.get("config", {}))))


def documents(session: Session) -> list[dict[str, Any]]:
    found = [document_of(session.programme, each) for each in session.programme]
    return [each for each in found if each["kind"] in BLANKS]


def test_what_is_not_touched_stays_as_it_is(session: Session) -> None:
    assert {each["kind"] for each in documents(session)} == set(KINDS_WRITTEN)
    for held in documents(session):
        blanks = blanks_of(session, held)
        document = document_typed(held["kind"], {}, blanks, held)
        assert document == {name: held[name] for name in document}
        (entry,) = amend_entries(session, held["key"], _changes(document, held))
        assert entry.before == entry.after


def _changes(document: dict[str, Any], held: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in document.items() if value != held.get(name, "")}


def test_typing_what_is_there_makes_the_same_item(session: Session) -> None:
    for held in documents(session):
        if held.get("type") == "table":
            continue  # its rows come from a file
        blanks = blanks_of(session, held)
        typed = {**typed_of(held, blanks), "key": held["key"]}
        document = document_typed(held["kind"], typed, blanks)
        (entry,) = amend_entries(session, held["key"], _kept(held, document))
        if held["kind"] != "decision":  # its options come back as their titles alone
            assert entry.before == entry.after, held["key"]


def _kept(held: dict[str, Any], document: dict[str, Any]) -> dict[str, Any]:
    fixed = {"kind", "type", "unit", "choices", "columns", "options"}
    return {name: value for name, value in document.items() if name not in fixed}


def test_options_keep_what_they_state_when_their_titles_change(session: Session) -> None:
    held = next(each for each in documents(session) if each["key"] == "D-MASS")
    blanks = BLANKS["decision"]
    texts = typed_of(held, blanks)["options"]
    typed = {"options": texts.replace(" = ", " = New ") + "\nthird = One more\nfourth"}
    options = document_typed("decision", typed, blanks, held)["options"]
    assert [each["title"][:4] for each in options[:2]] == ["New ", "New "]
    assert [each.get("settings") for each in options[:2]] == [
        each.get("settings") for each in held["options"]
    ]
    assert options[2:] == [
        {"key": "third", "title": "One more"},
        {"key": "fourth", "title": "fourth"},
    ]


@pytest.mark.parametrize(
    ("name", "text", "read"),
    [
        ("choices", "left, right,", ["left", "right"]),
        ("columns", "part = text\nmass = kg", [
            {"name": "part", "type": "text"}, {"name": "mass", "unit": "kg"},
        ]),
        ("ranges", "z = 200 mm .. 230 mm", {"z": ["200 mm", "230 mm"]}),
        ("correlated", "load = 0.3\n\n", {"load": "0.3"}),
        ("type", "real", None),
        ("type", "point", "point"),
        ("value", " 12.5 mm ", "12.5 mm"),
    ],
)  # fmt: skip
def test_how_fields_of_a_quantity_are_typed(name: str, text: str, read: object) -> None:
    document = document_typed("quantity", {"key": " q ", name: text}, BLANKS["quantity"])
    assert document.get(name) == read
    assert document["key"] == "q"


def test_a_table_with_its_columns_can_be_made_from_what_is_typed(session: Session) -> None:
    typed = {"key": "t", "title": "T", "type": "table", "columns": "part = text\nmass = kg"}
    document = document_typed("quantity", typed, BLANKS["quantity"])
    assert try_writing(session, document).problems == ()


def test_taking_a_text_away_takes_the_field_away(session: Session) -> None:
    held = next(each for each in documents(session) if each["key"] == "R-TORQUE")
    document = document_typed(
        "requirement", {"source": "", "gate": " "}, BLANKS["requirement"], held
    )
    assert (document["source"], document["gate"]) == ("", "")
    (entry,) = amend_entries(session, "R-TORQUE", _changes(document, held))
    after: Any = entry.after
    assert (after.source, after.gate) == ("", "")


def test_a_port_takes_an_address_or_a_value_of_its_own(session: Session) -> None:
    blanks = (Blank("inputs.force", "Force", Sort.PORT),)
    bound = document_typed("check", {"inputs.force": "load"}, blanks)
    stated = document_typed("check", {"inputs.force": "= 3 N"}, blanks)
    assert (bound["inputs"], stated["inputs"]) == ({"force": "load"}, {"force": {"value": "3 N"}})
    assert typed_of(stated, blanks)["inputs.force"] == "= 3 N"
    assert "inputs" not in document_typed("check", {}, blanks)
    with pytest.raises(InputError):
        ports_of(session, "nothing", {})
