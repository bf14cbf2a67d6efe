"""Rows about gate packs: a programme of thousands of requirements and decisions against the demo."""

from __future__ import annotations

import dataclasses
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from demo_program.story import make_demo
from tests.bench.harness import Row, quiet
from tracker.bootstrap import make_programme, open_session
from tracker.model.records import Gate
from tracker.report.pack import render
from tracker.services.actions import add_items
from tracker.services.pack_codec import pack_bytes, read_pack
from tracker.services.pack_content import Freeze, pack_content
from tracker.services.pack_views import PackContent
from tracker.services.readiness import readiness
from tracker.services.session import Session

__all__ = ["many_decisions", "pack_freeze", "pack_write"]

_SERVED = 5  # requirements of one decision
_SHARING = 20  # decisions under one load


def many_decisions(folder: Path, decisions: int) -> Session:
    """Make a stored programme: each decision with a check, two options and five requirements."""
    place = folder / f"decisions-{decisions}.db"
    session = make_programme(place, f"{decisions} decisions", "EUR", who="bench")
    documents: list[dict[str, object]] = [
        {"kind": "gate", "key": "G1", "title": "Design", "date": "2031-01-01"},
    ]
    for number in range(0, decisions, _SHARING):
        load = {"key": f"load{number // _SHARING}", "title": "Load", "unit": "N", "value": "900 N"}
        documents.append({**_GIVEN, **load})
    for number in range(decisions):
        documents += _bracket(number)
    add_items(session, documents, "many decisions for the bench")
    return session


_GIVEN: dict[str, object] = {
    "kind": "quantity",
    "basis": "quoted",
    "source": "Load book",
    "dated": "2030-05-01",
}


def _bracket(number: int) -> list[dict[str, object]]:
    """Return a bracket: its thickness is decided, its stress is a formula of that and the load."""
    thick, stress, mass, price = (f"{each}{number}" for each in ("t", "s", "m", "p"))
    bands = {
        thick: ("mm", "1 mm", "20 mm"),
        stress: ("MPa", None, "160 MPa"),
        mass: ("kg", None, f"{4 + number % 7} kg"),
        price: ("EUR", None, "50 EUR"),
    }
    judged = [thick, stress, mass, price, stress]
    quantities: list[dict[str, object]] = [
        {"kind": "quantity", "key": thick, "title": f"Thickness {number}", "unit": "mm"},
        {"kind": "quantity", "key": stress, "title": f"Stress {number}", "unit": "MPa"},
        {**_GIVEN, "key": mass, "title": f"Mass {number}", "unit": "kg", "value": "3 kg"},
        {**_GIVEN, "key": price, "title": f"Price {number}", "unit": "EUR", "value": "41 EUR"},
    ]
    requirements: list[dict[str, object]] = [
        {
            "kind": "requirement",
            "key": f"R{number}-{place}",
            "statement": f"Bracket {number} keeps {key} where it belongs, line {place}",
            "quantity": key,
            "lower": bands[key][1],
            "upper": bands[key][2],
            "owner": "Bench",
            "gate": "G1",
        }
        for place, key in enumerate(judged)
    ]
    return [*quantities, *requirements, _decision(number, thick), _check(number, thick, stress)]


def _decision(number: int, thick: str) -> dict[str, object]:
    known = {"basis": "calculated", "source": "Sketch", "dated": "2030-06-01"}
    return {
        "kind": "decision",
        "key": f"D{number}",
        "question": f"How thick is bracket {number}?",
        "options": [
            {"key": "thin", "title": "Thin", "settings": {thick: {"value": "4 mm", **known}}},
            {"key": "thick", "title": "Thick", "settings": {thick: {"value": "9 mm", **known}}},
        ],
        "serves": [f"R{number}-{place}" for place in range(_SERVED)],
        "state": "settled",
        "chosen": "thick",
        "rationale": "The thin one is stressed too highly once the load doubles.",
        "against": {"thin": "Nothing is left for the load to grow."},
        "gate": "G1",
        "owner": "Bench",
    }


def _check(number: int, thick: str, stress: str) -> dict[str, object]:
    return {
        "kind": "check",
        "key": f"C{number}",
        "title": f"Stress of bracket {number}",
        "check": "formula",
        "decision": f"D{number}",
        "config": {
            "expression": "load / (thickness * width)",
            "inputs": "load: N, thickness: mm, width: mm",
            "unit": "MPa",
        },
        "inputs": {
            "load": f"load{number // _SHARING}",
            "thickness": thick,
            "width": {"value": "10 mm"},
        },
        "outputs": {"result": stress},
    }
