"""What mends the demo programme when the tie-rod joint stays as drawn."""

from __future__ import annotations

import pytest

from tests.integration.demo.conftest import Cli

WHY = "as drawn"


def as_drawn(cli: Cli) -> None:
    cli("set", "D-TIE-ROD/two-high.tie_rod_outer=[-140, 665, 250] mm", "--why", WHY)


def test_the_move_of_the_joint_that_calms_the_response_is_found(cli: Cli) -> None:
    """The response hangs on roll understeer, which the height of the outer joint makes."""
    as_drawn(cli)
    told = cli("mend")
    best = next(each for each in told["proposals"] if each["decision"] == "D-TIE-ROD")
    assert [each["key"] for each in best["edits"]] == ["tie_rod_outer.z"]
    edit = best["edits"][0]
    assert edit["from"] == 250
    assert 250 < edit["to"] < 254  # at 254 the response is tight already
    assert (best["restores"], best["breaks"]) == (["D-TIE-ROD"], [])
    values = [f"{key}={value}" for key, value in best["values"].items()]
    cli("set", *values, "--why", "the least that brings the response back")
    found = next(each for each in cli("status")["requirements"] if each["key"] == "SENS")
    assert found["verdict"] == "tight"
    assert found["value"] == pytest.approx(1.5, abs=1e-12)
    assert found["value"] <= 1.5


def test_a_hair_less_does_not_do(cli: Cli) -> None:
    as_drawn(cli)
    to = cli("mend", "D-TIE-ROD")["proposals"][0]["edits"][0]["to"]
    tried = cli("try", f"D-TIE-ROD/two-high.tie_rod_outer=[-140, 665, {to - 1e-9}] mm")
    assert "SENS" not in {
        each["requirement"] for each in tried["findings"] if each["after"]["verdict"] != "missed"
    }


def test_the_joint_explains_the_missed_response(cli: Cli) -> None:
    as_drawn(cli)
    told = cli("why", "SENS")
    assert told["broken_by"].endswith(WHY)
    assert [[each["key"] for each in one] for one in told["sets"]] == [["tie_rod_outer"]]
