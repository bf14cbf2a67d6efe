"""A small programme: an arm under a load, a list of parts, two decisions, two gates.

By hand: torque 100 N · 120 mm = 12 N·m with the short arm, 15 N·m with the long one, against
at most 16 N·m (margin 4/16 and 1/16); mass 2 · 1.6 kg + 4 · 0.2 kg = 4 kg against at most 5 kg.
"""

from __future__ import annotations

from itertools import count
from typing import Any

import pytest

from tests.unit.services.memory import MemoryStore
from tests.unit.services.toys import CHECKS
from tracker.exchange.units import PintUnits
from tracker.host.catalogue import EntryPoints
from tracker.model.changes import Entry
from tracker.model.records import ProgrammeInfo
from tracker.services.actions import add_items
from tracker.services.ports import Store
from tracker.services.session import Session, Tools

Document = dict[str, Any]

UNITS = PintUnits()
_CATALOGUE = EntryPoints(UNITS, CHECKS)


def near(value: object) -> Any:  # noqa: ANN401 - equals numbers, and sequences of them
    """Return what equals a computed number within 1e-9."""
    return pytest.approx(value, rel=1e-9)


GATES: list[Document] = [
    {"kind": "gate", "key": "G1", "title": "Concept", "date": "2031-03-01"},
    {"kind": "gate", "key": "G2", "title": "Design", "date": "2031-09-01"},
]
QUANTITIES: list[Document] = [
    {
        "kind": "quantity",
        "key": "load",
        "title": "Load on the arm",
        "unit": "N",
        "value": "100 N",
        "basis": "quoted",
        "source": "Supplier sheet 7",
        "dated": "2030-11-02",
        "tolerance": "5 N",
        "tolerance_shape": "normal",
        "low": "50 N",
        "high": "200 N",
    },
    {"kind": "quantity", "key": "arm", "title": "Arm length", "unit": "mm"},
    {"kind": "quantity", "key": "torque", "title": "Torque", "unit": "N*m"},
    {
        "kind": "quantity",
        "key": "hub",
        "title": "Hub",
        "type": "point",
        "unit": "mm",
        "value": "[0, 600, 300]",
    },
    {
        "kind": "quantity",
        "key": "side",
        "title": "Side",
        "type": "choice",
        "choices": ["left", "right"],
        "value": "left",
        "basis": "measured",
    },
    {"kind": "quantity", "key": "sealed", "title": "Sealed", "type": "flag", "value": "yes"},
    {
        "kind": "quantity",
        "key": "parts",
        "title": "Parts",
        "type": "table",
        "columns": [
            {"name": "part", "type": "text"},
            {"name": "mass", "unit": "kg"},
            {"name": "count", "type": "integer"},
            {"name": "spare", "type": "flag"},
        ],
        "value": [["arm", "1.6e-3 t", 2, False], ["stop L/R", 0.2, 4, False]],
    },
    {"kind": "quantity", "key": "mass", "title": "Mass", "unit": "kg"},
    {"kind": "quantity", "key": "pieces", "title": "Pieces", "type": "integer"},
    {"kind": "quantity", "key": "tread", "title": "Tread", "unit": "mm", "unknown": "not chosen"},
]
REQUIREMENTS: list[Document] = [
    {
        "kind": "requirement",
        "key": "R-TORQUE",
        "statement": "The lock must not be forced",
        "quantity": "torque",
        "upper": "16 N*m",
        "source": "Lock drawing",
        "owner": "Steering",
        "verification": "test",
        "gate": "G1",
    },
    {
        "kind": "requirement",
        "key": "R-ARM",
        "statement": "A hand fits in",
        "quantity": "arm",
        "lower": "100 mm",
        "parents": ["R-TORQUE"],
    },
    {
        "kind": "requirement",
        "key": "R-HUB",
        "statement": "The hub sits at axle height",
        "quantity": "hub.z",
        "lower": "29 cm",
        "upper": "31 cm",
        "target": "300 mm",
    },
    {
        "kind": "requirement",
        "key": "R-SIDE",
        "statement": "It goes left",
        "quantity": "side",
        "allowed": "left",
    },
    {
        "kind": "requirement",
        "key": "R-SEAL",
        "statement": "It is sealed",
        "quantity": "sealed",
        "allowed": ["yes"],
    },
    {
        "kind": "requirement",
        "key": "R-CELL",
        "statement": "One hand lifts the arm",
        "quantity": "parts[arm].mass",
        "upper": "2 kg",
    },
    {
        "kind": "requirement",
        "key": "R-MASS",
        "statement": "It stays light",
        "quantity": "mass",
        "upper": "5 kg",
        "gate": "G2",
    },
]
DECISIONS: list[Document] = [
    {
        "kind": "decision",
        "key": "D-ARM",
        "question": "How long is the arm?",
        "options": [
            {
                "key": "short",
                "title": "Short arm",
                "notes": "Forged",
                "settings": {
                    "arm": {"value": "12 cm", "basis": "calculated", "source": "Sketch 3"}
                },
            },
            {"key": "long", "title": "Long arm", "settings": {"arm": 150}},
            {
                "key": "later",
                "title": "Wait for the supplier",
                "settings": {"arm": {"unknown": "the supplier has not answered"}},
            },
        ],
        "serves": ["R-TORQUE"],
        "owner": "Lead",
        "gate": "G1",
    },
    {
        "kind": "decision",
        "key": "D-MASS",
        "question": "Which parts?",
        "options": [{"key": "forged", "title": "Forged"}, {"key": "cast", "title": "Cast"}],
        "serves": ["R-MASS"],
        "rests_on": ["D-ARM"],
        "gate": "G2",
    },
]
USES: list[Document] = [
    {
        "kind": "check",
        "key": "C-LEVER",
        "title": "Torque of the arm",
        "check": "lever",
        "decision": "D-ARM",
        "config": {"note": "static"},
        "inputs": {"force": "load", "arm": "arm", "angle": {"value": "1.5707963267948966 rad"}},
        "outputs": {"torque": "torque"},
    },
    {
        "kind": "check",
        "key": "C-MASS",
        "check": "parts-list",
        "decision": "D-MASS",
        "inputs": {"parts": "parts", "limit": "R-CELL.upper", "side": "side", "at": "hub"},
        "outputs": {"mass": "mass", "pieces": "pieces"},
    },
]
SMALL = [*USES, *DECISIONS, *REQUIREMENTS, *QUANTITIES, *GATES]
"""Everything, the referring items first: they point forward."""

AGAINST = {"long": "It bends", "later": "The tool must be ordered"}


def toy_tools(now: str = "2031-01-15T08:00:00Z") -> Tools:
    """Return tools with the small checks, a standing clock and counted ids."""
    numbers = count(1)
    return Tools(
        catalogue=_CATALOGUE, units=UNITS, clock=lambda: now, ids=lambda: f"id{next(numbers):05}"
    )


def empty_session(store: Store | None = None, author: str = "Ann") -> Session:
    """Return a programme that holds nothing but its name."""
    session = Session(store or MemoryStore(), toy_tools(), author)
    info = ProgrammeInfo(id="programme", key="programme", title="Small", currency="EUR")
    session.commit((Entry(None, info),), "create the programme")
    return session


def small_session(store: Store | None = None, author: str = "Ann") -> Session:
    """Return the small programme."""
    session = empty_session(store, author)
    add_items(session, SMALL, "begin")
    return session
