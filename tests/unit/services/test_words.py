"""Every kind of entry in words a designer would use."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.unit.services.small import AGAINST
from tracker.model.changes import Entry
from tracker.model.records import Bound, CheckUse, Decision, Quantity, Record, Requirement
from tracker.services.actions import (
    amend_item,
    lean,
    reopen,
    set_values,
    settle,
    withdraw,
)
from tracker.services.documents import document_of
from tracker.services.session import Session
from tracker.services.words import describe


def record(session: Session, key: str) -> Record:
    found = session.programme.find(key)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("edits", "said"),
    [
        ({"load": "0.12 kN"}, ("load: 100 N → 120 N (guess)",)),
        ({"load": ""}, ("load: 100 N → unknown, taken away",)),
        ({"tread": "1.5 m"}, ("tread: unknown, not chosen → 1500 mm (guess)",)),
        ({"hub.z": "1"}, ("hub: [0, 600, 300] mm → [0, 600, 1] mm (guess)",)),
        ({"side": "right"}, ("side: left → right (guess)",)),
        ({"sealed": "no"}, ("sealed: yes → no (guess)",)),
        ({"parts[arm].mass": "2"}, ("parts[arm].mass: 1.6 kg → 2 kg",)),
        (
            {"parts[2].count": "5", "parts[2].spare": "yes"},
            ("parts[stop L/R].count: 4 → 5", "parts[stop L/R].spare: no → yes"),
        ),
        ({"parts[2].part": "bump"}, ("parts[2].part: stop L/R → bump",)),
        ({"parts": [["arm", 1.6, 2, False]]}, ("parts[stop L/R]: row removed",)),
        (
            {"parts": [["stop L/R", 0.2, 4, False], ["arm", 1.6, 2, False]]},
            ("parts: rows in another order",),
        ),
        (
            {"parts": [["hub", 5, 1, False], ["arm", 1.6, 2, False], ["stop L/R", 0.2, 4, False]]},
            ("parts[hub]: new row",),
        ),
        (
            {"parts": [["a", 1, 1, False], ["a", 1, 1, False], ["b", 1, 1, True]]},
            (
                "parts[1].part: arm → a",
                "parts[1].mass: 1.6 kg → 1 kg",
                "parts[1].count: 2 → 1",
                "parts[2].part: stop L/R → a",
                "parts[2].mass: 0.2 kg → 1 kg",
                "parts[2].count: 4 → 1",
                "and 1 more changes of parts",
            ),
        ),
        (
            {"parts": [["a", 1, 1, True], ["b", 1, 4, False]]},
            (
                "parts[1].part: arm → a",
                "parts[1].mass: 1.6 kg → 1 kg",
                "parts[1].count: 2 → 1",
                "parts[1].spare: no → yes",
                "parts[2].part: stop L/R → b",
                "parts[2].mass: 0.2 kg → 1 kg",
            ),
        ),
        ({"parts": ""}, ("parts: 2 rows → unknown, taken away",)),
        ({"R-TORQUE.upper": "15"}, ("R-TORQUE upper: 16 N*m → 15 N*m",)),
        ({"R-TORQUE.lower": "1"}, ("R-TORQUE lower: none → 1 N*m",)),
        ({"R-HUB.target": ""}, ("R-HUB target: 300 mm → none",)),
        ({"R-CELL.scale": "1"}, ("R-CELL scale: none → 1 kg",)),
        ({"R-TORQUE.guard": "0.25"}, ("R-TORQUE guard: 0.1 → 0.25",)),
        ({"R-SIDE.allowed": "left,right"}, ("R-SIDE allows left, right",)),
        (
            {"D-ARM/short.arm": "110 mm"},
            ("D-ARM/short.arm: 120 mm → 110 mm (guess)",),
        ),
        (
            {"D-ARM/later.arm": "14 cm"},
            ("D-ARM/later.arm: unknown, the supplier has not answered → 140 mm (guess)",),
        ),
    ],
)
def test_values_bounds_and_option_values(
    small: Session, edits: dict[str, object], said: tuple[str, ...]
) -> None:
    assert set_values(small, edits, "news").what == said


@pytest.mark.parametrize(
    ("key", "fields", "said"),
    [
        ("G1", {"date": "2031-04-01"}, ("G1 moved from 2031-03-01 to 2031-04-01",)),
        ("G1", {"title": "Start"}, ("G1 reworded",)),
        ("programme", {"title": "Car\u202e"}, ("programme is called Car<U+202E>, money in EUR",)),
        ("load", {"title": "Force"}, ("load reworded",)),
        (
            "load",
            {"key": "pull", "value": 1},
            ("load is now called pull", "pull: 100 N → 1 N (quoted, Supplier sheet 7)"),
        ),
        ("load", {"basis": "measured"}, ("load: 100 N (measured, Supplier sheet 7)",)),
        ("load", {"value": None}, ("load: 100 N → not stated",)),
        ("load", {"tolerance": "2 N"}, ("load tolerance: ± 2 N (normal)",)),
        ("load", {"tolerance": None}, ("load tolerance: none",)),
        ("load", {"low": None}, ("load may move: at most 200 N",)),
        ("load", {"low": "60 N", "high": None}, ("load may move: at least 60 N",)),
        ("R-ARM", {"statement": "Fits\u200b"}, ("R-ARM now says: Fits<U+200B>",)),
        (
            "R-HUB",
            {"quantity": "hub.x", "lower": "-1"},
            ("R-HUB lower: 290 mm → -1 mm", "R-HUB judges hub.x"),
        ),
        ("R-ARM", {"parents": []}, ("R-ARM derives from nothing",)),
        ("R-HUB", {"parents": ["R-ARM", "R-MASS"]}, ("R-HUB derives from R-ARM, R-MASS",)),
        ("R-TORQUE", {"verification": "inspection"}, ("R-TORQUE is verified by inspection",)),
        ("R-TORQUE", {"owner": ""}, ("R-TORQUE is owned by nobody",)),
        ("R-TORQUE", {"gate": "G2"}, ("R-TORQUE is due at G2",)),
        ("R-TORQUE", {"gate": ""}, ("R-TORQUE is due at no gate",)),
        ("R-TORQUE", {"source": "Law"}, ("R-TORQUE reworded",)),
        ("D-ARM", {"question": "How far?"}, ("D-ARM now asks: How far?",)),
        ("D-ARM", {"serves": ["R-TORQUE", "R-ARM"]}, ("D-ARM serves R-TORQUE, R-ARM",)),
        ("D-MASS", {"rests_on": []}, ("D-MASS rests on nothing",)),
        ("D-MASS", {"sets": ["tread2"]}, None),
        ("D-ARM", {"owner": "Chief"}, ("D-ARM is owned by Chief",)),
        ("C-LEVER", {"title": "Lever"}, ("C-LEVER reworded",)),
        ("C-LEVER", {"config": {}}, ("C-LEVER runs lever",)),
        ("C-LEVER", {"config": {"note": "a\u202eb"}}, ("C-LEVER runs lever with note a<U+202E>b",)),
        ("C-LEVER", {"decision": "D-MASS"}, ("C-LEVER is carried by D-MASS",)),
        (
            "C-LEVER",
            {"inputs": {"force": "load", "arm": "hub.x"}},
            ("C-LEVER takes angle from nowhere", "C-LEVER takes arm from hub.x"),
        ),
        (
            "C-LEVER",
            {"inputs": {"force": {"value": 5}, "arm": "arm", "angle": 45}},
            (
                "C-LEVER takes angle from its own value 45.0 in its own unit",
                "C-LEVER takes force from its own value 5.0 in its own unit",
            ),
        ),
        ("C-MASS", {"outputs": {"mass": "mass"}}, ("C-MASS gives pieces to nothing",)),
    ],
)  # fmt: skip
def test_amended_fields(
    small: Session,
    key: str,
    fields: dict[str, Any],
    said: tuple[str, ...] | None,
) -> None:
    if said is None:
        from tracker.services.actions import add_items

        add_items(small, [{"kind": "quantity", "key": "tread2", "title": "T"}], "one more")
        said = ("D-MASS sets tread2",)
    assert amend_item(small, key, fields, "news").what == said


def test_every_move_of_a_decision(small: Session) -> None:
    assert lean(small, "D-ARM", "long").what == ("D-ARM leans to long",)
    assert settle(small, "D-ARM", "short", "x", AGAINST).what == ("D-ARM settled on short",)
    assert reopen(small, "D-ARM", "x").what == ("D-ARM reopened",)
    assert withdraw(small, "D-ARM", "x").what == ("D-ARM is withdrawn",)
    assert reopen(small, "D-ARM", "x").what == ("D-ARM is open",)


def test_options_that_come_go_and_change(small: Session) -> None:
    told = document_of(small.programme, record(small, "D-ARM"))["options"]
    told[0]["title"] = "Stub\u200b"
    told[1]["settings"] = {}
    told[2] = {"key": "none", "title": "None"}
    assert amend_item(small, "D-ARM", {"options": told}, "news").what == (
        "D-ARM/short reworded: Stub<U+200B>",
        "D-ARM/long.arm: 150 mm → not stated",
        "D-ARM: new option none",
        "D-ARM: option later removed",
    )


def test_what_is_gone_is_told_by_id_or_left_out(small: Session) -> None:
    """Comparing far-apart revisions meets references to records of neither."""
    torque = small.programme.named("R-TORQUE", Requirement)
    moved = replace(torque, quantity="ghost", upper=Bound(value=3.0))
    assert describe(Entry(torque, moved), lambda _: None) == (
        "R-TORQUE upper: 16 → 3",
        "R-TORQUE judges ghost",
    )
    arm = small.programme.named("D-ARM", Decision)
    bare = replace(arm, options=(replace(arm.options[0], settings={}), *arm.options[1:]))
    assert describe(Entry(arm, bare), lambda _: None) == ("D-ARM reworded",)


def test_records_that_come_and_go(small: Session) -> None:
    load = small.programme.named("load", Quantity)
    use = small.programme.named("C-LEVER", CheckUse)
    assert describe(Entry(None, load), small.programme.get) == ("new quantity load",)
    assert describe(Entry(use, None), small.programme.get) == ("check C-LEVER removed",)
