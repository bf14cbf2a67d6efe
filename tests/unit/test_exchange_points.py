"""Tables of points into the programme."""

from __future__ import annotations

import pytest

from tests.unit.services.small import small_session
from tests.unit.table_import import (
    corner_session,
    given,
    in_option,
    places,
    quantity,
    refused,
    take_in,
)
from tracker.model.records import BasisKind
from tracker.model.values import Kind
from tracker.services.actions import lean, settle

MESSY = (
    "\ufeff# corner points, left side, as of the layout review;;;;;;;\r\n"
    "\r\n"
    'Point ;X/mm;"y\r\n(mm)";Z [m];Description;basis;Reference;Date;;\r\n'
    "hub;\u00a0 12,5 ;\u2212610;0,3005;;;;;;\r\n"
    ";;;;;;;;;\r\n"
    '"p_new";0;1e2;,25;"Rocker, front";Measured;"Arm; ""blue"" print";2031-02-03;;\r\n'
    "# p_old;1;2;3\r\n"
    "p_cell;1 cm;2;3 mm;;;;;;\r\n"
)
"""A table as it comes out of a spreadsheet: mark, comments, decimal commas, empty columns."""


def test_a_messy_table_comes_in_as_one_change() -> None:
    session = small_session()
    before = session.head.revision
    told = take_in(session, MESSY, decimal_comma=True)
    assert told.revision == before + 1
    assert set(told.what) == {
        "hub: [0, 600, 300] mm → [12.5, -610, 300.5] mm (guess)",
        "new quantity p_new",
        "new quantity p_cell",
    }
    new = quantity(session, "p_new")
    assert (new.kind, new.unit.text, new.title) == (Kind.POINT, "mm", "Rocker, front")
    setting = given(session, "p_new")
    assert setting.value == (0.0, 100.0, 250.0)
    assert setting.basis.kind is BasisKind.MEASURED
    assert (setting.basis.source, setting.basis.dated) == ('Arm; "blue" print', "2031-02-03")
    assert given(session, "p_cell").value == (10.0, 2.0, 3.0)  # 1 cm is 10 mm; mm is the header's
    assert quantity(session, "p_cell").title == "p_cell"


def test_numbers_and_unit_are_kept_as_typed() -> None:
    session = small_session()
    take_in(session, "point,x [cm],y [cm],z [cm]\nhub,1.50,61,30\n")
    assert given(session, "hub").typed == "[1.50, 61, 30] cm"
    assert given(session, "hub").value == (15.0, 610.0, 300.0)
    assert quantity(session, "hub").unit.text == "mm"  # a point keeps its unit


def test_without_any_unit_a_known_point_is_in_its_own() -> None:
    session = small_session()
    take_in(session, "point,x,y,z\nhub,1,2,3\n")
    assert given(session, "hub").value == (1.0, 2.0, 3.0)


def test_the_unit_can_stand_in_a_column() -> None:
    session = small_session()
    take_in(session, "key,x,y,z,Units\np,1,2,3,in\nhub,1,2,3,cm\n")
    assert quantity(session, "p").unit.text == "in"
    assert given(session, "hub").value == (10.0, 20.0, 30.0)


def test_a_new_point_can_say_its_unit_in_its_cells() -> None:
    session = small_session()
    take_in(session, "point,x,y,z\np,1 m,2 m,3 m\n")
    assert given(session, "p").value == (1.0, 2.0, 3.0)
    assert quantity(session, "p").unit.text == "m"


def test_the_same_value_keeps_its_basis_and_the_row_may_better_it() -> None:
    session = small_session()
    head = "point,x [mm],y [mm],z [mm],basis,source\n"
    take_in(session, f"{head}hub,0,600,300,measured,Table 4\n")
    assert given(session, "hub").basis.kind is BasisKind.MEASURED
    take_in(session, f"{head}hub,0,600,300,,Table 5\n")
    assert given(session, "hub").basis.kind is BasisKind.MEASURED
    assert given(session, "hub").basis.source == "Table 5"
    problem = refused(session, f"{head}hub,0,600,300,,\n")[0]
    assert problem.message == "nothing would change"
    take_in(session, f"{head}hub,0,600,301,,\n")
    assert given(session, "hub").basis.kind is BasisKind.GUESS
    assert given(session, "hub").basis.source == ""


def test_points_go_into_an_option() -> None:
    session = corner_session()
    text = "point,x [mm],y [mm],z [mm],title\nuca_o,10,690,480,Upper\nlca_o,8,728,205,\n"
    told = take_in(session, text, "D-CORNER/high")
    assert set(told.what) == {
        "uca_o reworded",
        "D-CORNER/high.lca_o: not stated → [8, 728, 205] mm (guess)",
    }
    assert in_option(session, "D-CORNER", "high", "uca_o").basis.kind is BasisKind.MEASURED
    assert quantity(session, "uca_o").title == "Upper"
    assert quantity(session, "uca_o").given is None


def test_a_point_of_a_decision_is_refused_with_its_owner() -> None:
    session = corner_session()
    problems = refused(session, "point,x [mm],y [mm],z [mm]\nhub,1,2,3\nuca_o,1,2,3\n")
    assert places(problems) == [("line 3, uca_o", "value")]
    assert problems[0].message == "it is owned by decision D-CORNER"
    assert "--into D-CORNER/high or D-CORNER/low" in problems[0].remedy


def test_only_what_the_decision_sets_goes_into_its_option() -> None:
    session = corner_session()
    head = "point,x [mm],y [mm],z [mm]\n"
    problems = refused(session, f"{head}hub,1,2,3\nlca_o,1,2,3\np,1,2,3\n", "D-CORNER/low")
    assert places(problems) == [("line 2, hub", "value"), ("line 4, p", "value")]
    assert all(each.message.startswith("decision D-CORNER does not set") for each in problems)


@pytest.mark.parametrize(
    ("into", "said"),
    [
        ("D-CORNER/middle", "no option 'middle'"),
        ("D-CORNER", "no option ''"),
        ("D-NONE/high", "no decision is called 'D-NONE'"),
        ("hub/high", "hub is a quantity, not a decision"),
    ],
)
def test_an_option_there_is_not(into: str, said: str) -> None:
    problem = refused(corner_session(), "point,x,y,z\nuca_o,1,2,3\n", into)[0]
    assert said in problem.message
    assert problem.field == "into"


def test_a_settled_decision_is_reopened_first() -> None:
    session = corner_session()
    lean(session, "D-CORNER", "low")
    settle(session, "D-CORNER", "low", "It fits", {"high": "It does not"})
    problem = refused(session, "point,x,y,z\nuca_o,1,2,3\n", "D-CORNER/low")[0]
    assert problem.message == "the decision is settled"
    assert "Reopen D-CORNER" in problem.remedy


@pytest.mark.parametrize(
    ("row", "field", "said"),
    [
        ("hub,1,,3", "column y (mm)", "the cell is empty"),
        ("hub,1,2,three", "column z (mm)", "does not begin with a number"),
        ("hub,1,2,3 kg", "column z (mm)", "does not measure the same thing"),
        ("hub,1,2,3 bananas", "column z (mm)", "not a known unit"),
        ("p,1 bananas,2,3", "column x", "not a known unit"),
        ("p,one,2,3", "column x", "does not begin with a number"),
        ('hub,1,"1,234",3', "column y (mm)", "between thousands"),
        ('hub,1,"2,5",3', "column y (mm)", "decimal comma"),
        ("hub,1,#N/A,3", "column y (mm)", "formula failed"),
        ("hub,1,nan,3", "column y (mm)", "does not begin with a number"),
        ("hub,1,1e999,3", "column y (mm)", "too large"),
        ("hub,1,[1;2;3],3", "column y (mm)", "not a point"),
        ('hub,1,"[1, 2, 3]",3', "column y (mm)", "is not a number"),
        ("p,1,2,3", "column x", "its unit is not said"),
        ("load,1,2,3", "column Point", "load is a quantity of type real, not a point"),
        ("R-ARM,1,2,3", "column Point", "R-ARM is a requirement, not a point"),
        ("hub,1,2", "column 4", "the row has 3 cells, the header has 4"),
        ("hub,1,2,3,4", "column 5", "the row has 5 cells, the header has 4"),
        ("[b]hub,1 mm,2,3", "column Point", "is not a key"),
        ("\u202ehub,1 mm,2,3", "column Point", "is not a key"),
        (",1 mm,2,3", "column Point", "is not a key"),
    ],
)
def test_a_row_that_does_not_hold(row: str, field: str, said: str) -> None:
    problems = refused(small_session(), f"# layout\nPoint,x,y (mm),z (mm)\nhub,4,5,6\n{row}\n")
    at = next(each for each in problems if said in each.message)
    assert at.item.startswith("line 4")
    assert at.field == field
    assert at.remedy or "not a number" in at.message


def test_everything_wrong_is_told_at_once() -> None:
    text = (
        "point,x [mm],y [mm],z [mm],dated\n"
        "hub,1,2,x,\np,,1,2,\nq,1,2,3,2031-02-30\nr,1,2,3,20310203\n"
    )
    assert places(refused(small_session(), text)) == [
        ("line 2", "column z [mm]"),
        ("line 3", "column x [mm]"),
        ("line 4", "column dated"),
        ("line 5", "column dated"),
    ]


def test_what_the_programme_refuses_has_its_place_too() -> None:
    text = "point,x [mm],y [mm],z [mm],basis\nhub,1,2,3,sure\np,1,2,3,\np,4,5,6,\nq,1,2,3,sure\n"
    assert places(refused(small_session(), text)) == [
        ("line 2, hub", "column basis"),
        ("line 4, p", "column point"),
        ("line 5, q", "column basis"),
    ]


def test_a_unit_said_twice_must_agree() -> None:
    problems = refused(small_session(), "point,x [mm],y [mm],z [mm],unit\nhub,1,2,3,cm\n")
    assert places(problems) == [("line 2", "column unit")]
    take_in(small_session(), "point,x [mm],y [mm],z [mm],unit\nhub,1,2,3,mm\n")


def test_a_coordinate_is_no_pure_number() -> None:
    problems = refused(small_session(), "point,x [-],y [mm],z [mm]\nhub,1,2,3\n")
    assert places(problems) == [("line 2", "column x [-]")]


def test_texts_of_others_are_kept_and_never_obeyed() -> None:
    session = small_session()
    nasty = "[@click=quit]=1+1|{{7*7}}\u202e<b>"
    take_in(session, f"point,x [mm],y [mm],z [mm],title\np,1,2,3,{nasty}\n")
    assert quantity(session, "p").title == nasty
    problem = refused(session, "point,x [mm],y [mm],z [mm],title\nq,1,2,3,a\x1b[2J\n")[0]
    assert (problem.item, problem.field) == ("line 2", "column title")
