"""Standings: broken, unproven, strained, stands, in this precedence."""

from __future__ import annotations

import pytest

from tests.unit.small_world import decision, engine_of, finding, quantity, requirement, use
from tracker.evaluate.slots import Unknown
from tracker.evaluate.standing import Finding, Standing, StandingOf, worst_standing
from tracker.evaluate.verdict import Judgement, Verdict
from tracker.model.records import DecisionState

MET, TIGHT, MISSED, UNKNOWN = (Finding(Judgement(each)) for each in Verdict)
GAP = Unknown("nobody knows", "q")


@pytest.mark.parametrize(
    ("findings", "unset", "wanted"),
    [
        ([MET, MET], None, StandingOf(Standing.STANDS)),
        ([MET, TIGHT, TIGHT], None, StandingOf(Standing.STRAINED, (1, 2))),
        ([TIGHT, UNKNOWN], None, StandingOf(Standing.UNPROVEN, (1,))),
        ([UNKNOWN, TIGHT, MISSED], GAP, StandingOf(Standing.BROKEN, (2,))),
        ([TIGHT], GAP, StandingOf(Standing.UNPROVEN, unset=GAP)),
        ([UNKNOWN], GAP, StandingOf(Standing.UNPROVEN, (0,))),
        ([], None, StandingOf(Standing.UNPROVEN)),
        ([], GAP, StandingOf(Standing.UNPROVEN, unset=GAP)),
    ],
)
def test_the_worst_finding_makes_the_standing(
    findings: list[Finding], unset: Unknown | None, wanted: StandingOf
) -> None:
    assert worst_standing(dict(enumerate(findings)), unset) == wanted


def test_a_decision_gathers_what_it_serves_and_its_checks_rules() -> None:
    engine = engine_of(
        quantity("q", 1.5),
        requirement("R", "q", 1.0, 2.0),
        requirement("S", "q", upper=1.6),
        decision("D", serves=("R", "S")),
        decision("E"),
        use("C", "halve", {"a": "q"}),
        use("X", "halve", {"a": "q"}, decision="E"),
    )
    standing = engine.state.standings["D"]
    assert standing.standing is Standing.STRAINED
    named = [engine.graph.judges[place].id for place in standing.culprits]
    assert named == ["S"]
    assert engine.state.standings["E"].standing is Standing.STANDS
    assert finding(engine, "X", "out").judgement.verdict is Verdict.MET


def test_an_open_decision_that_sets_something_is_unproven() -> None:
    engine = engine_of(decision("D", {"a": {"q": 2.0}}), quantity("q"), requirement("R", "q", 1.0))
    assert engine.state.standings["D"].unset == Unknown("the decision is open", "D")


def test_a_check_that_cannot_run_leaves_its_decision_unproven() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("p", 1.0),
        quantity("q"),
        requirement("R", "p", 0.5),
        use("C", "add", {"a": "q"}),
    )
    standing = engine.state.standings["D"]
    assert standing.standing is Standing.UNPROVEN
    assert standing.unset == Unknown("no value is given", "q")


def test_a_withdrawn_decision_has_no_standing() -> None:
    engine = engine_of(decision("D", state=DecisionState.WITHDRAWN))
    assert engine.state.standings == {}
