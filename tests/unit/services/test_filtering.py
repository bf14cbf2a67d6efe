"""Filters: what each finds, how they combine, and what they refuse."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.services.gate_world import action, deviation, put, risk
from tracker.errors import BadValueError, UnknownKeyError
from tracker.services.actions import set_values
from tracker.services.filtering import FILTERS, Filtered, filtered, owed_at
from tracker.services.session import Session


def keys(found: Filtered) -> set[str]:
    return {each.line.key for each in found.lines}


def test_each_filter_finds_its_own(settled: Session) -> None:
    assert keys(filtered(settled, ["broken", "shifted"])) == set()
    set_values(settled, {"load": "150 N"}, "heavier")
    assert keys(filtered(settled, ["broken"])) == {"D-ARM", "R-TORQUE"}
    assert keys(filtered(settled, ["shifted"])) == {"D-ARM"}
    put(settled, deviation(settled, "R-TORQUE", "G1"))
    assert keys(filtered(settled, ["broken"])) == set()
    assert keys(filtered(settled, ["deviation"])) == {"DEV-1"}
    closed = replace(action(settled, "G2"), key="A-2", closed="weighed", closed_on="2031-01-01")
    put(settled, action(settled, "G1"), closed)
    assert keys(filtered(settled, ["action"])) == {"A-1"}
    assert keys(filtered(settled, ["action", "deviation"])) == {"A-1", "DEV-1"}


def test_a_guess_is_what_nobody_said_better_of(small: Session) -> None:
    assert keys(filtered(small, ["guess"])) == {"hub", "sealed", "parts"}


def test_owner_and_gate_narrow_what_is_found(settled: Session) -> None:
    put(settled, deviation(settled, "R-TORQUE", "G2"), action(settled, "G1"), risk(settled, "G2"))
    assert keys(filtered(settled, [], owner="bo")) == {"A-1"}
    assert keys(filtered(settled, [], owner="BOARD")) == {"DEV-1"}
    assert keys(filtered(settled, [], gate="G1")) == {"R-TORQUE", "D-ARM", "A-1"}
    both = filtered(settled, ["action", "deviation"], owner="Board", gate="G2")
    assert keys(both) == {"DEV-1"}
    assert (both.counts["action"], both.counts["deviation"]) == (0, 1)
    assert set(both.counts) == set(FILTERS)
    assert [each.kind for each in filtered(settled, [], gate="G2").lines] == [
        *("requirement", "requirement", "decision", "decision", "deviation", "action", "risk"),
    ]


def test_what_is_no_filter_and_no_gate_is_refused(small: Session) -> None:
    with pytest.raises(BadValueError, match="is no filter"):
        filtered(small, ["nonsense"])
    with pytest.raises(UnknownKeyError):
        filtered(small, [], gate="G9")


def test_what_is_owed_at_a_gate_is_open_and_due_there_or_earlier(settled: Session) -> None:
    late, done = (replace(action(settled, gate), key=f"A-{gate}") for gate in ("G2", "G1"))
    closed = replace(done, id=settled.tools.ids(), key="A-3", closed="x", closed_on="2031-01-01")
    put(settled, deviation(settled, "R-TORQUE", "G2"), late, done, closed, risk(settled, "G1"))
    assert [each.line.key for each in owed_at(settled, "G1")] == ["A-G1", "RISK-1"]
    assert [each.kind for each in owed_at(settled, "G2")] == [
        "deviation",
        "action",
        "action",
        "risk",
    ]
