"""Options side by side, and the weighted score, by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.gate_world import deviation
from tests.unit.services.small import near
from tracker.errors import BadValueError, CancelledError, ManyProblemsError, UnknownKeyError
from tracker.model.changes import Entry
from tracker.services.actions import add_items, amend_item, lean, set_values
from tracker.services.item import item_page
from tracker.services.session import Session
from tracker.services.weighing import score, weigh
from tracker.services.weighing_views import WeighView
from tracker.services.wording import CAUTION

MONEY: list[dict[str, Any]] = [
    {"kind": "quantity", "key": "tool", "title": "Tool", "unit": "EUR"},
    {"kind": "quantity", "key": "piece", "title": "A piece", "unit": "EUR/piece"},
    {
        "kind": "decision",
        "key": "D-TOOL",
        "question": "Which tool?",
        "options": [
            {"key": "soft", "title": "Soft", "settings": {"tool": "900 EUR", "piece": 2}},
            {"key": "hard", "title": "Hard", "settings": {"tool": "4000 EUR", "piece": 2}},
            {"key": "none", "title": "None", "settings": {"tool": {"unknown": "no quote"}}},
        ],
    },
]


def cells(view: WeighView, judge: str) -> list[tuple[str, str]]:
    row = next(each for each in view.rows if each.judge == judge)
    return [(each.verdict, each.text) for each in row.cells]


def test_every_option_shows_what_would_be_found(settled: Session) -> None:
    before = item_page(settled, "D-ARM")
    view = weigh(settled, "D-ARM")
    assert (view.decision, view.state, view.caution) == ("D-ARM", "settled", CAUTION)
    assert [each.key for each in view.options] == ["short", "long", "later"]
    assert [each.standing for each in view.options] == ["stands", "strained", "unproven"]
    assert [each.chosen for each in view.options] == [True, False, False]
    assert view.options[0].sets == ("arm = 120 mm (calculated)",)
    assert view.options[2].sets == ("arm = unknown: the supplier has not answered",)
    assert view.options[1].against == "It bends"
    assert cells(view, "R-TORQUE") == [("met", "12"), ("tight", "15"), ("unknown", "—")]
    assert [each.judge for each in view.rows if each.own] == [
        "R-TORQUE", "C-LEVER.torque", "C-LEVER.dead"
    ]  # fmt: skip
    assert [each.judge for each in view.rows if not each.own] == ["R-ARM"]
    assert item_page(settled, "D-ARM") == before


def test_what_is_missed_because_of_an_option_is_what_kills_it(small: Session) -> None:
    lean(small, "D-ARM", "short")
    set_values(small, {"load": "110 N"}, "heavier")  # 13.2 and 16.5 N·m
    view = weigh(small, "D-ARM")
    assert [each.kills for each in view.options] == [
        "",
        "R-TORQUE missed: 16.5 N*m against at most 16 N*m, −0.5 N*m (−3 %)",
        "",
    ]


def test_a_miss_that_is_accepted_kills_nothing(small: Session) -> None:
    lean(small, "D-ARM", "short")
    set_values(small, {"load": "110 N"}, "heavier")
    small.commit((Entry(None, deviation(small, "R-TORQUE", "G2")),), "accept it")
    view = weigh(small, "D-ARM")
    assert cells(view, "R-TORQUE")[1] == ("missed", "16.5")
    assert view.options[1].kills == ""
    assert view.options[1].standing == "strained"


def test_what_is_missed_whatever_is_chosen_kills_no_option(small: Session) -> None:
    amend_item(small, "D-MASS", {"serves": ["R-MASS", "R-SIDE"]}, "it matters")
    set_values(small, {"side": "right"}, "turned round")
    view = weigh(small, "D-MASS")
    assert cells(view, "R-SIDE") == [("missed", "right")] * 2
    assert [each.kills for each in view.options] == ["", ""]
    assert not next(each for each in view.rows if each.judge == "R-SIDE").differs


def test_other_decisions_that_would_break_or_stand_again_are_named(settled: Session) -> None:
    amend_item(settled, "D-MASS", {"serves": ["R-MASS", "R-ARM"]}, "it needs the room")
    set_values(settled, {"R-ARM.lower": "130 mm"}, "a bigger hand")
    options = weigh(settled, "D-ARM").options
    assert [each.restores for each in options] == [(), ("D-MASS",), ()]
    set_values(settled, {"R-ARM.lower": "100 mm", "R-ARM.upper": "130 mm"}, "a shorter hand")
    options = weigh(settled, "D-ARM").options
    assert [each.breaks for each in options] == [(), ("D-MASS",), ()]


def test_money_is_weighed_where_the_option_moves_it(small: Session) -> None:
    add_items(small, MONEY, "tools")
    view = weigh(small, "D-TOOL")
    costs = {each.key: each for each in view.costs}
    assert costs["tool"].cells == ("900", "4 000", "unknown")
    assert costs["tool"].values == (900.0, 4000.0, None)
    assert costs["tool"].cheapest == (True, False, False)
    assert costs["piece"].cheapest == (False, False, False)  # the same in both
    assert (costs["tool"].unit, costs["tool"].title) == ("EUR", "Tool")


def test_weighing_can_be_stopped_and_wants_a_decision(small: Session) -> None:
    with pytest.raises(CancelledError):
        weigh(small, "D-ARM", lambda: True)
    with pytest.raises(UnknownKeyError):
        weigh(small, "load")


def test_a_score_is_the_weighted_mean() -> None:
    """(2 · 3 + 1 · 5) ÷ 3 = 11/3, (2 · 4 + 1 · 3) ÷ 3 = 11/3: a tie before (2 + 1) ÷ 3."""
    view = score(
        ("a", "b", "c"),
        {"cost": "2", "mass": "1", "looks": "", "luck": "0"},
        {
            ("a", "cost"): "3", ("a", "mass"): "5",
            ("b", "cost"): "4", ("b", "mass"): "3", ("b", "looks"): "what is left out is not read",
            ("c", "cost"): "1", ("c", "mass"): "1",
        },
    )  # fmt: skip
    assert view.totals == {"a": near(11 / 3), "b": near(11 / 3), "c": near(1.0)}
    assert view.ranks == {"a": 1, "b": 1, "c": 3}
    assert view.shares == {"cost": near(2 / 3), "mass": near(1 / 3), "luck": 0.0}


def test_an_option_without_all_ratings_has_no_total_yet() -> None:
    view = score(("a", "b"), {"cost": "2", "mass": "1"}, {("a", "cost"): "3", ("a", "mass"): "1"})
    assert view.totals == {"a": near(7 / 3), "b": None}
    assert view.ranks == {"a": 1}


@pytest.mark.parametrize(
    ("weights", "words"),
    [
        ({"cost": "-1"}, "zero or more"),
        ({"cost": "heavy"}, "weight"),
        ({"cost": "2 mm"}, "plain number"),
        ({"cost": "[1, 2, 3]"}, "plain number"),
        ({"cost": "0"}, "no criterion has a weight"),
        ({}, "no criterion has a weight"),
    ],
)
def test_weights_that_are_none_are_refused(weights: dict[str, str], words: str) -> None:
    with pytest.raises(BadValueError) as caught:
        score(("a",), weights, {("a", "cost"): "1"})
    assert words in f"{caught.value.field}: {caught.value.message}"


def test_everything_wrong_in_a_score_is_named_at_once() -> None:
    with pytest.raises(ManyProblemsError) as caught:
        score(("a",), {"cost": "-1", "mass": "2"}, {("a", "mass"): "much"})
    assert [(each.item, each.field) for each in caught.value.problems] == [
        ("cost", "weight"),
        ("mass", "rating a"),
    ]
