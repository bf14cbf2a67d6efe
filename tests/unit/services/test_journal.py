"""The journal: pages, undo, redo, comparing revisions in engineering words."""

from __future__ import annotations

import pytest

from tests.unit.services.small import AGAINST
from tracker.errors import InUseError, UndoConflictError, UnknownRevisionError
from tracker.model.records import Basis, BasisKind
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    review,
    set_values,
    settle,
    undo,
    withdraw,
)
from tracker.services.item import item_page
from tracker.services.journal import compare, journal_page
from tracker.services.session import Session


def loads(session: Session) -> object:
    return item_page(session, "load").value


def test_a_page_reads_newest_first_in_words(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed", Basis(kind=BasisKind.MEASURED, source="Rig"))
    page = journal_page(settled)
    assert (page.revision, page.head) == (5, settled.head.hash)
    assert [line.revision for line in page.lines] == [5, 4, 3, 2, 1]
    newest = page.lines[0]
    assert newest.what == ("load: 100 N → 110 N (measured, Rig)",)
    assert (newest.author, newest.reason, newest.undoes) == ("Ann", "weighed", 0)
    assert page.lines[2].what == ("D-ARM settled on short",)
    assert "new requirement R-TORQUE" in page.lines[3].what
    assert page.lines[4].what == ("new programme programme",)


def test_pages_follow_one_another(settled: Session) -> None:
    assert [line.revision for line in journal_page(settled, limit=2).lines] == [4, 3]
    assert [line.revision for line in journal_page(settled, 2, before=3).lines] == [2, 1]
    assert journal_page(settled, 2, before=1).lines == ()
    assert journal_page(settled, 2, before=-5).lines == ()
    assert [line.revision for line in journal_page(settled, 1, before=99).lines] == [4]


def test_hostile_reasons_and_authors_are_made_visible(small: Session) -> None:
    other = Session(small.store, small.tools, "B\u202eob")
    set_values(other, {"load": "1 N"}, "up\u200bdate")
    small.refresh()
    line = journal_page(small).lines[0]
    assert (line.author, line.reason) == ("B<U+202E>ob", "up<U+200B>date")


def test_undo_takes_the_latest_change_back_and_undo_of_that_is_redo(small: Session) -> None:
    set_values(small, {"load": "90 N"}, "lighter")
    done = undo(small)
    assert done.what == ("load: 90 N → 100 N (quoted, Supplier sheet 7)",)
    assert loads(small) == 100.0
    line = journal_page(small).lines[0]
    assert (line.reason, line.undoes) == ("undo revision 3", 3)
    undo(small, 4)
    assert loads(small) == 90.0
    undo(small)
    assert loads(small) == 100.0
    assert [line.undoes for line in journal_page(small, 3).lines] == [3, 4, 3]


def test_bare_undo_walks_back_through_the_authors_own_changes(small: Session) -> None:
    other = Session(small.store, small.tools, "Bob")
    set_values(small, {"load": "90 N"}, "lighter")
    set_values(other, {"hub.x": "5"}, "measured")
    lean(small, "D-ARM", "short")
    undo(small)
    assert item_page(small, "D-ARM").facts[0] == ("state", "open")
    undo(small)
    assert loads(small) == 100.0
    assert item_page(small, "hub").value == (5.0, 600.0, 300.0)
    undo(other)
    with pytest.raises(UnknownRevisionError) as caught:
        undo(other)
    assert caught.value.message == "Bob has no change left to undo"


def test_an_undone_change_that_was_done_again_is_undone_again(small: Session) -> None:
    set_values(small, {"load": "90 N"}, "lighter")
    lean(small, "D-ARM", "short")
    undo(small, 3)
    undo(small, 5)
    assert loads(small) == 90.0
    undo(small)
    assert item_page(small, "D-ARM").facts[0] == ("state", "open")
    undo(small)
    assert loads(small) == 100.0


def test_undo_reaches_back_over_many_changes_of_others(small: Session) -> None:
    other = Session(small.store, small.tools, "Bob")
    set_values(small, {"load": "90 N"}, "lighter")
    for number in range(205):
        set_values(other, {"tread": number + 1}, "step")
    undo(small)
    assert len(journal_page(small).lines) == 50
    assert loads(small) == 100.0


def test_undo_names_the_later_changes_in_its_way(small: Session) -> None:
    set_values(small, {"load": "90 N", "hub.x": "5"}, "both")
    set_values(small, {"load": "80 N"}, "lighter")
    set_values(small, {"tread": "7"}, "unrelated")
    set_values(small, {"hub.x": "6"}, "moved")
    with pytest.raises(UndoConflictError) as caught:
        undo(small, 3)
    assert caught.value.exit_code == 3
    assert caught.value.item == "revision 4, 6"
    assert small.head.revision == 6
    assert loads(small) == 80.0
    undo(small, 4)
    undo(small, 6)
    undo(small, 3)
    assert loads(small) == 100.0
    assert item_page(small, "hub").value == (0.0, 600.0, 300.0)


def test_what_others_refer_to_cannot_be_undone(small: Session) -> None:
    add_items(small, [{"kind": "quantity", "key": "q", "title": "Q"}], "one")
    band = {"kind": "requirement", "key": "r", "statement": "S", "quantity": "q", "upper": 1}
    add_items(small, [band], "two")
    with pytest.raises(InUseError, match="still used by r"):
        undo(small, 3)
    undo(small)
    undo(small)
    assert small.programme.find("q") is None


@pytest.mark.parametrize("revision", [0, -1, 3, 10**12])
def test_a_change_that_never_was_cannot_be_undone(small: Session, revision: int) -> None:
    with pytest.raises(UnknownRevisionError) as caught:
        undo(small, revision)
    assert str(revision) in caught.value.message
    assert "1 to 2" in caught.value.remedy


def test_any_two_revisions_compare_in_words_worst_first(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    set_values(settled, {"R-MASS.upper": "4.2 kg"}, "lighter wanted")
    add_items(settled, [{"kind": "gate", "key": "G3", "title": "Pilot", "date": "2032-01-01"}], "x")
    told = compare(settled, 4, 7)
    assert (told.earlier, told.later) == (4, 7)
    assert [(each.decision, each.before, each.after) for each in told.standings] == [
        ("D-ARM", "stands", "broken"),
        ("D-MASS", "stands", "strained"),
    ]
    assert told.standings[0].why == "R-TORQUE is missed"
    assert told.look == ("D-ARM", "D-MASS")
    assert [each.judge for each in told.findings] == ["R-TORQUE", "R-MASS", "C-LEVER.torque"]
    worst = told.findings[0]
    assert worst.before is not None
    assert worst.after is not None
    assert (worst.before.distance_text, worst.after.distance_text) == (
        "+4 N*m (+25 %)",
        "−2 N*m (−12 %)",
    )
    assert [(each.consequence, each.key, each.what) for each in told.items] == [
        (
            "broken",
            "D-ARM",
            (
                "D-ARM is broken: R-TORQUE is missed (was stands)",
                "D-ARM wants another look: its ground has shifted",
            ),
        ),
        (
            "missed",
            "R-TORQUE",
            ("R-TORQUE is missed: 18 N*m against at most 16 N*m (was met at 12 N*m)",),
        ),
        (
            "shifted",
            "D-MASS",
            (
                "D-MASS is strained: R-MASS is tight (was stands)",
                "D-MASS wants another look: its ground has shifted",
            ),
        ),
        (
            "tight",
            "R-MASS",
            (
                "R-MASS upper: 5 kg → 4.2 kg",
                "R-MASS is tight: 4 kg against at most 4.2 kg (was met at 4 kg)",
            ),
        ),
        ("changed", "load", ("load: 100 N → 150 N (guess)",)),
        ("changed", "torque", ("torque: 12 N*m → 18 N*m (check C-LEVER)",)),
        ("new", "G3", ("new gate G3",)),
    ]
    reasons = {each.key: [line.reason for line in each.reasons] for each in told.items}
    assert reasons == {
        "D-ARM": ["heavier"],
        "R-TORQUE": ["heavier"],
        "D-MASS": ["lighter wanted"],
        "R-MASS": ["lighter wanted"],
        "load": ["heavier"],
        "torque": ["heavier"],
        "G3": ["x"],
    }
    assert "no substitute" in told.caution


def test_comparing_runs_backwards_and_with_itself(settled: Session) -> None:
    same = compare(settled, 3, 3)
    assert (same.standings, same.findings, same.items, same.look) == ((), (), (), ())
    back = compare(settled, 4, 1)
    assert {each.what for each in back.items if each.kind == "gate"} == {
        ("gate G1 removed",),
        ("gate G2 removed",),
    }
    assert [(each.decision, each.after, each.why) for each in back.standings] == [
        ("D-ARM", "", "it is gone"),
        ("D-MASS", "", "it is gone"),
    ]
    assert all(each.after is None for each in back.findings)


def test_a_comparison_backwards_gives_the_changes_it_takes_back(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    back = compare(settled, 5, 4)
    told = {
        each.key: (each.consequence, [line.reason for line in each.reasons]) for each in back.items
    }
    assert told == {
        "D-ARM": ("restored", ["heavier"]),
        "R-TORQUE": ("restored", ["heavier"]),
        "load": ("changed", ["heavier"]),
        "torque": ("changed", ["heavier"]),
    }


def test_comparing_folds_detours_away(settled: Session) -> None:
    set_values(settled, {"load": "150 N"}, "heavier")
    set_values(settled, {"load": "100 N"}, "back", Basis(kind=BasisKind.MEASURED))
    told = compare(settled, 4, 6)
    assert (told.standings, told.findings, told.look) == ((), (), ())
    assert [each.what for each in told.items] == [("load: 100 N (measured)",)]


def test_comparing_tells_of_shifts_and_withdrawals(settled: Session) -> None:
    set_values(settled, {"load": "101 N"}, "weighed")
    assert compare(settled, 4, 5).look == ("D-ARM",)
    review(settled, "D-ARM", "fine")
    assert compare(settled, 5, 6).look == ()
    withdraw(settled, "D-MASS", "not needed")
    told = compare(settled, 6, 7)
    assert [(each.decision, each.before, each.after) for each in told.standings] == [
        ("D-MASS", "stands", "")
    ]


@pytest.mark.parametrize(("earlier", "later"), [(-1, 2), (1, 9)])
def test_comparing_with_what_never_was_is_refused(small: Session, earlier: int, later: int) -> None:
    with pytest.raises(UnknownRevisionError):
        compare(small, earlier, later)


def test_words_use_the_keys_of_the_present(small: Session) -> None:
    settle(small, "D-ARM", "short", "It holds", AGAINST)
    amend_item(small, "load", {"key": "pull"}, "clearer")
    page = journal_page(small)
    assert page.lines[0].what == ("load is now called pull",)
    undo(small, 4)
    assert small.programme.find("load") is not None
