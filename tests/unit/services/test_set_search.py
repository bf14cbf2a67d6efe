"""Option sets of the small programme, against numbers worked out by hand."""

from __future__ import annotations

import pytest

from tests.unit.services.small import near
from tracker.cli.page import Page
from tracker.cli.terminal import Look
from tracker.cli.text.option_sets import sets_text
from tracker.errors import BadKeyError, BadValueError, CancelledError, UnknownKeyError
from tracker.services.actions import add_items, lean, set_values, settle
from tracker.services.session import Session
from tracker.services.set_search import option_sets
from tracker.services.set_views import SetsView
from tracker.services.wording import CAUTION


def text_of(view: SetsView) -> str:
    page = Page(Look())
    sets_text(page, view)
    return " ".join(str(page).split())


def test_which_combinations_are_alive(small: Session) -> None:
    """Torque 12 or 15 N·m against 16; the arm 120 or 150 mm against at least 100."""
    view = option_sets(small)
    assert (view.count, view.total, view.evaluated) == (4, 6, 3)
    assert view.sets[0].options == {"D-ARM": "short", "D-MASS": "forged"}
    margins = [(each.closest, each.margin) for each in view.sets]
    assert margins[0] == ("R-ARM", near(0.2))
    assert margins[-1] == ("R-TORQUE", near(1 / 16))
    assert [(each.decisions, each.count, each.total) for each in view.groups] == [
        (("D-ARM",), 2, 3),
        (("D-MASS",), 2, 2),
    ]
    arm = view.decisions[0]
    assert (arm.key, arm.state) == ("D-ARM", "open")
    assert [(each.option, each.count) for each in arm.options] == [
        ("short", 2),
        ("long", 2),
        ("later", 0),
    ]
    (dead,) = view.killed
    assert (dead.decision, dead.option, dead.others, dead.smallest) == ("D-ARM", "later", (), True)
    assert [each.words for each in dead.conflicts] == ["R-TORQUE unknown"]
    assert (view.caution, view.revision) == (CAUTION, small.head.revision)
    assert view.goal == "largest least margin"


def test_goals_in_words(small: Session) -> None:
    view = option_sets(small, smallest="torque", most=3)
    assert view.goal == "smallest torque"
    assert [each.text for each in view.sets] == ["12 N*m", "12 N*m", "15 N*m"]
    assert view.sets[0].value == near(12.0)
    assert option_sets(small, largest="torque").sets[0].value == near(15.0)
    assert option_sets(small, largest="hub.z").sets[0].text == "300 mm"
    unknown = option_sets(small, smallest="tread").sets[0]
    assert (unknown.value, unknown.text) == (None, "unknown")


@pytest.mark.parametrize(
    ("smallest", "largest", "error", "words"),
    [
        ("mass", "torque", BadKeyError, "two goals"),
        ("D-ARM/long.arm", "", BadKeyError, "chosen as the quantity itself"),
        ("nobody", "", UnknownKeyError, "no quantity is called"),
        ("", "R-MASS", UnknownKeyError, "not a quantity"),
        ("side", "", BadValueError, "no number"),
    ],
)
def test_goals_that_are_none(
    small: Session, smallest: str, largest: str, error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        option_sets(small, smallest=smallest, largest=largest)


def test_leaning_decisions_are_taken_in_when_asked(small: Session) -> None:
    lean(small, "D-ARM", "long")
    assert [each.key for each in option_sets(small).decisions] == ["D-MASS"]
    whole = option_sets(small, leaning=True)
    assert [(each.key, each.state) for each in whole.decisions] == [
        ("D-ARM", "leaning"),
        ("D-MASS", "open"),
    ]


def test_conflicts_between_decisions_in_words(small: Session) -> None:
    """Kick on 120 mm: 15.6, 14.4 N·m; on 150 mm: 19.5, 18 N·m, against at most 16 N·m."""
    add_items(
        small,
        [
            {"kind": "quantity", "key": "stop", "title": "Stop", "unit": "N"},
            {
                "kind": "decision",
                "key": "D-STOP",
                "question": "Which stop?",
                "serves": ["R-STOP"],
                "options": [
                    {"key": "hard", "title": "Hard", "settings": {"stop": "130 N"}},
                    {"key": "soft", "title": "Soft", "settings": {"stop": "120 N"}},
                    {"key": "none", "title": "None", "settings": {"stop": "0 N"}},
                ],
            },
            {"kind": "quantity", "key": "kick", "title": "Kick", "unit": "N*m"},
            {
                "kind": "check",
                "key": "C-KICK",
                "title": "Kick",
                "check": "lever",
                "decision": "D-STOP",
                "inputs": {
                    "force": "stop",
                    "arm": "arm",
                    "angle": {"value": "1.5707963267948966 rad"},
                },
                "outputs": {"torque": "kick"},
            },
            {
                "kind": "requirement",
                "key": "R-KICK",
                "statement": "It does not kick",
                "quantity": "kick",
                "upper": "16 N*m",
            },
            {
                "kind": "requirement",
                "key": "R-STOP",
                "statement": "It stops",
                "quantity": "stop",
                "lower": "100 N",
            },
        ],
        "a stop",
    )
    view = option_sets(small, most=2)
    assert (view.count, view.total) == (4, 18)
    why = {(each.decision, each.option): each for each in view.killed}
    long = why["D-ARM", "long"]
    assert long.others == ("D-STOP",)
    assert [each.words for each in long.conflicts] == [
        "R-KICK missed with D-STOP/hard",
        "R-KICK missed with D-STOP/soft",
        "R-STOP missed by D-STOP/none",
    ]
    assert long.conflicts[0].choices[0].option == "hard"
    told = text_of(view)
    assert "long in none R-KICK missed with D-STOP/hard; R-KICK missed with D-STOP/soft; " in told
    assert "4 of 18 combinations of open options" in told
    assert "Independent of each other 2 of 9 D-ARM, D-STOP 2 of 2 D-MASS" in told
    assert CAUTION in told


def test_nothing_alive_and_what_no_choice_changes(small: Session) -> None:
    set_values(small, {"side": "right", "R-ARM.lower": "200 mm"}, "it grew")
    settle(small, "D-MASS", "forged", "Forged is lighter", {"cast": "Too heavy"})
    view = option_sets(small)
    assert (view.count, view.sets) == (0, ())
    assert [(each.requirement, each.verdict) for each in view.beside] == [("R-SIDE", "missed")]
    told = text_of(view)
    assert "0 of 3 combinations" in told
    assert "No choice here changes these R-SIDE ✕ missed" in told
    assert "Independent" not in told


def test_options_that_only_other_decisions_leave_without_a_combination(small: Session) -> None:
    set_values(small, {"R-ARM.lower": "200 mm"}, "it grew")
    told = text_of(option_sets(small))
    assert "forged in 1 of its group but nothing is left of D-ARM" in told


def test_it_can_be_stopped_and_tells_how_far_it_got(small: Session) -> None:
    told: list[str] = []
    option_sets(small, progress=told.append)
    assert told[0].startswith("3 combinations evaluated")
    head = small.head
    with pytest.raises(CancelledError):
        option_sets(small, cancel=lambda: True)
    assert small.head == head


def test_long_reasons_are_cut_in_text(small: Session) -> None:
    from dataclasses import replace

    view = option_sets(small)
    (dead,) = view.killed
    many = replace(dead, conflicts=dead.conflicts * 6, left_out=3, smallest=False)
    told = text_of(replace(view, killed=(many,)))
    assert "R-TORQUE unknown; and 5 more; fewer decisions may be enough to rule it out" in told
