"""Which kind of table a file is, and which of its columns is which."""

from __future__ import annotations

import codecs

import pytest

from tests.unit.services.small import small_session
from tests.unit.table_import import given, places, quantity, refused, take_in
from tracker.errors import FileFormatError
from tracker.exchange.files import decode
from tracker.exchange.heads import split_unit
from tracker.model.records import Requirement


@pytest.mark.parametrize(
    ("text", "name", "unit"),
    [
        ("z [mm]", "z", "mm"),
        ("z[mm]", "z", "mm"),
        ("z (m)", "z", "m"),
        ("x/mm", "x", "mm"),
        ("x / mm", "x", "mm"),
        ("k [N/mm]", "k", "N/mm"),
        ("k (N/mm)", "k", "N/mm"),
        ("k / (N·m/deg)", "k", "(N·m/deg)"),
        ("n [-]", "n", "1"),
        ("n [ ]", "n", ""),
        ("a (b) [mm]", "a (b)", "mm"),
    ],
)
def test_a_unit_stands_behind_the_name(text: str, name: str, unit: str) -> None:
    # ISO 80000-1, 7.1: a quantity divided by its unit, as in x/mm, is the standard's own form
    assert (name, unit) in split_unit(text)


def test_a_name_alone_is_read_as_it_is_first() -> None:
    assert next(iter(split_unit("cost/piece (new)"))) == ("cost/piece (new)", "")
    assert list(split_unit("z")) == [("z", "")]
    assert list(split_unit("/mm")) == [("/mm", "")]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize(
    ("header", "key"),
    [
        ("POINT|X [mm]|y (mm)|z/mm", "p"),
        ("hardpoint|x|y|z|unit", "p"),
        ("key|title|type|unit|value", "q"),
        ("id|description|tol [mm]|nominal [mm]", "q"),
    ],
)
def test_the_header_shows_the_kind(delimiter: str, header: str, key: str) -> None:
    session = small_session()
    row = {"p": "p|1|2|3", "q": "q|Q"}[key] + {
        "hardpoint|x|y|z|unit": "|mm",
        "key|title|type|unit|value": "|real|mm|5",
        "id|description|tol [mm]|nominal [mm]": "|1|5",
    }.get(header, "")
    mapped = {"hardpoint": "key"} if "hardpoint" in header else {}
    take_in(session, f"{header}\n{row}\n".replace("|", delimiter), mapped=mapped)
    assert quantity(session, key).unit.text == "mm"


def test_requirements_may_have_units_in_their_header() -> None:
    session = small_session()
    take_in(session, "id,statement,quantity,lower [cm],upper (cm),unit\nR-1,Long,long,1,2,\n")
    made = session.programme.named("R-1", Requirement)
    assert made.lower is not None
    assert made.lower.typed == "1 cm"
    assert quantity(session, "long").unit.text == "cm"


@pytest.mark.parametrize("unit", ["-", "–"])
def test_a_requirement_on_a_pure_number_leaves_its_unit_out(unit: str) -> None:
    problems = refused(small_session(), f"key,statement,quantity,lower,unit\nR,S,q,1,{unit}\n")
    assert places(problems) == [("line 2", "column unit")]


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("key,title", "shows no kind of table"),
        ("a,b", "shows no kind of table"),
        ("key,x,y,z,value", "could be one of points (it has x, y, z) or quantities (it has value)"),
        ("key,statement,value", "requirements (it has statement) or quantities (it has value)"),
    ],
)
def test_a_header_that_shows_no_single_kind(header: str, said: str) -> None:
    problem = refused(small_session(), f"{header}\n")[0]
    assert said in problem.message
    assert (problem.item, problem.field) == ("f.csv, line 1", "--kind")
    assert problem.remedy.startswith("Say --kind ")


def test_the_kind_can_be_said() -> None:
    session = small_session()
    take_in(session, "key,title\nq,Q\n", kind="quantities")
    assert quantity(session, "q").title == "Q"
    problems = refused(session, "key,title\nq,Q\n", kind="points")
    assert [each.field for each in problems] == ["column 'x'", "column 'y'", "column 'z'"]


def test_columns_are_mapped_by_name() -> None:
    session = small_session()
    text = "Name;PX;PY [cm];PZ (mm);Side\nhub;1;2;3;left\n"
    mapped = {
        "name": "key",
        "px": "X [mm]",  # the file does not say it
        "PY": "y",
        "PZ (mm)": "z",
        "SIDE": "",
    }
    take_in(session, text, mapped=mapped)
    assert given(session, "hub").value == (1.0, 20.0, 3.0)


def test_a_map_of_a_text_column_brings_no_unit() -> None:
    session = small_session()
    text = "Name (front),x,y,z\nhub,1,2,3\n"
    take_in(session, text, mapped={"Name (front)": "key"})
    problems = refused(session, text, mapped={"Name": "key"})
    assert places(problems) == [("f.csv, line 1", "column 'Name (front)'")]


@pytest.mark.parametrize(
    ("header", "mapped", "fields"),
    [
        ("key,x,y,z,colour,size", {}, ["column 'colour'", "column 'size'"]),
        ("key,x,y,zz", {}, ["column 'zz'"]),
        ("key,x,y,z,,title", {}, ["column 5"]),
        ("key,x,y,z,Z [mm]", {}, ["column 'z'"]),
        ("key,x,y,z,point", {}, ["column 'key'"]),
        ("key,x,y,z", {"colour": "title"}, ["column 'colour'"]),
        ("key,x,y,z,colour", {"colour": "hue"}, ["column 'colour'", "column 'hue'"]),
        ("key,x,y", {}, ["column 'z'"]),
        ("key [mm],x,y,z", {}, ["column 'key [mm]'"]),
        ("[b]key[/b],x,y,z", {}, ["column '[b]key[/b]'"]),
        ("k\u202eey,x,y,z", {}, ["column 'k\\u202eey'"]),
    ],
)
def test_a_header_that_is_not_understood(
    header: str, mapped: dict[str, str], fields: list[str]
) -> None:
    problems = refused(small_session(), f"# c\n\n{header}\nhub,1,2,3,4,5\n", mapped=mapped)
    assert [each.field for each in problems] == fields
    assert {each.item for each in problems} == {"f.csv, line 3"}
    assert all(each.remedy for each in problems)
    assert all(isinstance(each, FileFormatError) for each in problems)


def test_two_names_for_one_column_are_both_told() -> None:
    problem = refused(small_session(), "key,x,y,z,Z [mm]\nhub,1,2,3,3\n")[0]
    assert problem.message == "the column stands twice as 'z' and 'Z [mm]'"


@pytest.mark.parametrize("mark", [codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, b""])
def test_utf_16_is_refused_with_a_remedy(mark: bytes) -> None:
    coding = "utf-16-be" if mark == codecs.BOM_UTF16_BE else "utf-16-le"
    problem = refused(small_session(), mark + "point,x,y,z\nhub,1,2,3\n".encode(coding))[0]
    assert "UTF-16" in problem.message
    assert problem.remedy == "Save the file as UTF-8"


def test_latin_1_is_refused_with_its_line() -> None:
    problem = refused(small_session(), "point,x,y,z\nhüb,1,2,3\n".encode("latin-1"))[0]
    assert problem.message == "line 2 is not UTF-8 (byte 0xFC)"


def test_utf_8_may_have_its_mark() -> None:
    assert decode(codecs.BOM_UTF8 + b"a", "f") == "a"


@pytest.mark.parametrize("text", ["", "\ufeff", "# only a comment\n", "\n ,,\n"])
def test_a_file_without_a_header(text: str) -> None:
    problem = refused(small_session(), text)[0]
    assert problem.message == "the file has no header"
    assert problem.remedy


def test_a_header_has_an_end() -> None:
    problem = refused(small_session(), "x;" * 1000 + "x\n1\n")[0]
    assert problem.message == "the header has 1001 columns"
    assert "--delimiter" in problem.remedy


def test_a_column_left_unread_is_not_blamed() -> None:
    text = "key,x,y,z,colour\nhub,0,600,300,blue\n"
    problem = refused(small_session(), text, mapped={"colour": ""})[0]
    assert (problem.message, problem.field) == ("nothing would change", "")


def test_a_first_line_that_never_ends_is_refused() -> None:
    problem = refused(small_session(), '"' + "x" * 200_000 + ",y;z\n")[0]
    assert (problem.item, problem.field) == ("f.csv, line 1", "column 1")
