"""Every move of a decision, and the rules of deciding."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.unit.services.small import AGAINST, near
from tracker.errors import DecisionError, UnknownKeyError
from tracker.model.records import Decision, DecisionState
from tracker.services.actions import (
    lean,
    reopen,
    review,
    set_values,
    settle,
    try_lean,
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
    ripple = try_lean(small, "D-ARM", "long")
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
    assert done.what == ("D-ARM reviewed: it stands on what holds now",)
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
