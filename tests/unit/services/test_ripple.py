"""What a trial changes, in order of severity."""

from __future__ import annotations

import pytest

from tests.unit.services.small import AGAINST, near
from tracker.errors import CancelledError, InputError
from tracker.services.actions import (
    add_items,
    lean,
    set_values,
    settle,
    try_trial,
    try_values,
    withdraw,
)
from tracker.services.change_views import FindingChange
from tracker.services.ripple import ripple_of, severity
from tracker.services.session import Session


def test_a_miss_breaks_what_serves_it(settled: Session) -> None:
    ripple = try_values(settled, {"load": "150 N"})
    assert (ripple.broken, ripple.strained, ripple.unproven, ripple.restored) == (
        ("D-ARM",), (), (), (),
    )  # fmt: skip
    assert ripple.look == ("D-ARM",)
    assert ripple.edits == ("load: 100 N → 150 N (guess)",)
    found = {each.judge: each for each in ripple.findings}
    change = found["R-TORQUE"]
    assert change.before is not None
    assert change.after is not None
    assert (change.before.value, change.before.verdict, change.before.margin) == (
        near(12.0),
        "met",
        near(0.25),
    )
    assert (change.after.value, change.after.verdict, change.after.margin) == (
        near(18.0),
        "missed",
        near(-0.125),
    )
    assert [(each.key, each.before, each.after, each.unit) for each in ripple.quantities] == [
        ("load", "100", "150", "N"),
        ("torque", "12", "18", "N*m"),
    ]
    assert (ripple.ran, ripple.checks_total) == (1, 2)
    assert ripple.revision == settled.head.revision
    assert "no substitute" in ripple.caution
    standing = ripple.standings[0]
    assert (standing.decision, standing.before, standing.after) == ("D-ARM", "stands", "broken")
    assert standing.why == "R-TORQUE is missed"


def test_a_guard_strains(settled: Session) -> None:
    ripple = try_values(settled, {"load": "130 N"})
    assert (ripple.broken, ripple.strained, ripple.look) == ((), ("D-ARM",), ("D-ARM",))


def test_an_unknown_leaves_unproven(settled: Session) -> None:
    ripple = try_values(settled, {"load": ""})
    assert (ripple.unproven, ripple.ran) == (("D-ARM",), 0)
    assert ripple.standings[0].why.endswith("load: taken away, and 2 more")
    values = {each.key: each.after for each in ripple.quantities}
    assert values == {"load": "unknown", "torque": "unknown"}


@pytest.mark.parametrize(
    ("bad", "good", "after"),
    [("150 N", "100 N", "stands"), ("150 N", "130 N", "strained"), ("130 N", "100 N", "stands")],
)
def test_what_mends_restores(settled: Session, bad: str, good: str, after: str) -> None:
    set_values(settled, {"load": bad}, "worse")
    ripple = try_values(settled, {"load": good})
    assert ripple.restored == ("D-ARM",)
    assert ripple.standings[0].after == after
    assert ripple.look == ()


def test_a_break_after_a_strain_is_a_break(settled: Session) -> None:
    set_values(settled, {"load": "130 N"}, "worse")
    assert try_values(settled, {"load": "150 N"}).broken == ("D-ARM",)
    set_values(settled, {"load": "150 N"}, "worst")
    assert try_values(settled, {"load": "160 N"}).broken == ()
    unproven = try_values(settled, {"load": ""})
    assert (unproven.unproven, unproven.restored) == ((), ())
    assert unproven.standings[0].after == "unproven"


def test_moving_a_bound_moves_the_verdict_and_not_the_checks(settled: Session) -> None:
    ripple = try_values(settled, {"R-TORQUE.upper": "11"})
    assert (ripple.broken, ripple.look, ripple.ran) == (("D-ARM",), ("D-ARM",), 0)
    change = ripple.findings[0]
    assert change.before is not None
    assert change.after is not None
    assert (change.before.required, change.after.required) == ("at most 16 N*m", "at most 11 N*m")
    assert change.before.upper == 16.0


def test_a_bound_a_check_reads_asks_its_decision_for_another_look(settled: Session) -> None:
    ripple = try_values(settled, {"R-CELL.upper": "1.7 kg"})
    assert ripple.look == ("D-MASS",)
    assert ripple.ran == 1
    assert {each.judge for each in ripple.findings} == {"R-CELL", "C-MASS.slack"}


def test_the_worst_comes_first(settled: Session) -> None:
    edits = {"load": "150 N", "parts[stop L/R].mass": "0.6 kg", "hub.z": "309", "side": "right"}
    ripple = try_values(settled, edits)
    verdicts = [each.after.verdict for each in ripple.findings if each.after]
    assert verdicts == sorted(verdicts, key=["missed", "unknown", "tight", "met"].index)
    assert [each.judge for each in ripple.findings][:3] == ["R-TORQUE", "R-MASS", "R-SIDE"]
    assert [each.decision for each in ripple.standings] == ["D-ARM", "D-MASS"]


def test_a_trial_of_nothing_changes_nothing(settled: Session) -> None:
    ripple = ripple_of(settled, ())
    assert (ripple.edits, ripple.findings, ripple.quantities, ripple.ran) == ((), (), (), 0)


def test_leaning_tells_what_appears(small: Session) -> None:
    ripple = try_trial(small, {"D-ARM": "long"})
    assert ripple.edits == ("D-ARM leans to long",)
    assert ripple.strained == ()
    assert ripple.restored == ("D-ARM",)
    values = {each.key: (each.before, each.after) for each in ripple.quantities}
    assert values == {"arm": ("unknown", "150"), "torque": ("unknown", "15")}


def test_a_withdrawn_decision_drops_out(settled: Session) -> None:
    done = withdraw(settled, "D-ARM", "gone").ripple
    assert [(each.decision, each.after) for each in done.standings] == [("D-ARM", "")]
    assert (done.broken, done.restored) == ((), ())
    assert done.look == ("D-MASS",)


def test_a_decision_back_from_withdrawal_is_new(settled: Session) -> None:
    from tracker.services.actions import reopen

    set_values(settled, {"R-TORQUE.guard": "0.5"}, "careful")
    withdraw(settled, "D-ARM", "gone")
    reopen(settled, "D-ARM", "back")
    done = settle(settled, "D-ARM", "short", "It holds", AGAINST).ripple
    assert done.restored == ("D-ARM",)
    assert done.standings[0].after == "strained"


def test_structure_in_a_change_shows_what_it_adds(settled: Session) -> None:
    band = {
        "kind": "requirement", "key": "R-NEW", "statement": "S", "quantity": "load",
        "upper": "90 N",
    }  # fmt: skip
    done = add_items(settled, [band], "a new limit").ripple
    change = next(each for each in done.findings if each.judge == "R-NEW")
    assert change.before is None
    assert change.after is not None
    assert change.after.verdict == "missed"
    assert done.edits == ("new requirement R-NEW",)
    assert done.ran == 0


def test_a_removed_finding_sorts_last() -> None:
    assert severity(FindingChange(judge="x", before=None, after=None)) == (4, 0.0)


def test_a_cancelled_trial_leaves_no_trace(settled: Session) -> None:
    before = list(settled.engine.state.findings)
    with pytest.raises(CancelledError):
        try_values(settled, {"load": "150 N"}, lambda: True)
    assert settled.engine.state.findings == before
    assert try_values(settled, {"load": "150 N"}, lambda: False).broken == ("D-ARM",)


def test_a_trial_that_would_not_be_allowed_is_refused(settled: Session) -> None:
    with pytest.raises(InputError):
        try_values(settled, {"R-TORQUE.upper": ""})


def test_adopting_does_what_the_trial_said(settled: Session) -> None:
    edits = {"load": "150 N", "R-MASS.upper": "3 kg"}
    said = try_values(settled, edits)
    done = set_values(settled, edits, "adopted").ripple
    assert done.findings == said.findings
    assert done.standings == said.standings
    assert done.quantities == said.quantities
    assert (done.broken, done.look, done.ran) == (said.broken, said.look, said.ran)


def test_leaning_elsewhere_is_tried_from_a_lean(small: Session) -> None:
    lean(small, "D-ARM", "short")
    assert try_trial(small, {"D-ARM": "long"}).strained == ("D-ARM",)
    assert try_trial(small, {"D-ARM": "later"}).unproven == ("D-ARM",)
