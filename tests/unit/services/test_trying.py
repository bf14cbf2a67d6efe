"""Trials of several edits at once, and what would mend what they break, by hand.

Torque is load · arm: 100 N · 120 mm = 12 N·m with the short arm, against at most 16 N·m.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.small import AGAINST, near
from tracker.errors import (
    DecisionError,
    InputError,
    StaleChangeError,
    UnknownKeyError,
)
from tracker.services.actions import (
    adopt,
    amend_item,
    lean,
    set_values,
    settle,
    try_trial,
    try_values,
    undo,
    withdraw,
)
from tracker.services.change_views import Ripple
from tracker.services.item import item_page
from tracker.services.session import Session
from tracker.services.trial_mending import mend_trial

ROOMY: dict[str, Any] = {
    "kind": "requirement",
    "key": "R-ROOMY",
    "statement": "A glove fits in",
    "quantity": "arm",
    "lower": "140 mm",
}


def torque_after(ripple: Ripple) -> object:
    changed = next(each for each in ripple.findings if each.judge == "R-TORQUE")
    assert changed.after is not None
    return changed.after.value


def test_an_option_and_a_value_are_tried_together(settled: Session) -> None:
    ripple = try_trial(settled, {"D-ARM": "long", "load": "120 N"})
    assert torque_after(ripple) == near(120 * 0.15)
    assert ripple.broken == ("D-ARM",)
    assert ripple.edits == (
        "D-ARM reopened, leans to long",
        "load: 100 N → 120 N (guess)",
    )
    assert item_page(settled, "D-ARM").facts[0] == ("state", "settled")  # nothing is stored


def test_an_option_is_reworded_and_leaned_to_in_one_trial(settled: Session) -> None:
    ripple = try_trial(settled, {"D-ARM": "long", "D-ARM/long.arm": "130 mm"})
    assert torque_after(ripple) == near(100 * 0.13)


def test_a_value_of_a_settled_option_still_wants_it_reopened(settled: Session) -> None:
    with pytest.raises(DecisionError, match="settled"):
        try_trial(settled, {"D-ARM/short.arm": "130 mm"})
    ripple = try_trial(settled, {"D-ARM": "short", "D-ARM/short.arm": "130 mm"})
    assert torque_after(ripple) == near(100 * 0.13)


def test_new_items_are_tried_with_the_edits(small: Session) -> None:
    lean(small, "D-ARM", "short")
    ripple = try_trial(small, {"D-ARM": "long"}, (ROOMY,))
    new = next(each for each in ripple.findings if each.judge == "R-ROOMY")
    assert new.before is None
    assert new.after is not None
    assert (new.after.value, new.after.verdict) == (150.0, "tight")
    assert small.programme.find("R-ROOMY") is None


def test_a_band_moves_in_a_trial(settled: Session) -> None:
    assert try_trial(settled, {"R-TORQUE.upper": "11"}).broken == ("D-ARM",)


@pytest.mark.parametrize(
    ("edits", "error", "words"),
    [
        ({"D-ARM": "longest"}, UnknownKeyError, "no option 'longest'"),
        ({"load": "3 m"}, InputError, "does not measure the same"),
        ({"nothing": "3"}, UnknownKeyError, "nothing is called"),
    ],
)
def test_what_does_not_hold_is_refused_without_a_trace(
    settled: Session, edits: dict[str, str], error: type[Exception], words: str
) -> None:
    before = item_page(settled, "D-ARM")
    with pytest.raises(error, match=words):
        try_trial(settled, edits)
    assert item_page(settled, "D-ARM") == before


def test_a_withdrawn_decision_is_not_leaned_to(small: Session) -> None:
    withdraw(small, "D-ARM", "not needed")
    with pytest.raises(DecisionError, match="withdrawn"):
        try_trial(small, {"D-ARM": "long"})


def test_adopting_stores_one_change_that_does_what_the_trial_said(settled: Session) -> None:
    edits = {"D-ARM": "long", "D-ARM/long.arm": "155 mm", "R-TORQUE.upper": "17"}
    said = try_trial(settled, edits, (ROOMY,))
    before = settled.head.revision
    receipt = adopt(settled, edits, "a longer one is needed", documents=(ROOMY,))
    assert receipt.revision == before + 1
    assert (receipt.ripple.findings, receipt.ripple.standings) == (said.findings, said.standings)
    assert receipt.what == said.edits
    assert dict(item_page(settled, "D-ARM").facts)["state"] == "leaning"
    undo(settled)
    assert dict(item_page(settled, "D-ARM").facts)["state"] == "settled"


def test_adopting_wants_a_reason(settled: Session) -> None:
    with pytest.raises(DecisionError, match="to store this needs a reason"):
        adopt(settled, {"load": "90 N"}, " ")


def test_adopting_what_moved_since_is_refused_with_both_versions(settled: Session) -> None:
    seen = settled.head.revision
    set_values(settled, {"load": "105 N"}, "measured again")
    with pytest.raises(StaleChangeError) as caught:
        adopt(settled, {"load": "120 N"}, "heavier", based_on=seen)
    assert "100 N → 105 N" in caught.value.message
    assert "105 N → 120 N" in caught.value.message
    adopt(settled, {"side": "right"}, "something else", based_on=seen)


def test_what_a_trial_breaks_is_mended_around_it(small: Session) -> None:
    """With 140 N the arm may be 16 N·m ÷ 140 N = 114.3 mm long."""
    amend_item(small, "arm", {"low": "100 mm", "high": "160 mm"}, "it may move")
    lean(small, "D-ARM", "short")
    before = item_page(small, "D-ARM")
    view = mend_trial(small, {"load": "140 N"})
    mended = view.decisions[0]
    assert (mended.decision, mended.standing, mended.mended) == ("D-ARM", "broken", True)
    assert [sorted(each.values) for each in mended.proposals] == [["D-ARM/short.arm"]]
    best = mended.proposals[0]
    assert best.edits[0].after == near(1000 * 16 / 140)
    assert best.restores == ("D-ARM",)
    after = try_trial(small, {"load": "140 N", **best.values})
    assert after.broken == ()
    assert item_page(small, "D-ARM") == before


def test_what_is_tried_is_not_moved_to_mend_it(small: Session) -> None:
    """The load has a range, so it would mend itself; another option would, too."""
    lean(small, "D-ARM", "long")
    found = mend_trial(small, {"load": "140 N"}).decisions[0]
    assert [dict(each.leans) for each in found.proposals] == []
    found = mend_trial(small, {"load": "110 N"}).decisions[0]
    assert [dict(each.leans) for each in found.proposals] == [{"D-ARM": "short"}]
    found = mend_trial(small, {"load": "110 N", "D-ARM": "long"}).decisions[0]
    assert found.proposals == ()
    assert not found.mended


def test_a_trial_that_breaks_nothing_wants_no_mending(settled: Session) -> None:
    assert mend_trial(settled, {"load": "101 N"}).decisions == ()


def test_the_old_doors_say_the_same(settled: Session) -> None:
    edits = {"load": "120 N", "R-TORQUE.upper": "15"}
    assert try_trial(settled, edits) == try_values(settled, edits)


def test_leaning_back_and_settling_still_works_after_a_trial(settled: Session) -> None:
    adopt(settled, {"D-ARM": "long"}, "try it for a week")
    settle(settled, "D-ARM", "short", "The short arm holds", AGAINST)
    assert item_page(settled, "D-ARM").sign == "stands"
