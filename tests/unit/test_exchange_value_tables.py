"""Files with the rows of one quantity of type table."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.small import small_session
from tests.unit.table_import import given, in_option, places, quantity, refused, take_in
from tracker.errors import InputError
from tracker.model.values import CellKind
from tracker.services.actions import add_items, update_items
from tracker.services.session import Session

MESSY = (
    "\ufeff# parts list, pasted from the mass sheet;;;;\r\n"
    ";;;;\r\n"
    '"Spare";PART;Mass [g_];"Count";;\r\n'
    'no;"knuckle; ""left""";1\u00a0600;2;;\r\n'
    "\r\n"
    "YES;\u00a0stop L/R ;0,5 kg;\u22124;;\r\n"
).replace("g_", "gram")
"""As it comes out of a spreadsheet; one cell has a sign between thousands."""


def test_a_messy_file_replaces_the_rows() -> None:
    session = small_session()
    told = take_in(session, MESSY.replace("\u00a0600", "600"), table="parts", decimal_comma=True)
    assert given(session, "parts").value == (
        ('knuckle; "left"', 1.6, 2, False),  # 1600 gram are 1.6 kg
        ("stop L/R", 0.5, -4, True),
    )
    assert 'parts[1].part: arm → knuckle; "left"' in told.what
    assert told.ripple is not None
    assert told.ripple.ran == 1  # the mass of the parts is worked out anew


def test_a_sign_between_thousands_is_refused_with_its_place() -> None:
    problems = refused(small_session(), MESSY, table="parts", decimal_comma=True)
    assert places(problems) == [("line 4", "column Mass [gram]")]
    assert "without it" in problems[0].remedy


def test_columns_can_be_mapped_and_left_unread() -> None:
    session = small_session()
    text = "What;Weight;n;Colour;Keep\narm;1600;2;blue;no\n"
    mapped = {"what": "part", "Weight": "mass [gram]", "n": "count", "Keep": "Spare", "colour": ""}
    take_in(session, text, table="parts", mapped=mapped)
    assert given(session, "parts").value == (("arm", 1.6, 2, False),)


def test_all_columns_must_be_there() -> None:
    problems = refused(small_session(), "part,mass [kg]\narm,1\n", table="parts")
    assert [(each.item, each.field) for each in problems] == [
        ("f.csv, line 1", "column 'count'"),
        ("f.csv, line 1", "column 'spare'"),
    ]
    assert "--map" in problems[0].remedy


def test_every_cell_that_does_not_fit_is_named() -> None:
    text = (
        "part,mass [kg],count,spare\n"
        ",1,1,no\n"  # a text may be empty
        "a,,1,no\n"
        "b,1 mm,1,no\n"
        "c,1,1.5,maybe\n"
        "d,1 banana,many,\n"
    )
    problems = refused(small_session(), text, table="parts")
    assert places(problems) == [
        ("line 3", "column mass [kg]"),
        ("line 4", "column mass [kg]"),
        ("line 5", "column count"),
        ("line 5", "column spare"),
        ("line 6", "column mass [kg]"),
        ("line 6", "column count"),
        ("line 6", "column spare"),
    ]
    assert "a value in every cell" in problems[0].remedy


@pytest.mark.parametrize(
    ("unit", "said"),
    [("mm", "does not measure the same thing"), ("bananas", "not a known unit"), ("-", "pure")],
)
def test_a_unit_that_does_not_fit_is_named_once(unit: str, said: str) -> None:
    rows = "a,1,1,no\n" * 3
    problems = refused(small_session(), f"part,mass [{unit}],count,spare\n{rows}", table="parts")
    assert places(problems) == [("line 1", f"column mass [{unit}]")]
    assert said in problems[0].message


def test_a_kind_in_the_header_must_be_the_one_it_is() -> None:
    session = small_session()
    text = "part [text],mass [{0}],count [integer],spare [flag]\na,1,1,no\n"
    take_in(session, text.format("real"), table="parts")
    problems = refused(session, text.format("integer"), table="parts")
    assert places(problems) == [("line 1", "column mass [integer]")]


def test_a_text_has_no_unit() -> None:
    problems = refused(small_session(), "part [mm],mass,count,spare\na,1,1,no\n", table="parts")
    assert places(problems) == [("f.csv, line 1", "column 'part [mm]'")]


def test_a_pure_number_may_say_so() -> None:
    session = small_session()
    take_in(session, "part,mass,count [-],spare\na,1,3,no\n", table="parts")
    assert given(session, "parts").value == (("a", 1.0, 3, False),)


def test_a_table_may_have_a_column_called_unit() -> None:
    session = small_session()
    columns = [{"name": "unit", "type": "text"}, {"name": "Unit"}, {"name": "n", "unit": "mm"}]
    document = {"kind": "quantity", "key": "t", "title": "T", "type": "table", "columns": columns}
    add_items(session, [document], "a table")
    take_in(session, "unit,Unit,n\nkg,1,2\n", table="t")
    assert given(session, "t").value == (("kg", 1.0, 2.0),)


def test_rows_go_into_an_option() -> None:
    session = small_session()
    columns = [{"name": "part", "type": "text"}, {"name": "cost", "unit": "EUR"}]
    document = {"kind": "quantity", "key": "t", "title": "T", "type": "table", "columns": columns}
    decision = {
        "kind": "decision",
        "key": "D-T",
        "question": "Which?",
        "sets": ["t"],
        "options": [{"key": "a", "title": "A"}],
    }
    add_items(session, [document, decision], "a table")
    text = "part,cost [EUR]\nx,5\n"
    problem = refused(session, text, table="t")[0]
    assert (problem.item, problem.field) == ("t", "value")  # it is about no single line
    take_in(session, text, "D-T/a", table="t")
    assert in_option(session, "D-T", "a", "t").value == (("x", 5.0),)


@pytest.mark.parametrize(
    ("style", "said"),
    [
        ({"table": "gone"}, "nothing is called 'gone'"),
        ({"table": "load"}, "it is no table"),
        ({"table": "R-ARM"}, "it is no table"),
        ({"table": "parts", "create": True}, "there is one already"),
        ({"table": "R-ARM", "create": True}, "there is one already"),
        ({"table": "a b", "create": True}, "'a b' is not a key"),
        ({"create": True}, "there is no key"),
        ({"kind": "table"}, "there is no key"),
        ({"table": "parts", "kind": "points"}, "a file of points does not go into one table"),
    ],
)
def test_a_table_that_cannot_be_meant(style: dict[str, Any], said: str) -> None:
    problem = refused(small_session(), "part,mass,count,spare\na,1,1,no\n", **style)[0]
    assert said in problem.message
    assert problem.field.startswith("--")
    assert problem.remedy


def test_a_header_alone_empties_no_table() -> None:
    problem = refused(small_session(), "part,mass,count,spare\n", table="parts")[0]
    assert "no rows" in problem.message


NEW = (
    "# tyre curve;;;;;;\r\n"
    "Run;Slip angle / deg;Side force (kN);Grip;Wet;Samples [integer];per wheel;Note (old);;\r\n"
    "a;1,5;2,25;1,05;no;3;0,5;;;\r\n"
    '"b;c";3;3;1;yes;4;1;"first [mm]";;\r\n'
)


def test_a_new_table_gets_its_columns_from_the_file() -> None:
    session = small_session()
    told = take_in(session, NEW, table="tyre", create=True, decimal_comma=True)
    assert told.what == ("new quantity tyre",)
    made = quantity(session, "tyre")
    assert made.title == "tyre"
    assert [(each.name, each.kind, each.unit.text) for each in made.columns] == [
        ("Run", CellKind.TEXT, ""),
        ("Slip angle", CellKind.REAL, "deg"),
        ("Side force", CellKind.REAL, "kN"),
        ("Grip", CellKind.REAL, ""),
        ("Wet", CellKind.FLAG, ""),
        ("Samples", CellKind.INTEGER, ""),
        ("per wheel", CellKind.REAL, ""),
        ("Note (old)", CellKind.TEXT, ""),
    ]
    assert given(session, "tyre").value == (
        ("a", 1.5, 2.25, 1.05, False, 3, 0.5, ""),
        ("b;c", 3.0, 3.0, 1.0, True, 4, 1.0, "first [mm]"),
    )
    take_in(session, NEW.replace("2,25", "2,5"), table="tyre", decimal_comma=True)
    rows = given(session, "tyre").value
    assert isinstance(rows, tuple)
    assert rows[0][2] == 2.5  # type: ignore[index] # rows


@pytest.mark.parametrize(
    "cells", [["1", "2"], ["4130", "6061-T6"], ["", ""], ["1.5", "x"], ["12 mm", "5"], ["yes", "1"]]
)
def test_cells_that_leave_a_doubt_are_asked_about(cells: list[str]) -> None:
    text = "name;thing\n" + "".join(f"n;{each}\n" for each in cells)
    problems = refused(small_session(), text, table="t", create=True)
    assert places(problems) == [("f.csv, line 1", "column 'thing'")]
    assert "[text]" in problems[0].remedy
    session = small_session()
    take_in(session, text, table="t", create=True, mapped={"thing": "grade [text]"})
    assert [each.name for each in quantity(session, "t").columns] == ["name", "grade"]


@pytest.mark.parametrize(
    ("header", "column", "said"),
    [
        ("a,b [bananas]", "'b [bananas]'", "not a known unit"),
        ("a,b.c [mm]", "'b.c [mm]'", "cannot name a column"),
        ("a,[mm]", "'[mm]'", "cannot name a column"),
        ("a,,b [mm]", "2", "has no name"),
        ("a [mm],a [mm]", "'a'", "stands twice"),
        ("a [mm],a (cm)", "'a'", "stands twice as 'a [mm]' and 'a (cm)'"),
    ],
)
def test_a_header_that_makes_no_columns(header: str, column: str, said: str) -> None:
    text = f"{header}\n" + ",".join("1" for _ in header.split(",")) + "\n"
    problems = refused(small_session(), text, table="t", create=True)
    found = next(each for each in problems if said in each.message)
    assert (found.item, found.field) == ("f.csv, line 1", f"column {column}")


def test_pure_numbers_and_columns_left_unread_in_a_new_table() -> None:
    session = small_session()
    text = "ratio [-],n [1],junk\n1,2,?\n"
    take_in(session, text, table="t", create=True, mapped={"junk": ""})
    columns = quantity(session, "t").columns
    assert [(each.name, each.kind, each.unit.text) for each in columns] == [
        ("ratio", CellKind.REAL, ""),
        ("n", CellKind.REAL, ""),
    ]
    problems = refused(
        session, text, table="u", create=True, mapped={"junk": "", "jnk": "", "n": "m [text]"}
    )
    assert [each.field for each in problems] == ["column 'jnk'"]


def test_short_rows_of_a_new_table_are_named() -> None:
    problems = refused(small_session(), "a [mm],b\n1,x\n2\n", table="t", create=True)
    assert places(problems) == [("line 3", "column 2")]


def test_new_tables_take_no_option() -> None:
    problem = refused(small_session(), "a [mm]\n1\n", "D-ARM/short", table="t", create=True)[0]
    assert problem.message == "decision D-ARM does not set t"


def test_a_table_can_come_in_twice(small: Session) -> None:
    with pytest.raises(InputError, match="the key stands twice"):
        update_items(small, [{"kind": "quantity", "key": "load"}] * 2, "twice")


@pytest.fixture
def small() -> Session:
    return small_session()


def test_hostile_headers_and_cells_take_no_time() -> None:
    # nested brackets and long runs of digits, on which a careless pattern goes quadratic
    for cell in ("(" * 100_000, "[" * 100_000, "a/" * 50_000):
        assert refused(small_session(), f"{cell}\n1.5\n", table="t", create=True)
        assert refused(small_session(), f"point,x,y,{cell}\nhub,1,2,3\n")
    for cell in ("1" * 100_000 + "x", "#" + "N" * 100_000, "1,234" * 20_000):
        assert refused(small_session(), f'name,b\n{cell},"{cell}"\n', table="t", create=True)
        assert refused(small_session(), f'point,x,y,z\nhub,1,2,"{cell}"\n')
