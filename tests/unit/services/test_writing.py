"""What a form is told while one types: every problem once, what numbers mean, what it would do.

Conversions by the definition of the inch (25.4 mm exactly) and of the metric prefixes.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.small import near
from tracker.errors import UnknownKeyError
from tracker.model.records import Requirement
from tracker.services.actions import add_items
from tracker.services.session import Session
from tracker.services.writing import Written, held_item, ports_of, try_writing


def fields(written: Written) -> list[str]:
    return [each.field for each in written.problems]


def new(kind: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401 - JSON data
    return {"kind": kind, "key": "new", **more}


def test_what_is_in_order_says_what_it_would_do_and_stores_nothing(small: Session) -> None:
    before = small.head
    written = try_writing(
        small,
        new("requirement", statement="Short", quantity="arm", upper="100 mm", target="4 in"),
    )
    assert written.problems == ()
    assert written.ripple is not None
    assert [each.judge for each in written.ripple.findings] == ["new"]
    assert written.numbers["target"] == "= 101.6 mm"
    assert written.numbers["upper"] == "mm"
    assert small.head == before
    assert small.programme.find("new") is None


def test_every_problem_is_told_at_once(small: Session) -> None:
    document = new(
        "requirement", key="arm", quantity="arm", upper="3 kg", gate="G9", parents="load"
    )
    assert set(fields(try_writing(small, document))) == {
        "key",
        "statement",
        "upper",
        "gate",
        "parents",
    }


def test_what_cannot_be_stood_in_for_ends_the_search(small: Session) -> None:
    assert fields(try_writing(small, new("requirement", upper="3 kg"))) == ["quantity"]
    nowhere = new("requirement", statement="x", quantity="nothing", upper="3")
    assert fields(try_writing(small, nowhere)) == ["quantity"]


def test_a_ring_is_found_by_trying(small: Session) -> None:
    document = new(
        "check",
        check="lever",
        decision="D-ARM",
        inputs={"force": "load", "arm": "arm"},
        outputs={"torque": "torque"},
    )
    written = try_writing(small, document)
    assert written.ripple is None
    assert len(written.problems) == 1


def test_ports_are_told_apart_and_their_numbers_converted(small: Session) -> None:
    document = new(
        "check",
        check="lever",
        decision="D-ARM",
        inputs={
            "force": {"value": "0.2 kN"},
            "arm": {"value": "3 kg"},
            "bogus": {"value": "1"},
            "side": "side",
        },
        outputs={"torque": "nowhere"},
    )
    written = try_writing(small, document)
    assert written.numbers == {"force": "= 200 N"}
    assert set(fields(written)) == {"arm", "bogus", "torque"}
    unloaded = try_writing(small, new("check", check="none such", decision="D-ARM"))
    assert unloaded.numbers == {}


@pytest.mark.parametrize(
    ("more", "name", "shown"),
    [
        ({"unit": "mm", "value": "1 in"}, "value", "= 25.4 mm"),
        ({"unit": "mm", "value": "1 mm"}, "value", "mm"),
        ({"unit": "mm", "value": "1 kg"}, "value", "mm"),
        ({"unit": "mm", "value": "1 1 1"}, "value", "mm"),
        ({"unit": "mm", "value": [1, 2, 3]}, "value", "mm"),
        ({"unit": "mm", "type": "point", "value": "[1, 2, 0] in"}, "value", "= [25.4, 50.8, 0] mm"),
        ({"unit": "mm", "low": "-2 cm"}, "low", "= -20 mm"),
        ({"unit": "degC", "tolerance": "2 K"}, "tolerance", "= 2 degC"),
        ({"unit": "mm", "tolerance": "2 kg"}, "tolerance", "mm"),
        ({"unit": "mm", "tolerance": "0.1 cm"}, "tolerance", "= 1 mm"),
    ],
)
def test_numbers_of_a_quantity(small: Session, more: dict[str, Any], name: str, shown: str) -> None:
    assert try_writing(small, new("quantity", title="New", **more)).numbers[name] == shown


def test_numbers_of_a_deviation_are_in_the_unit_of_its_requirement(small: Session) -> None:
    written = try_writing(small, new("deviation", requirement="R-TORQUE", upper="17000 N*mm"))
    assert written.numbers["upper"] == "= 17 N*m"


@pytest.mark.parametrize(
    "document",
    [
        {"kind": "gate"},
        {"kind": "quantity", "unit": "no unit"},
        {"kind": "quantity", "type": "no type"},
        {"kind": "deviation", "requirement": "nothing"},
    ],
)
def test_without_a_unit_numbers_mean_nothing_yet(small: Session, document: dict[str, Any]) -> None:
    assert try_writing(small, document).numbers == {}


def test_an_amendment_is_looked_at_against_what_is_there(small: Session) -> None:
    held = held_item(small, "R-TORQUE")
    assert held.revision == small.head.revision
    changed = {"upper": "14 N*m", "owner": "Axle"}
    written = try_writing(small, {**held.document, **changed}, "R-TORQUE", changed)
    assert written.problems == ()
    assert written.ripple is not None
    wrong = {"upper": "14 kg", "gate": "G9"}
    assert fields(try_writing(small, {**held.document, **wrong}, "R-TORQUE", wrong)) == [
        *("upper", "gate"),
    ]
    assert small.programme.named("R-TORQUE", Requirement).upper is not None


def test_what_amends_nothing_is_refused(small: Session) -> None:
    with pytest.raises(UnknownKeyError):
        held_item(small, "nothing")


def test_what_is_held_makes_the_same_item_again(small: Session) -> None:
    document = {**held_item(small, "load").document, "key": "load-2"}
    add_items(small, [document], "again")
    assert held_item(small, "load-2").document == document
    assert document["tolerance"] == near(5)


def test_ports_come_with_their_units_and_choices(small: Session) -> None:
    ports = ports_of(small, "lever", {})
    assert (ports.check, [each.key for each in ports.inputs][:2]) == ("lever", ["force", "arm"])
    assert [(each.key, each.unit) for each in ports.outputs] == [("torque", "N*mm"), ("dead", "")]
    choices = {each.key: each.unit for each in ports_of(small, "parts-list", {}).outputs}
    assert choices["to"] == "left, right"
