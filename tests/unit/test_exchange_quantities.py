"""Tables of quantities into the programme."""

from __future__ import annotations

import pytest

from tests.unit.services.small import small_session
from tests.unit.table_import import given, in_option, places, quantity, refused, take_in
from tracker.model.records import BasisKind
from tracker.model.values import Kind

MESSY = (
    "\ufeff\t\t\r\n"
    "# Vehicle data, export of the mass sheet\t\r\n"
    "ID\tDescription\tType\tUnits\tNominal\tTol\tlow\tHIGH\tBasis\tReference\tDate\t\t\r\n"
    'wheelbase\t"Wheelbase, ""design"""\t\tmm\t\u202f2850\u00a0\t\t\t\t\t\t\t\t\r\n'
    "load\t\t\tkN\t0,12\t0,004\t\t\tmeasured\tScale 2\t2031-01-09\t\t\r\n"
    "\t\t\t\t\t\t\t\t\t\t\t\t\r\n"
    "side\t\t\t\tright\t\t\t\t\t\t\t\t\r\n"
    "sealed\t\tflag\t\tno\t\t\t\t\t\t\t\t\r\n"
    "ratio\tSteering ratio\tReal\t-\t15,5\t\t14\t17\testimate\t\t\t\t\r\n"
    "seats\tSeats\tinteger\t\t4\t\t\t\t\t\t\t\t\r\n"
    "later\tNot known yet\t\tkg\t\t\t\t\t\t\t\t\t\r\n"
)
"""A table as it comes out of a spreadsheet: tabs, decimal commas, odd blanks, empty columns."""


def test_a_messy_table_comes_in_as_one_change() -> None:
    session = small_session()
    before = session.head.revision
    told = take_in(session, MESSY, decimal_comma=True)
    assert told.revision == before + 1
    assert set(told.what) == {
        "new quantity wheelbase",
        "load: 100 N → 120 N (measured, Scale 2)",
        "load tolerance: ± 4 N (normal)",
        "side: left → right (guess)",
        "sealed: yes → no (guess)",
        "new quantity ratio",
        "new quantity seats",
        "new quantity later",
    }
    ratio = quantity(session, "ratio")
    assert (ratio.unit.text, ratio.low, ratio.high) == ("", 14.0, 17.0)
    assert given(session, "ratio").value == 15.5
    assert quantity(session, "seats").kind is Kind.INTEGER
    assert quantity(session, "later").given is None
    assert given(session, "load").typed == "0.12 kN"
    assert given(session, "load").basis.dated == "2031-01-09"
    assert quantity(session, "load").low == 50.0  # an empty cell leaves what there is


def test_what_is_wrong_in_it_has_its_place() -> None:
    text = MESSY.replace("Wheelbase, ", "Wheelbase\r\n").replace("0,12", "0.12")
    problems = refused(small_session(), text, decimal_comma=True)
    assert places(problems) == [  # a title is one line; a record of two lines counts as two
        ("line 4", "column Description"),
        ("line 6", "column Nominal"),
    ]


def test_units_may_stand_in_the_header() -> None:
    session = small_session()
    text = "key,title,value [mm],tolerance (mm),low/cm,high\np,P,12,50,1,20\nload,,,,,\n"
    told = take_in(session, text)
    assert told.what == ("new quantity p",)
    new = quantity(session, "p")
    assert new.unit.text == "mm"
    assert (new.low, new.high) == (10.0, 20.0)
    assert new.tolerance is not None
    assert new.tolerance.half_width == 50.0


def test_a_point_and_a_percentage_are_values_too() -> None:
    session = small_session()
    text = 'key,title,type,unit,value\np,P,point,mm,"[1, 2, 3]"\nq,Q,,%,12\nhub,,,,"[1, 2, 3] cm"\n'
    take_in(session, text)
    assert given(session, "p").value == (1.0, 2.0, 3.0)
    assert given(session, "q").typed == "12 %"
    assert given(session, "hub").value == (10.0, 20.0, 30.0)


def test_a_basis_can_come_without_a_value() -> None:
    session = small_session()
    take_in(session, "key,value,basis,source\nhub,,measured,Table 4\n")
    assert given(session, "hub").value == (0.0, 600.0, 300.0)
    assert given(session, "hub").basis.kind is BasisKind.MEASURED


def test_a_basis_without_any_value_is_refused() -> None:
    text = (
        "key,title,value,basis,source,dated\n"
        "tread,,,measured,,\nnew,N,,,Sheet 7,\nmass,,,,Sheet 7,\nmore,M,,,,2031-01-01\n"
    )
    problems = refused(small_session(), text)
    assert places(problems) == [
        ("line 2, tread", "column basis"),
        ("line 3, new", "column source"),
        ("line 4, mass", "column value"),
        ("line 5, more", "column dated"),
    ]
    assert problems[2].message == "it is computed by check C-MASS"


def test_a_value_becomes_known() -> None:
    session = small_session()
    take_in(session, "key,value\ntread,1580\n")
    assert given(session, "tread").value == 1580.0
    assert given(session, "tread").reason == ""


def test_values_go_into_an_option() -> None:
    session = small_session()
    told = take_in(session, "key,value [m],basis\narm,0.15,\n", "D-ARM/later")
    assert told.what[0].startswith("D-ARM/later.arm: unknown, the supplier")
    assert in_option(session, "D-ARM", "later", "arm").value == 150.0
    take_in(session, "key,value [m],basis\narm,0.12,quoted\n", "D-ARM/short")
    short = in_option(session, "D-ARM", "short", "arm")
    assert (short.basis.kind, short.basis.source) == (BasisKind.QUOTED, "Sketch 3")
    assert short.typed == "12 cm"  # the same value as before


def test_a_row_without_a_value_changes_no_option() -> None:
    session = small_session()
    told = take_in(session, "key,value,high [mm]\narm,,200\n", "D-ARM/short")
    assert told.what == ("arm may move: at most 200 mm",)


@pytest.mark.parametrize(
    ("row", "field", "said"),
    [
        ("load,,,kg,5,", "column unit", "kg does not measure the same thing as N"),
        ("load,,,kg,,", "column unit", "kg does not measure the same thing as N"),
        ("load,,,-,5,", "column unit", "a pure number does not measure"),
        ("load,,,bananas,5,", "column unit", "not a known unit"),
        ("load,,,,5 kg,", "column value", "kg does not measure the same thing as N"),
        ("new,N,,bananas,5,", "column unit", "not a known unit"),
        ("load,,point,,5,", "column type", "load is of type real, not point"),
        ("load,,bananas,,5,", "column type", "load is of type real, not bananas"),
        ("new,N,bananas,,5,", "column type", "new and cannot be made as bananas"),
        ("new,N,choice,,5,", "column type", "new and cannot be made as choice"),
        ("parts,,,,5,", "column value", "a table is given as a list of rows"),
        ("side,,,,up,", "column value", "is not one of its choices"),
        ("side,,,mm,left,", "column unit", "a choice has no unit"),
        ("new,N,flag,mm,yes,", "column unit", "a flag has no unit"),
        ("sealed,,,,perhaps,", "column value", "not yes or no"),
        ("pieces,,,,5,", "value", "it is computed by check C-MASS"),
        ("arm,,,,5,", "value", "it is owned by decision D-ARM"),
        ("R-ARM,,,,5,", "column key", "R-ARM is a requirement"),
        ("new,,,,5,", "column title", "it is missing"),
        ("new,N,,,five,", "column value", "does not begin with a number"),
        ("new,N,integer,,5.5,", "column value", "not a whole number"),
        ("new,N,,,5,-1", "column tolerance", "a tolerance is not negative"),
        ("new,N,,mm,5,1 kg", "column tolerance", "does not measure the same thing"),
        ("[b]new,N,,,5,", "column key", "is not a key"),
        (",N,,,5,", "column key", "is not a key"),
    ],
)
def test_a_row_that_does_not_hold(row: str, field: str, said: str) -> None:
    problems = refused(small_session(), f"key,title,type,unit,value,tolerance\n{row}\n")
    problem = next(each for each in problems if said in each.message)
    assert problem.item.startswith("line 2")
    assert problem.field.removeprefix("column ") == field.removeprefix("column ")


def test_a_unit_in_the_header_that_does_not_fit_is_named_there() -> None:
    head = "key,title,type,value [kg]\n"
    assert places(refused(small_session(), f"{head}load,,,5\n")) == [
        ("line 2", "column value [kg]")
    ]
    assert places(refused(small_session(), f"{head}side,,,left\n")) == [
        ("line 2", "column value [kg]")
    ]


def test_a_key_stands_once() -> None:
    problems = refused(small_session(), "key,value\nload,5\nhub,\nload,6\n")
    assert [(each.item, each.message) for each in problems] == [
        ("line 4, load", "the key stands twice")
    ]


def test_a_table_that_says_nothing_new_is_told_so() -> None:
    problem = refused(small_session(), "key,value\nload,100\n")[0]
    assert problem.message == "nothing would change"


def test_ten_thousand_rows_of_nonsense_are_all_named() -> None:
    text = "key,value\n" + "load,x\n" * 10_000
    assert len(refused(small_session(), text)) == 10_000
