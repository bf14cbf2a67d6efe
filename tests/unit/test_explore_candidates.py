"""Rows of candidates: where values go, and what options state."""

from __future__ import annotations

import numpy as np
import pytest

from tests.property.toy_checks import METRE
from tests.unit.small_world import decision, engine_of, quantity, requirement, settled, use
from tracker.errors import CancelledError
from tracker.evaluate.columns import KNOWN, UNKNOWN
from tracker.evaluate.columns import Column as Values
from tracker.evaluate.engine import Engine
from tracker.evaluate.verdict import Band
from tracker.explore.assessing import BROKEN, STANDS, STRAINED, UNPROVEN
from tracker.explore.candidates import Candidates
from tracker.explore.judging import MET, MISSED, MOOT, TIGHT, Bands, judge
from tracker.explore.judging import UNKNOWN as UNJUDGED
from tracker.explore.sources import source_at
from tracker.model.records import DecisionState
from tracker.model.values import CellKind, Column, Kind

TABLE = (Column("name", CellKind.TEXT), Column("amount", CellKind.REAL, METRE))


def at(engine: Engine, key: str, part: str = "") -> int:
    return engine.graph.index[key, part]


def test_values_of_options_side_by_side() -> None:
    made = decision(
        "D",
        {
            "a": {"q": 1.0, "c": "low", "t": (("a", 1.0),)},
            "b": {"q": 4.0, "c": "high", "t": (("a", 7.0), ("b", 1.0))},
            "c": {"q": None, "c": "low", "t": None},
        },
        serves=("R",),
    )
    engine = engine_of(
        settled(made, "a"),
        quantity("q"),
        quantity("c", kind=Kind.CHOICE, choices=("low", "high")),
        quantity("t", kind=Kind.TABLE, columns=TABLE),
        quantity("on", value=True, kind=Kind.FLAG),
        quantity("out", unit=METRE),
        use("T", "total", {"t": "t", "on": "on"}, {"out": "out"}),
        requirement("R", "out", upper=6.0),
    )
    rows = Candidates(engine, 4)
    rows.choose("D", ["D-b", "D-c", "D-a"], np.array([0, 1, 3]))
    found = rows.assess()
    assert found.column(at(engine, "q")).values.tolist()[::2] == [4.0, 1.0]
    assert found.column(at(engine, "q")).status.tolist() == [KNOWN, UNKNOWN, KNOWN, KNOWN]
    assert found.column(at(engine, "out")).values[[0, 2, 3]].tolist() == [8.0, 1.0, 1.0]
    assert found.standing("D").tolist() == [BROKEN, UNPROVEN, STANDS, STANDS]


def test_an_option_of_an_open_decision_gives_its_quantities_a_value() -> None:
    engine = engine_of(
        decision("D", {"a": {"q": 1.0, "p": (1.0, 2.0, 3.0)}, "b": {"q": 9.0}}, serves=("R",)),
        quantity("q"),
        quantity("p", kind=Kind.POINT),
        requirement("R", "q", upper=5.0),
    )
    assert engine.programme.find("D").state is DecisionState.OPEN  # type: ignore[union-attr] # a decision
    rows = Candidates(engine, 3)
    rows.choose("D", ["D-a"], np.array([0]))
    rows.choose("D", ["D-b"], np.array([1]))
    found = rows.assess()
    assert found.standing("D").tolist() == [STANDS, BROKEN, UNPROVEN]
    assert found.column(at(engine, "p")).values[0].tolist() == [1.0, 2.0, 3.0]
    assert found.column(at(engine, "p")).status.tolist() == [KNOWN, UNKNOWN, UNKNOWN]


def test_a_quantity_no_option_states_stays_unknown() -> None:
    engine = engine_of(decision("D", {"a": {}}, owns=("q",)), quantity("q"))
    rows = Candidates(engine, 1)
    rows.choose("D", ["D-a"])
    assert rows.assess().standing("D").tolist() == [UNPROVEN]


def test_a_cell_moves_row_by_row() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("t", (("a", 1.0), ("b", 2.0)), Kind.TABLE, columns=TABLE),
        quantity("on", value=True, kind=Kind.FLAG),
        quantity("out", unit=METRE),
        use("T", "total", {"t": "t", "on": "on"}, {"out": "out"}),
        requirement("R", "t|[b].amount", upper=4.0),
    )
    rows = Candidates(engine, 3)
    rows.put(source_at(engine, "t", "[b].amount"), [5.0, 3.9], np.array([0, 2]))
    found = rows.assess()
    assert found.column(at(engine, "out")).values.tolist() == [6.0, 3.0, 4.9]
    assert found.standing("D").tolist() == [BROKEN, STANDS, STRAINED]


def test_a_bound_moves_what_judges_and_what_reads_it() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("q", 3.0),
        quantity("out"),
        requirement("R", "q", 1.0, 5.0),
        use("C", "halve", {"a": "R|lower"}, {"out": "out"}),
    )
    rows = Candidates(engine, 3)
    rows.put(source_at(engine, "R", "lower"), [1.0, 2.9, 4.0])
    rows.put(source_at(engine, "R", "guard"), 0.0, slice(1, 2))
    found = rows.assess()
    place = engine.graph.judges_of["R"][0]
    assert found.judged(place).verdict.tolist() == [MET, MET, MISSED]
    assert found.judged(place).distance.tolist() == pytest.approx([2.0, 0.1, -1.0])
    assert found.column(at(engine, "out")).values.tolist() == [0.5, 1.45, 2.0]


def test_what_nothing_moves_stands_as_it_does_now() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        decision("E", serves=("S",)),
        decision("F"),
        quantity("q", 3.0),
        quantity("r", 3.0),
        requirement("R", "q", upper=3.1),
        requirement("S", "r", upper=2.0),
    )
    rows = Candidates(engine, 2)
    rows.put(source_at(engine, "q"), 1.0)
    found = rows.assess()
    assert found.standing("D").tolist() == [STANDS, STANDS]
    assert found.standing("E").tolist() == [BROKEN, BROKEN]
    assert found.standing("F").tolist() == [UNPROVEN, UNPROVEN]
    assert found.judged(engine.graph.judges_of["S"][0]).distance.tolist() == [-1.0, -1.0]
    assert found.count == 2


def test_a_rule_that_has_nothing_to_judge_counts_against_nobody() -> None:
    engine = engine_of(
        decision("D"),
        quantity("a", 1.0),
        *(quantity(each) for each in "xy"),
        use("I", "inverse", {"a": "a"}, {"inverse": "x", "twice": "y"}),
    )
    rows = Candidates(engine, 2)
    rows.put(source_at(engine, "a"), [0.0, 9.0])
    found = rows.assess()
    place = engine.graph.judges_of["I"][0]
    assert found.judged(place).verdict.tolist() == [MOOT, MISSED]
    assert found.standing("D").tolist() == [UNPROVEN, BROKEN]  # nothing else judges it


def test_flags_are_judged_by_what_is_allowed() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("f", value=True, kind=Kind.FLAG),
        requirement("R", "f", allowed=("yes",)),
    )
    rows = Candidates(engine, 2)
    rows.put(source_at(engine, "f"), np.array([True, False]))
    assert rows.assess().standing("D").tolist() == [STANDS, BROKEN]


def test_assessing_can_be_stopped() -> None:
    engine = engine_of(
        decision("D"),
        quantity("a", 1.0),
        quantity("x"),
        use("C", "halve", {"a": "a"}, {"out": "x"}),
    )
    rows = Candidates(engine, 2)
    rows.put(source_at(engine, "a"), [2.0, 3.0])
    with pytest.raises(CancelledError):
        rows.assess(lambda: True)


@pytest.mark.parametrize(
    ("band", "verdict", "margin"),
    [
        (Band(), UNJUDGED, None),
        (Band(lower=1.0, upper=1.0), MET, None),
        (Band(lower=1.0, upper=1.0, scale=2.0), TIGHT, 0.0),
        (Band(upper=0.0), MISSED, None),
        (Band(lower=0.0, scale=2.0), MET, 0.5),
        (Band(lower=-4.0), MET, 1.25),
    ],
)
def test_bands_without_a_width_have_no_margin(
    band: Band, verdict: int, margin: float | None
) -> None:
    engine = engine_of(decision("D"), quantity("q", 1.0), requirement("R", "q", upper=3.0))
    found = judge(engine.graph.judges[0], Values.known(np.array([1.0])), Bands(band))
    assert found.verdict.tolist() == [verdict]
    assert found.margin.tolist() == pytest.approx(
        [np.nan if margin is None else margin], nan_ok=True
    )
