"""Item documents in: all or nothing, everything wrong named at once."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.unit.services.small import GATES, QUANTITIES, SMALL, near
from tracker.errors import (
    BadKeyError,
    BadTextError,
    BadUnitError,
    BadValueError,
    BindingError,
    CycleError,
    DecisionError,
    DimensionError,
    DuplicateKeyError,
    InputError,
    ManyProblemsError,
    SourceError,
    UnknownKeyError,
)
from tracker.model.records import (
    BasisKind,
    Bound,
    CheckUse,
    Decision,
    Literal,
    Quantity,
    Requirement,
    Tolerance,
    ToleranceShape,
    Verification,
)
from tracker.services.actions import add_items, try_items
from tracker.services.session import Session

REAL = {"kind": "quantity", "key": "q", "title": "Q", "unit": "mm"}
BAND = {"kind": "requirement", "key": "r", "statement": "S", "quantity": "load", "upper": "5 N"}
CHOICE = {
    "kind": "decision",
    "key": "d",
    "question": "Which?",
    "sets": ["q"],
    "options": [{"key": "a", "title": "A", "settings": {"q": 5}}],
}
USE = {
    "kind": "check",
    "key": "c",
    "check": "relay",
    "decision": "D-ARM",
    "inputs": {"x": "tread"},
    "outputs": {"y": "q"},
}


def test_documents_point_forward_and_become_records(small: Session) -> None:
    programme = small.programme
    load = programme.named("load", Quantity)
    assert load.tolerance == Tolerance(half_width=5.0, shape=ToleranceShape.NORMAL)
    assert (load.low, load.high) == (50.0, 200.0)
    assert load.given is not None
    assert (load.given.value, load.given.typed) == (100.0, "100 N")
    assert load.given.basis.kind is BasisKind.QUOTED
    torque = programme.named("R-TORQUE", Requirement)
    assert torque.upper == Bound(value=16.0, typed="16 N*m")
    assert torque.verification is Verification.TEST
    assert torque.gate == programme.find("G1").id  # type: ignore[union-attr] # it is there
    hub = programme.named("R-HUB", Requirement)
    assert (hub.part, hub.lower, hub.guard) == ("z", Bound(value=290.0, typed="29 cm"), 0.1)
    assert programme.named("R-ARM", Requirement).parents == (torque.id,)
    arm = programme.named("D-ARM", Decision)
    assert arm.owns == (programme.named("arm", Quantity).id,)
    assert [option.settings[arm.owns[0]].value for option in arm.options] == [120.0, 150.0, None]
    lever = programme.named("C-LEVER", CheckUse)
    assert lever.literals["angle"] == Literal(value=near(90.0), typed="1.5707963267948966 rad")
    assert lever.title == "Torque of the arm"
    assert programme.named("C-MASS", CheckUse).title == "parts-list"
    assert programme.named("C-MASS", CheckUse).inputs["limit"].part == "upper"


def test_records_come_in_the_order_that_lets_them_refer(small: Session) -> None:
    kinds = [entry.kind for entry in next(iter(small.store.changes(1))).entries]
    order = ["gate", "quantity", "requirement", "decision", "check"]
    assert kinds == sorted(kinds, key=order.index)


@pytest.mark.parametrize(
    ("document", "error", "item", "field", "word"),
    [
        (5, BadValueError, "", "", "an item is an object"),
        ({}, BadValueError, "None", "kind", "Kinds: programme, gate, quantity"),
        ({"kind": [], "key": "q"}, BadValueError, "q", "kind", "no kind of item"),
        ({"kind": "gate"}, BadKeyError, "", "key", "the gate has no key"),
        ({"kind": "gate", "key": 5}, BadKeyError, "", "key", "the gate has no key"),
        ({"kind": "gate", "key": "a b"}, BadKeyError, "", "key", "'a b' is not a key"),
        ({"kind": "gate", "key": "load"}, DuplicateKeyError, "load", "key", "taken"),
        ({**GATES[0], "key": "g", "colour": 1}, BadValueError, "g", "colour", "no field"),
        ({**GATES[0], "key": "g", "title": ""}, BadValueError, "g", "title", "missing"),
        ({**GATES[0], "key": "g", "date": "soon"}, BadValueError, "g", "date", "YYYY-MM-DD"),
        (
            {"kind": "programme", "key": "p", "title": "T", "currency": "EUR"},
            DuplicateKeyError,
            "p",
            "",
            "has a name already",
        ),
        ({**REAL, "unit": "wug"}, BadUnitError, "q", "unit", "wug"),
        ({**REAL, "value": "5 wug"}, BadUnitError, "q", "value", "wug"),
        ({**REAL, "tolerance": "5 wug"}, BadUnitError, "q", "tolerance", "wug"),
        (
            {**REAL, "type": "table", "columns": [{"name": "a", "unit": "wug"}]},
            BadUnitError,
            "q",
            "columns 1 unit",
            "wug",
        ),
        ({**REAL, "type": "reel"}, BadValueError, "q", "type", "real, integer, choice"),
        ({**REAL, "value": "5 kg"}, DimensionError, "q", "value", "kg does not"),
        ({**REAL, "value": "x"}, BadValueError, "q", "value", "does not begin"),
        ({**REAL, "value": 1, "unknown": "lost"}, BadValueError, "q", "unknown", "at once"),
        ({**REAL, "value": 1, "basis": "sure"}, BadValueError, "q", "basis", "one of"),
        ({**REAL, "value": 1, "source": 5}, BadValueError, "q", "source", "not text"),
        ({**REAL, "tolerance": "5 kg"}, DimensionError, "q", "tolerance", "kg"),
        ({**REAL, "tolerance": -1}, BadValueError, "q", "tolerance", "not negative"),
        (
            {**REAL, "tolerance": 1, "tolerance_shape": "flat"},
            BadValueError,
            "q",
            "tolerance_shape",
            "normal, rectangular, triangular",
        ),
        ({**REAL, "low": "5", "high": "4"}, BadValueError, "q", "low", "upside down"),
        ({**REAL, "low": []}, BadValueError, "q", "low", "not a number"),
        ({**REAL, "title": "a\x1b[0m"}, BadTextError, "q", "title", "U+001B"),
        ({**REAL, "title": 3}, BadValueError, "q", "title", "not text"),
        ({**REAL, "type": "choice"}, BadValueError, "q", "choices", "needs its choices"),
        ({**REAL, "type": "table"}, BadValueError, "q", "columns", "needs its columns"),
        ({**REAL, "type": "table", "columns": 5}, BadValueError, "q", "columns", "not a list"),
        (
            {**REAL, "type": "table", "columns": [{"name": "a"}, {"name": "a"}]},
            BadValueError,
            "q",
            "columns",
            "two columns share a name",
        ),
        (
            {**REAL, "type": "table", "columns": [{"name": "a", "typ": "x"}]},
            BadValueError,
            "q",
            "columns 1 typ",
            "no field",
        ),
        (
            {**REAL, "type": "table", "columns": [{"unit": "mm"}]},
            BadValueError,
            "q",
            "columns 1 name",
            "missing",
        ),
        ({**BAND, "quantity": ""}, BadValueError, "r", "quantity", "missing"),
        ({**BAND, "quantity": "a b"}, BadKeyError, "r", "quantity", "not a key"),
        ({**BAND, "quantity": "none"}, UnknownKeyError, "r", "quantity", "'none'"),
        ({**BAND, "quantity": "G1"}, UnknownKeyError, "r", "quantity", "a gate, not a quantity"),
        ({**BAND, "quantity": "hub.w"}, BindingError, "hub", "quantity", "no part 'w'"),
        ({**BAND, "quantity": "hub", "upper": 5}, BadValueError, "r", "quantity", "as a whole"),
        ({**BAND, "upper": "5 kg"}, DimensionError, "r", "upper", "kg"),
        ({**BAND, "upper": ""}, BadValueError, "r", "lower", "needs a lower or an upper"),
        ({**BAND, "upper": 0}, BadValueError, "r", "scale", "Give a scale"),
        ({**BAND, "scale": "1 mm"}, DimensionError, "r", "scale", "mm"),
        ({**BAND, "guard": 1}, BadValueError, "r", "guard", "share"),
        ({**BAND, "guard": "1 mm"}, DimensionError, "r", "guard", "mm"),
        ({**BAND, "verification": "hope"}, BadValueError, "r", "verification", "analysis, test"),
        ({**BAND, "parents": ["none"]}, UnknownKeyError, "r", "parents", "'none'"),
        ({**BAND, "parents": ["load"]}, UnknownKeyError, "r", "parents", "not a requirement"),
        ({**BAND, "gate": "none"}, UnknownKeyError, "r", "gate", "'none'"),
        ({**BAND, "owner": ["x"]}, BadValueError, "r", "owner", "not text"),
        ({**CHOICE, "question": " "}, BadValueError, "d", "question", "missing"),
        ({**CHOICE, "options": {"a": 1}}, BadValueError, "d", "options", "not a list"),
        ({**CHOICE, "options": ["a"]}, BadValueError, "d", "options", "not objects"),
        ({**CHOICE, "options": [{"key": "a"}]}, BadValueError, "d/a", "title", "missing"),
        (
            {**CHOICE, "options": [{"key": "a", "title": "A", "colour": 1}]},
            BadValueError,
            "d/a",
            "colour",
            "no field",
        ),
        (
            {**CHOICE, "options": [{"key": "a", "title": "A", "settings": 5}]},
            BadValueError,
            "d/a",
            "settings",
            "not an object",
        ),
        (
            {**CHOICE, "options": [{"key": "a.b", "title": "A"}]},
            BadKeyError,
            "d",
            "option",
            "'a.b' is not a key",
        ),
        (
            {**CHOICE, "options": [{"title": "A"}]},
            BadKeyError,
            "d",
            "option",
            "'' is not a key",
        ),
        (
            {**CHOICE, "options": [{"key": "a", "title": "A"}] * 2},
            DuplicateKeyError,
            "d",
            "options",
            "share a key",
        ),
        (
            {**CHOICE, "options": [{"key": "a", "title": "A", "settings": {"q": "5 kg"}}]},
            DimensionError,
            "d/a.q",
            "value",
            "kg",
        ),
        (
            {
                **CHOICE,
                "options": [{"key": "a", "title": "A", "settings": {"q": {"valeu": 5}}}],
            },
            BadValueError,
            "d/a.q",
            "valeu",
            "no field",
        ),
        (
            {**CHOICE, "options": [{"key": "a", "title": "A", "settings": {"none": 5}}]},
            UnknownKeyError,
            "d",
            "options",
            "'none'",
        ),
        (
            {**CHOICE, "options": [{"key": "a", "title": "A", "settings": {"G1": 5}}]},
            UnknownKeyError,
            "d",
            "options",
            "G1 is a gate, not a quantity",
        ),
        ({**CHOICE, "sets": ["load"]}, SourceError, "load", "", "two sources"),
        ({**CHOICE, "sets": 5}, BadValueError, "d", "sets", "not a list of texts"),
        ({**CHOICE, "serves": ["none"]}, UnknownKeyError, "d", "serves", "'none'"),
        ({**CHOICE, "serves": ["G1"]}, UnknownKeyError, "d", "serves", "not a requirement"),
        ({**CHOICE, "rests_on": ["d"]}, DecisionError, "d", "rests_on", "rest on itself"),
        ({**CHOICE, "gate": "none"}, UnknownKeyError, "d", "gate", "'none'"),
        ({**CHOICE, "state": "sure"}, BadValueError, "d", "state", "open, leaning"),
        ({**CHOICE, "state": "leaning"}, DecisionError, "d", "", "one applied option"),
        ({**CHOICE, "chosen": "b"}, UnknownKeyError, "d", "chosen", "Options: a"),
        ({**CHOICE, "against": {"b": "x"}}, UnknownKeyError, "d", "against", "Options: a"),
        (
            {**CHOICE, "state": "settled", "chosen": "a"},
            DecisionError,
            "d",
            "rationale",
            "without a rationale",
        ),
        ({**USE, "check": "none"}, BindingError, "none", "", "Installed are"),
        ({**USE, "check": ""}, BadValueError, "c", "check", "missing"),
        ({**USE, "decision": "none"}, UnknownKeyError, "c", "decision", "'none'"),
        ({**USE, "decision": "load"}, UnknownKeyError, "c", "decision", "not a decision"),
        ({**USE, "inputs": []}, BadValueError, "c", "inputs", "not an object"),
        ({**USE, "inputs": {"x": "none"}}, UnknownKeyError, "c", "x", "'none'"),
        ({**USE, "inputs": {"x": "a b"}}, BadKeyError, "c", "x", "not a key"),
        (
            {**USE, "inputs": {"x": "G1"}},
            UnknownKeyError,
            "c",
            "x",
            "not a quantity or requirement",
        ),
        ({**USE, "inputs": {"x": "hub.w"}}, BindingError, "hub", "x", "no part 'w'"),
        ({**USE, "inputs": {"x": "load"}}, DimensionError, "c", "x", "N does not"),
        ({**USE, "inputs": {"x": {"value": "5 kg"}}}, DimensionError, "c", "x", "kg"),
        ({**USE, "inputs": {"x": {"valeu": 5}}}, BadValueError, "c", "x", "not a number"),
        ({**USE, "inputs": {"z": 5}}, UnknownKeyError, "c", "z", "Its inputs: x"),
        ({**USE, "inputs": {"z": "tread"}}, BindingError, "c", "z", "Its inputs: x"),
        ({**USE, "inputs": {}}, BindingError, "c", "x", "not bound"),
        ({**USE, "outputs": {"z": "q"}}, BindingError, "c", "z", "Its outputs: y"),
        ({**USE, "outputs": {"y": "none"}}, UnknownKeyError, "c", "y", "'none'"),
        ({**USE, "outputs": {"y": "load"}}, SourceError, "load", "", "two sources"),
        ({**USE, "inputs": {"x": "q"}}, CycleError, "c", "", "c → c"),
        (
            {**USE, "check": "lever", "config": {"colour": 1}},
            BindingError,
            "lever",
            "config colour",
            "no such field",
        ),
    ],
)
def test_what_is_wrong_is_named_by_item_and_field_and_nothing_is_stored(
    small: Session,
    document: Any,  # noqa: ANN401 - hostile JSON
    error: type[InputError],
    item: str,
    field: str,
    word: str,
) -> None:
    head, records = small.head, list(small.programme)
    helpers = [REAL] if not isinstance(document, dict) or document.get("key") != "q" else []
    with pytest.raises(InputError) as caught:
        add_items(small, [*helpers, document], "try")
    assert type(caught.value) is error, caught.value
    assert (caught.value.item, caught.value.field) == (item, field), caught.value
    assert word in str(caught.value)
    assert (small.head, list(small.programme)) == (head, records)


def test_many_problems_are_told_at_once_with_their_places(small: Session) -> None:
    documents = [
        {**REAL, "key": "ok"},
        {**REAL, "key": "one", "value": "5 kg"},
        {"kind": "wish", "key": "two"},
        {**BAND, "quantity": "one"},
        {**REAL, "key": "ok"},
        {**USE, "check": "lever", "config": {"a": 1, "b": 2}},
        7,
    ]
    places = [f"line {number}" for number in range(1, 8)]
    head = small.head
    with pytest.raises(ManyProblemsError) as caught:
        add_items(small, documents, "try", places)  # type: ignore[arg-type] # hostile JSON
    said = [(each.item, each.field) for each in caught.value.problems]
    assert said == [
        ("line 3, two", "kind"),
        ("line 5, ok", "key"),
        ("line 7", ""),
        ("line 2, one", "value"),
        ("line 4, r", "quantity"),
        ("line 6, lever", "config a"),
        ("line 6, lever", "config b"),
    ]
    assert "one is wrong itself" in str(caught.value)
    assert str(caught.value).startswith("7 problems, nothing was changed:\n  ")
    assert small.head == head
    assert small.programme.find("ok") is None


def test_the_documents_themselves_stay_untouched(empty: Session) -> None:
    before = copy.deepcopy(SMALL)
    add_items(empty, SMALL, "begin")
    assert before == SMALL


def test_hostile_text_is_kept_as_text(empty: Session) -> None:
    title = "[R-12] stiffness [@click=app.bell] '; DROP TABLE record; --"
    add_items(empty, [{**REAL, "title": title}], "import")
    assert empty.programme.named("q", Quantity).title == title


def test_adding_needs_a_reason_and_something_to_add(small: Session) -> None:
    with pytest.raises(DecisionError) as caught:
        add_items(small, [REAL], "")
    assert caught.value.message == "to add needs a reason"
    with pytest.raises(InputError, match="nothing would change"):
        add_items(small, [], "nothing")


def test_a_decision_may_come_in_settled_and_stands_on_what_comes_with_it(small: Session) -> None:
    told = {
        **CHOICE,
        "state": "settled",
        "chosen": "a",
        "rationale": "Only one fits",
        "options": [*CHOICE["options"], {"key": "b", "title": "B"}],
        "against": {"b": "It does not fit"},
    }
    add_items(small, [REAL, told], "from the old programme")
    decision = small.programme.named("d", Decision)
    assert decision.footing is not None
    assert decision.footing.values == {decision.owns[0]: 5.0}
    assert decision.id not in small.engine.state.shifts


def test_trying_to_add_stores_nothing(small: Session) -> None:
    head, band = small.head, {**BAND, "upper": "90 N"}
    ripple = try_items(small, [band])
    assert ripple.edits == ("new requirement r",)
    assert [each.after.verdict for each in ripple.findings if each.after] == ["missed"]
    assert small.head == head
    assert small.programme.find("r") is None


def test_an_option_may_leave_a_value_unsaid(small: Session) -> None:
    unsaid = {"key": "a", "title": "A", "settings": {"q": {}}}
    add_items(small, [REAL, {**CHOICE, "options": [unsaid]}], "x")
    decision = small.programme.named("d", Decision)
    assert decision.owns == (small.programme.named("q", Quantity).id,)
    assert decision.options[0].settings == {}


def test_reading_a_literal_needs_no_document(small: Session) -> None:
    use = {**USE, "inputs": {"x": 0}, "key": "zero"}
    add_items(small, [REAL, use], "a literal zero")
    assert small.programme.named("zero", CheckUse).literals == {"x": Literal(value=0.0)}
    assert QUANTITIES[0]["key"] == "load"
