"""Every move of a decision, and the rules of deciding."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.unit.services.small import AGAINST, near
from tracker.errors import DecisionError, SourceError, UnknownKeyError
from tracker.model.records import Decision, DecisionState, Outcome, Review
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    reopen,
    review,
    set_values,
    settle,
    supersede,
    try_trial,
    undo,
    withdraw,
)
from tracker.services.item import item_page
from tracker.services.overview import overview
from tracker.services.session import Session


def decision(session: Session, key: str = "D-ARM") -> Decision:
    return session.programme.named(key, Decision)


def sign(session: Session, key: str = "D-ARM") -> tuple[str, str, bool]:
    line = next(each for each in overview(session).decisions if each.key == key)
    return line.state, line.standing, line.shifted


def test_an_open_decision_leaves_what_it_sets_unknown(small: Session) -> None:
    assert sign(small) == ("open", "unproven", False)
    page = item_page(small, "arm")
    assert page.value is None
    assert ("unknown because", "D-ARM: the decision is open") in page.facts


def test_leaning_applies_an_option_for_now(small: Session) -> None:
    done = lean(small, "D-ARM", "short")
    assert done.what == ("D-ARM leans to short",)
    assert sign(small) == ("leaning", "stands", False)
    assert item_page(small, "torque").value == near(12.0)
    lean(small, "D-ARM", "long", "try the long one")
    assert sign(small) == ("leaning", "strained", False)
    lean(small, "D-ARM", "later")
    assert sign(small) == ("leaning", "unproven", False)
    assert small.store.changes(2).__next__().reason == "lean to short for now"


def test_trying_to_lean_stores_nothing(small: Session) -> None:
    head = small.head
    ripple = try_trial(small, {"D-ARM": "long"})
    assert [change.after for change in ripple.standings if change.decision == "D-ARM"] == [
        "strained"
    ]
    assert small.head == head
    assert sign(small) == ("open", "unproven", False)


def test_settling_keeps_rationale_reasons_and_footing(small: Session) -> None:
    done = settle(small, "D-ARM", "short", "It holds", AGAINST)
    held = decision(small)
    assert done.what == ("D-ARM settled on short",)
    assert (held.state, held.rationale) == (DecisionState.SETTLED, "It holds")
    assert {held.options[1].id: "It bends", held.options[2].id: AGAINST["later"]} == held.against
    footing = held.footing
    assert footing is not None
    keys = {each.id: each.key for each in small.programme}
    values = {keys[name.partition("|")[0]]: value for name, value in footing.values.items()}
    assert values == {"arm": 120.0, "load": 100.0, "C-LEVER": near(90.0)}
    assert {keys[each]: band for each, band in footing.bands.items()} == {
        "R-TORQUE": (None, 16.0, None, 0.1)
    }
    assert list(footing.checks.values()) == ["lever 1"]


def test_a_decision_that_rests_on_another_keeps_its_choice(settled: Session) -> None:
    footing = decision(settled, "D-MASS").footing
    assert footing is not None
    arm = decision(settled)
    assert {each: choice.partition(" ")[0] for each, choice in footing.choices.items()} == {
        arm.id: arm.chosen
    }


@pytest.mark.parametrize(
    ("why", "against", "field", "word"),
    [
        ("", AGAINST, "rationale", "without a rationale"),
        (" \n", AGAINST, "rationale", "without a rationale"),
        ("It holds", {}, "against", "against long, later"),
        ("It holds", {"long": "It bends"}, "against", "against later"),
        ("It holds", {**AGAINST, "later": "  "}, "against", "against later"),
    ],
)
def test_nothing_settles_without_rationale_and_reasons(
    small: Session, why: str, against: dict[str, str], field: str, word: str
) -> None:
    head = small.head
    with pytest.raises(DecisionError) as caught:
        settle(small, "D-ARM", "short", why, against)
    assert (caught.value.item, caught.value.field) == ("D-ARM", field)
    assert word in caught.value.message
    assert caught.value.remedy
    assert small.head == head
    assert decision(small).state is DecisionState.OPEN


def test_reasons_given_earlier_stay_in_force(small: Session) -> None:
    settle(small, "D-ARM", "short", "It holds", AGAINST)
    reopen(small, "D-ARM", "the supplier answered")
    assert sign(small) == ("leaning", "stands", False)
    with pytest.raises(DecisionError) as caught:
        settle(small, "D-ARM", "long", "It reaches further", {})
    assert "against short" in caught.value.message
    settle(small, "D-ARM", "long", "It reaches further", {"short": "It is too short", "long": "x"})
    held = decision(small)
    reasons = {each.key: held.against.get(each.id) for each in held.options}
    assert reasons == {"short": "It is too short", "long": None, "later": AGAINST["later"]}
    page = item_page(small, "D-ARM")
    assert dict(page.paragraphs) == {
        "rationale": "It reaches further",
        "against short": "It is too short",
        "against later": AGAINST["later"],
    }


Move = Callable[[Session], object]
LEAN: Move = lambda session: lean(session, "D-ARM", "short")  # noqa: E731 - a table of moves
SETTLE: Move = lambda session: settle(session, "D-ARM", "short", "It holds", AGAINST)  # noqa: E731 - as above
REOPEN: Move = lambda session: reopen(session, "D-ARM", "news")  # noqa: E731 - as above
WITHDRAW: Move = lambda session: withdraw(session, "D-ARM", "not needed")  # noqa: E731 - as above


@pytest.mark.parametrize(
    ("moves", "state"),
    [
        ([LEAN], "leaning"),
        ([SETTLE], "settled"),
        ([LEAN, SETTLE], "settled"),
        ([SETTLE, REOPEN], "leaning"),
        ([WITHDRAW], "withdrawn"),
        ([LEAN, WITHDRAW], "withdrawn"),
        ([SETTLE, WITHDRAW], "withdrawn"),
        ([WITHDRAW, REOPEN], "open"),
        ([WITHDRAW, REOPEN, SETTLE], "settled"),
    ],
)
def test_moves_that_are_allowed(small: Session, moves: list[Move], state: str) -> None:
    for move in moves:
        move(small)
    assert decision(small).state == state
    assert (decision(small).footing is not None) is (state == "settled")


@pytest.mark.parametrize(
    ("before", "move", "word"),
    [
        ([SETTLE], LEAN, "settled"),
        ([SETTLE], SETTLE, "settled"),
        ([WITHDRAW], LEAN, "withdrawn"),
        ([WITHDRAW], SETTLE, "withdrawn"),
        ([WITHDRAW], WITHDRAW, "withdrawn already"),
        ([], REOPEN, "open already"),
        ([LEAN], REOPEN, "leaning already"),
    ],
)
def test_moves_that_are_refused(small: Session, before: list[Move], move: Move, word: str) -> None:
    for each in before:
        each(small)
    head = small.head
    with pytest.raises(DecisionError) as caught:
        move(small)
    assert caught.value.item == "D-ARM"
    assert word in caught.value.message
    assert small.head == head


def test_a_withdrawn_decision_sets_nothing_and_has_no_standing(small: Session) -> None:
    settle(small, "D-ARM", "short", "It holds", AGAINST)
    withdraw(small, "D-ARM", "The lock is gone")
    assert sign(small) == ("withdrawn", "", False)
    assert ("unknown because", "D-ARM: the decision is withdrawn") in item_page(small, "arm").facts
    assert dict(item_page(small, "D-ARM").paragraphs)["rationale"] == "It holds"


@pytest.mark.parametrize(
    ("action", "word"),
    [
        (lambda session: lean(session, "D-ARM", "none"), "Options: short, long, later"),
        (lambda session: settle(session, "D-ARM", "none", "x", {}), "no option 'none'"),
        (lambda session: settle(session, "D-ARM", "short", "x", {"no": "y"}), "no option 'no'"),
        (lambda session: lean(session, "load", "short"), "is a quantity, not a decision"),
        (lambda session: reopen(session, "D-NONE", "x"), "no decision is called"),
        (lambda session: review(session, "R-ARM", "x"), "not a decision"),
    ],
)
def test_unknown_decisions_and_options_are_named(small: Session, action: Move, word: str) -> None:
    with pytest.raises(UnknownKeyError) as caught:
        action(small)
    assert word in str(caught.value)


@pytest.mark.parametrize("action", [reopen, withdraw, review])
def test_moves_need_a_reason(
    settled: Session, action: Callable[[Session, str, str], object]
) -> None:
    set_values(settled, {"load": "101 N"}, "weighed again")
    with pytest.raises(DecisionError) as caught:
        action(settled, "D-ARM", " ")
    assert (caught.value.field, caught.value.message) == (
        "why",
        f"to {action.__name__} needs a reason",
    )


def test_a_review_stands_the_decision_on_what_holds_now(settled: Session) -> None:
    with pytest.raises(DecisionError, match="its ground has not moved"):
        review(settled, "D-ARM", "looked")
    set_values(settled, {"load": "110 N"}, "weighed again")
    assert sign(settled) == ("settled", "stands", True)
    done = review(settled, "D-ARM", "13.2 Nm is still fine")
    assert done.what == ("D-ARM reviewed by Ann: confirmed, 13.2 Nm is still fine",)
    assert sign(settled) == ("settled", "stands", False)
    set_values(settled, {"load": "100 N"}, "back")
    assert sign(settled) == ("settled", "stands", True)


def test_only_a_settled_decision_is_reviewed(small: Session) -> None:
    with pytest.raises(DecisionError, match="it is open, not settled"):
        review(small, "D-ARM", "looked")


def test_settling_what_it_rests_on_otherwise_asks_for_another_look(settled: Session) -> None:
    reopen(settled, "D-ARM", "news")
    settle(settled, "D-ARM", "long", "It reaches", {"short": "Too short"})
    assert sign(settled, "D-MASS") == ("settled", "stands", True)
    shifts = item_page(settled, "D-MASS").shifts
    assert [(each.what, each.before, each.after) for each in shifts] == [
        ("choice of D-ARM", "short, settled", "long, settled")
    ]


# ---------------------------------------------------------------- reviews


def test_every_review_is_kept_with_who_when_and_why(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed again")
    told = review(settled, "D-ARM", "let us see", outcome=Outcome.REOPEN)
    assert told.what == ("D-ARM reviewed by Ann: reopen needed, let us see",)
    assert sign(settled) == ("settled", "stands", True), "what moved keeps showing"
    review(settled, "D-ARM", "13.2 N·m is fine")
    assert sign(settled) == ("settled", "stands", False)
    now = "2031-01-15T08:00:00Z"
    assert decision(settled).reviews == (
        Review(by="Ann", outcome=Outcome.REOPEN, reason="let us see", on=now),
        Review(by="Ann", outcome=Outcome.CONFIRMED, reason="13.2 N·m is fine", on=now),
    )
    page = dict(item_page(settled, "D-ARM").paragraphs)
    assert page["reviews"] == (
        f"{now} Ann: reopen needed, let us see\n{now} Ann: confirmed, 13.2 N·m is fine"
    )


def test_a_review_can_be_taken_back(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed again")
    review(settled, "D-ARM", "fine")
    assert undo(settled).what == ("D-ARM: a review is taken back",)
    assert sign(settled) == ("settled", "stands", True)


def test_reopening_keeps_the_reviews(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed again")
    review(settled, "D-ARM", "no", outcome=Outcome.REOPEN)
    reopen(settled, "D-ARM", "as the review says")
    assert len(decision(settled).reviews) == 1


# ---------------------------------------------------------------- superseding

LOCK = {
    "kind": "decision",
    "key": "D-LOCK",
    "question": "Which lock?",
    "options": [{"key": "soft", "title": "Soft lock"}],
    "serves": ["R-TORQUE"],
}


def test_another_decision_takes_the_place_of_one(settled: Session) -> None:
    add_items(settled, [LOCK], "the question was wrong")
    done = supersede(settled, "D-ARM", "D-LOCK", "It is about the lock")
    assert done.what == ("D-ARM superseded by D-LOCK",)
    old = decision(settled)
    assert (old.state, old.chosen, old.footing) == (DecisionState.WITHDRAWN, "", None)
    assert old.superseded_by == decision(settled, "D-LOCK").id
    assert old.rationale == decision(settled).rationale != ""
    assert ("superseded by", "D-LOCK") in item_page(settled, "D-ARM").facts
    below = {each.key: each.role for each in item_page(settled, "D-ARM").downstream}
    assert below["D-LOCK"] == "takes its place"
    above = {each.key: each.role for each in item_page(settled, "D-LOCK").upstream}
    assert above["D-ARM"] == "it takes the place of this"


def test_the_new_one_may_set_what_the_old_one_set(settled: Session) -> None:
    add_items(settled, [LOCK], "the question was wrong")
    option = {"key": "soft", "title": "Soft lock", "settings": {"arm": "130 mm"}}
    with pytest.raises(SourceError, match="decision D-ARM and decision D-LOCK"):
        amend_item(settled, "D-LOCK", {"options": [option]}, "take the arm")
    supersede(settled, "D-ARM", "D-LOCK", "It is about the lock")
    assert item_page(settled, "arm").value is None
    amend_item(settled, "D-LOCK", {"options": [option]}, "take the arm")
    lean(settled, "D-LOCK", "soft")
    page = item_page(settled, "arm")
    assert (page.value, dict(page.facts)["source"]) == (near(130.0), "decision D-LOCK")
    roles = {each.key: each.role for each in item_page(settled, "D-ARM").downstream}
    assert roles["arm"] == "was set by it"
    with pytest.raises(SourceError, match="decision D-ARM and decision D-LOCK"):
        reopen(settled, "D-ARM", "after all")


def test_superseding_can_be_undone_and_the_old_one_reopened(settled: Session) -> None:
    before = decision(settled)
    add_items(settled, [LOCK], "the question was wrong")
    supersede(settled, "D-ARM", "D-LOCK", "It is about the lock")
    assert undo(settled).what == ("D-ARM settled on short",)
    assert decision(settled) == before
    supersede(settled, "D-ARM", "D-LOCK", "It is about the lock")
    reopen(settled, "D-ARM", "after all")
    assert (decision(settled).state, decision(settled).superseded_by) == (DecisionState.OPEN, "")


def test_a_withdrawn_decision_may_still_get_a_successor(settled: Session) -> None:
    add_items(settled, [LOCK], "the question was wrong")
    withdraw(settled, "D-ARM", "no more arm")
    done = supersede(settled, "D-ARM", "D-LOCK", "It is about the lock")
    assert done.what == ("D-ARM superseded by D-LOCK",)
    assert undo(settled).what == ("D-ARM is superseded no more",)


def test_what_cannot_take_the_place_of_another(settled: Session) -> None:
    add_items(settled, [LOCK], "the question was wrong")
    with pytest.raises(DecisionError, match="superseded by itself"):
        supersede(settled, "D-ARM", "D-ARM", "by itself")
    with pytest.raises(UnknownKeyError, match="no decision is called"):
        supersede(settled, "D-ARM", "D-9", "by nobody")
    with pytest.raises(DecisionError, match="to supersede needs a reason"):
        supersede(settled, "D-ARM", "D-LOCK", " ")
    supersede(settled, "D-ARM", "D-LOCK", "It is about the lock")
    with pytest.raises(DecisionError, match="D-LOCK has taken its place already"):
        supersede(settled, "D-ARM", "D-MASS", "again")
    with pytest.raises(DecisionError, match="cannot take the place of D-MASS") as caught:
        supersede(settled, "D-MASS", "D-ARM", "round and round")
    assert caught.value.item == "D-ARM"
