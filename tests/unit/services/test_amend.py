"""Amending items: named fields change, everything else stays."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.unit.services.small import AGAINST, near
from tracker.errors import (
    BadKeyError,
    BadValueError,
    DecisionError,
    DimensionError,
    DuplicateKeyError,
    InputError,
    UnknownKeyError,
)
from tracker.model.records import (
    CheckUse,
    Decision,
    DecisionState,
    Gate,
    ProgrammeInfo,
    Quantity,
    Requirement,
)
from tracker.services.actions import add_items, amend_item, lean, settle
from tracker.services.item import item_page
from tracker.services.session import Session


def test_only_the_named_fields_change(small: Session) -> None:
    before = small.programme.named("load", Quantity)
    amend_item(small, "load", {"title": "Load at the end"}, "clearer")
    assert small.programme.named("load", Quantity) == replace(before, title="Load at the end")
    band = small.programme.named("R-HUB", Requirement)
    amend_item(small, "R-HUB", {"owner": "Axle", "gate": "G2"}, "somebody must own it")
    gate = small.programme.named("G2", Gate)
    assert small.programme.named("R-HUB", Requirement) == replace(band, owner="Axle", gate=gate.id)


@pytest.mark.parametrize(
    ("key", "fields", "read"),
    [
        ("G1", {"date": "2031-04-01"}, lambda record: record.date == "2031-04-01"),
        ("programme", {"title": "Small car"}, lambda record: record.title == "Small car"),
        ("load", {"tolerance": None}, lambda record: record.tolerance is None),
        ("load", {"value": "90 N"}, lambda record: record.given.value == 90.0),
        ("load", {"value": None}, lambda record: record.given is None),
        ("load", {"unknown": "lost"}, lambda record: record.given.reason == "lost"),
        ("tread", {"value": "1.4 m"}, lambda record: record.given.value == 1400.0),
        ("parts", {"value": []}, lambda record: record.given.value == ()),
        ("R-HUB", {"lower": ""}, lambda record: record.lower is None),
        ("R-HUB", {"quantity": "hub.x"}, lambda record: record.part == "x"),
        ("R-ARM", {"parents": []}, lambda record: record.parents == ()),
        ("D-ARM", {"question": "How far?"}, lambda record: record.question == "How far?"),
        ("D-MASS", {"rests_on": []}, lambda record: record.rests_on == ()),
        ("C-LEVER", {"config": {}}, lambda record: record.config == {}),
        ("C-LEVER", {"inputs": {"force": "load", "arm": "arm"}}, lambda r: r.literals == {}),
        ("load", {"unit": "N", "type": "real", "title": "L"}, lambda record: record.title == "L"),
        ("mass", {"choices": [], "title": "M"}, lambda record: record.title == "M"),
    ],
)
def test_every_kind_of_item_is_amended(
    small: Session,
    key: str,
    fields: dict[str, Any],
    read: Any,  # noqa: ANN401 - one reader per kind
) -> None:
    amend_item(small, key, fields, "news")
    assert read(small.programme.find(key))


@pytest.mark.parametrize(
    ("key", "fields", "error", "field", "word"),
    [
        ("load", {"kind": "gate"}, BadValueError, "kind", "kind of an item"),
        ("load", {"unit": "kN"}, BadValueError, "unit", "add a new item"),
        ("pieces", {"unit": "mm"}, BadValueError, "unit", "unit of an item"),
        ("load", {"type": "integer"}, BadValueError, "type", "type of an item"),
        ("side", {"choices": ["left"]}, BadValueError, "choices", "choices of an item"),
        ("parts", {"columns": []}, BadValueError, "columns", "columns of an item"),
        ("G1", {"kind": "quantity"}, BadValueError, "kind", "kind of an item"),
        ("G1", {"type": "real"}, BadValueError, "type", "no field"),
        ("G1", {"unknown": "x"}, BadValueError, "unknown", "no field"),
        ("D-ARM", {"state": "settled"}, BadValueError, "state", "Lean, settle, reopen"),
        ("D-ARM", {"chosen": "short"}, BadValueError, "chosen", "Lean, settle, reopen"),
        ("D-ARM", {"rationale": "x"}, BadValueError, "rationale", "Lean, settle, reopen"),
        ("D-ARM", {"against": {"long": "x"}}, BadValueError, "against", "Lean, settle, reopen"),
        ("load", {"value": "5 kg"}, DimensionError, "value", "kg"),
        ("load", {"value": 5, "unknown": "lost"}, BadValueError, "unknown", "at once"),
        ("load", {"key": "arm"}, DuplicateKeyError, "key", "taken"),
        ("load", {"key": "a b"}, BadKeyError, "key", "not a key"),
        ("nothing", {"title": "x"}, UnknownKeyError, "", "nothing is called 'nothing'"),
        ("a b", {"title": "x"}, BadKeyError, "key", "not a key"),
        ("programme", {"currency": "euro"}, BadValueError, "currency", "EUR"),
    ],
)
def test_what_cannot_be_amended_is_refused_by_name(
    small: Session,
    key: str,
    fields: dict[str, Any],
    error: type[InputError],
    field: str,
    word: str,
) -> None:
    head, records = small.head, list(small.programme)
    with pytest.raises(InputError) as caught:
        amend_item(small, key, fields, "try")
    assert type(caught.value) is error, caught.value
    assert caught.value.field == field
    assert word in str(caught.value)
    assert (small.head, list(small.programme)) == (head, records)


def options(session: Session) -> list[dict[str, Any]]:
    from tracker.services.documents import document_of

    held = document_of(session.programme, session.programme.named("D-ARM", Decision))
    told: list[dict[str, Any]] = held["options"]
    return told


def test_options_of_an_open_decision_change_and_keep_their_ids(small: Session) -> None:
    before = small.programme.named("D-ARM", Decision)
    told = options(small)
    told[0]["title"] = "Stub arm"
    told.append({"key": "none", "title": "No arm"})
    amend_item(small, "D-ARM", {"options": told}, "one more")
    after = small.programme.named("D-ARM", Decision)
    assert [each.id for each in after.options[:3]] == [each.id for each in before.options]
    assert after.options[0].title == "Stub arm"
    assert after.options[3].settings == {}


def test_a_settled_decision_keeps_its_options(settled: Session) -> None:
    told = options(settled)
    told[1]["notes"] = "Cheaper now"
    with pytest.raises(DecisionError) as caught:
        amend_item(settled, "D-ARM", {"options": told}, "cheaper")
    assert caught.value.remedy == "Reopen D-ARM first"


def test_the_words_of_a_settled_decision_change_and_all_it_settled_stays(settled: Session) -> None:
    before = settled.programme.named("D-ARM", Decision)
    amend_item(settled, "D-ARM", {"question": "How long?", "owner": "Chief"}, "clearer")
    after = settled.programme.named("D-ARM", Decision)
    assert after == replace(before, question="How long?", owner="Chief")
    assert after.footing == before.footing
    assert not settled.engine.state.shifts


def test_an_applied_option_cannot_be_taken_away(small: Session) -> None:
    lean(small, "D-ARM", "long")
    with pytest.raises(DecisionError) as caught:
        amend_item(small, "D-ARM", {"options": options(small)[:1]}, "only one")
    assert caught.value.field == "options"
    assert "applied option long" in caught.value.message
    assert small.programme.named("D-ARM", Decision).state is DecisionState.LEANING


def test_renaming_keeps_every_reference(settled: Session) -> None:
    texts = {
        "load": "axle_load",
        "torque": "lock_torque",
        "R-TORQUE": "LOCK-1",
        "D-ARM": "ARM",
        "C-LEVER": "LEVER",
        "G1": "CONCEPT",
        "R-CELL": "LIFT",
    }
    before = {key: item_page(settled, key) for key in ("mass", "R-MASS", "D-MASS")}
    use = settled.programme.named("C-LEVER", CheckUse)
    for old, new in texts.items():
        done = amend_item(settled, old, {"key": new}, "new scheme")
        assert f"{old} is now called {new}" in done.what
        assert settled.programme.find(old) is None
    assert settled.programme.named("LEVER", CheckUse) == replace(use, key="LEVER")
    page = item_page(settled, "ARM")
    assert (page.sign, page.shifted) == ("stands", False)
    assert [each.judge for each in page.findings] == ["LOCK-1", "LEVER.torque", "LEVER.dead"]
    assert ("due at", "CONCEPT") in page.facts
    assert item_page(settled, "lock_torque").value == near(12.0)
    assert dict(item_page(settled, "R-ARM").facts)["derives from"] == "LOCK-1"
    after = {key: item_page(settled, key) for key in before}
    assert {key: page.findings for key, page in after.items()} == {
        key: page.findings for key, page in before.items()
    }


def test_amending_needs_a_reason(small: Session) -> None:
    with pytest.raises(DecisionError, match="to amend needs a reason"):
        amend_item(small, "load", {"title": "x"}, "")
    with pytest.raises(InputError, match="nothing would change"):
        amend_item(small, "load", {"title": "Load on the arm"}, "same")


def test_the_money_of_a_programme_reaches_its_checks(small: Session) -> None:
    amend_item(small, "programme", {"currency": "USD"}, "sold elsewhere")
    info = small.programme.named("programme", ProgrammeInfo)
    assert info.currency == "USD"


def test_an_amended_check_is_checked(small: Session) -> None:
    with pytest.raises(InputError):
        amend_item(small, "C-LEVER", {"inputs": {"force": "arm", "arm": "arm"}}, "wrong")
    add_items(
        small, [{"kind": "quantity", "key": "pull", "title": "Pull", "unit": "kN", "value": 1}], "x"
    )
    settle(small, "D-ARM", "short", "It holds", AGAINST)
    amend_item(small, "C-LEVER", {"inputs": {"force": "pull", "arm": "arm"}}, "the right force")
    assert item_page(small, "torque").value == near(120.0)
    assert item_page(small, "D-ARM").shifted
