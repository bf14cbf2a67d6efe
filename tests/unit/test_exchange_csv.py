"""Delimited text into rows."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import FileFormatError, InputError, ManyProblemsError
from tracker.exchange.cells import FAILED
from tracker.exchange.delimited import read_grid
from tracker.exchange.heads import read_heads
from tracker.exchange.requirement_table import REQUIREMENTS, requirement_documents
from tracker.exchange.tables import Row, TableKind, read_rows

KIND = TableKind(
    columns=("key", "note", "size"),
    required=("key",),
    numbers=frozenset({"size"}),
    long=frozenset({"note"}),
    documents=lambda rows, _: [(row.cells, row) for row in rows],
)


def _rows(
    text: str, kind: TableKind = KIND, *, delimiter: str = "", decimal_comma: bool = False
) -> tuple[Row, ...]:
    grid = read_grid(text, item="f", delimiter=delimiter)
    return read_rows(grid, kind, read_heads(grid, kind.named({})), decimal_comma=decimal_comma)


def _cells(text: str, **style: object) -> list[dict[str, str]]:
    return [dict(row.cells) for row in _rows(text, **style)]  # type: ignore[arg-type] # delimiter or decimal_comma


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", [True, False])
def test_delimiters_and_line_ends(delimiter: str, end: str, last: bool) -> None:
    lines = [delimiter.join(each) for each in (["Key ", '"size"'], ["a", " 1 "], ["b", "2"])]
    text = end.join(lines) + (end if last else "")
    assert _cells(text) == [{"key": "a", "size": "1"}, {"key": "b", "size": "2"}]


def test_a_delimiter_can_be_told() -> None:
    assert _cells("key;note\na;b,c\n", delimiter=";") == [{"key": "a", "note": "b,c"}]
    with pytest.raises(FileFormatError, match="no such column"):
        _rows("key;note\na;b\n", delimiter=",")


def test_quotes_hold_delimiters_line_breaks_and_quotes() -> None:
    text = 'key,note\na,"one, ""two""\n# three\n\nfour"\nb,x\n'
    rows = _rows(text)
    assert rows == (
        Row(2, {"key": "a", "note": 'one, "two"\n# three\n\nfour'}),
        Row(6, {"key": "b", "note": "x"}),
    )


def test_comments_and_empty_lines_are_skipped_and_counted() -> None:
    text = "# a list\n\nkey,size\n# more\n,\n   \na,1\n , \n#,\n"
    assert _rows(text) == (Row(7, {"key": "a", "size": "1"}),)


def test_only_line_ends_end_lines() -> None:
    # U+2028, U+0085 and vertical tab end a line for `str.splitlines`, not in a file (RFC 4180)
    rows = _rows("key,note\na,x\u2028y\n")
    assert rows[0].cells["note"] == "x\u2028y"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no header"),
        ("# only a comment\n", "no header"),
        ("key,colour\n", "f, line 1, column 'colour': there is no such column"),
        ("\nkey,,size\na,,1\n", "f, line 2, column 2: the column has no name"),
        ("key,,\na,,1\n", "line 2, column 2: the row has 3 cells, the header has 1"),
        ("key,note,KEY\n", "column 'key': the column stands twice"),
        ("note,size\n", "column 'key': the column is missing"),
        ("key,size\na\n", "line 2, column 2: the row has 1 cells, the header has 2"),
        ("key,size\na,1,2\n", "line 2, column 3: the row has 3 cells, the header has 2"),
        ("key,size\na,1\x1b[2J\n", "line 2, column size: character 2 is a control character"),
        ("key,size\na,1\x00\n", "line 2, column size: character 2 is a control character"),
        ("key,size\n\x07,1\n", "line 2, column key: character 1 is a control character"),
        ("key,size\n" + "k" * 501 + ",1\n", "line 2, column key: the text has 501 characters"),
        ('key,size\na,"1\n', "f, line 2, column 2: the quotes do not fit"),
        ('key,size\na,"1"2\n', "f, line 2, column 2: the quotes do not fit"),
        ('key,note,size\na,"b,c","1"2\n', "f, line 2, column 3: the quotes do not fit"),
        ('key,note,size\na,,"1"2\n', "f, line 2, column 3: the quotes do not fit"),
        ('key,note\na,"b\nc"d,\n', "f, line 2, column 2: the quotes do not fit"),
    ],
)
def test_what_is_not_understood_has_its_place(text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        _rows(text)
    assert said in str(caught.value)
    assert caught.value.item
    assert caught.value.remedy


def test_everything_wrong_is_told_at_once() -> None:
    with pytest.raises(ManyProblemsError) as caught:
        _rows("key,size\na\n\x07,\x08\nb,2\nc,1,2\n")
    places = [(each.item, each.field) for each in caught.value.problems]
    assert places == [
        ("line 2", "column 2"),
        ("line 3", "column key"),
        ("line 3", "column size"),
        ("line 5", "column 3"),
    ]


def test_a_huge_cell_is_named_by_line_and_column() -> None:
    huge = "x" * 10_000_000
    for cell in (huge, f'"{huge},{huge}"'):
        with pytest.raises(FileFormatError) as caught:
            _rows(f'key,note,size\n# c\n"a,b",{cell},1\n')
        assert (caught.value.item, caught.value.field) == ("f, line 3", "column 2")
        assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("12,5", "12.5"),
        ("-0,25 mm", "-0.25 mm"),
        ("−3,5", "−3.5"),
        (",5", ".5"),
        ("12", "12"),
        ("1e3", "1e3"),
        ("1,5e3", "1.5e3"),
        ("", ""),
        ("many", "many"),
    ],
)
def test_decimal_comma(typed: str, read: str) -> None:
    text = f"key;size;note\na;{typed};1,5\n"
    assert _cells(text, decimal_comma=True) == [{"key": "a", "size": read, "note": "1,5"}]
    if "," not in typed:
        assert _cells(text)[0]["size"] == typed
        return
    with pytest.raises(FileFormatError, match=r"line 2, column size: .*--decimal-comma"):
        _rows(text)


@pytest.mark.parametrize("typed", ["12.5", "1234.5", ".5", "-1.5 mm"])
def test_a_point_among_decimal_commas_is_refused(typed: str) -> None:
    with pytest.raises(FileFormatError, match=r"line 2, column size: .* decimal point"):
        _rows(f"key;size\na;{typed}\n", decimal_comma=True)


@pytest.mark.parametrize(
    ("typed", "decimal_comma", "grouped"),
    [
        ("1,234", False, True),
        ("1,234.5 mm", False, True),
        ("12,345,678", False, True),
        ("-1 234", False, True),
        ("1\u00a0234", False, True),  # no-break space
        ("1\u202f234.5", False, True),  # narrow no-break space, the SI Brochure's group sign
        ("1'234", False, True),
        ("1’234", False, True),
        ("1_234", False, True),
        ("1.234.567", False, True),
        ("1.234", False, False),
        ("0.125", False, False),
        ("1234", False, False),
        ("12 500x", False, True),
        ("2 mm", False, False),
        ("1.234,5", True, True),
        ("1.234.567", True, True),
        ("1 234,5", True, True),
        ("1,234,567", True, True),
        ("1,234", True, False),
        ("0,125", True, False),
    ],
)
def test_signs_between_thousands_are_refused(
    typed: str, decimal_comma: bool, grouped: bool
) -> None:
    text = f"key;size\na;{typed}\n"
    if not grouped:
        assert _cells(text, decimal_comma=decimal_comma)[0]["size"] == typed.replace(",", ".")
        return
    with pytest.raises(
        FileFormatError, match=r"line 2, column size: .*between thousands"
    ) as caught:
        _rows(text, decimal_comma=decimal_comma)
    assert "without it" in caught.value.remedy


def test_decimals_of_a_point_stay_as_they_are() -> None:
    text = "key;size\na;[1.5, 2, 3] mm\n"
    assert _cells(text, decimal_comma=True)[0]["size"] == "[1.5, 2, 3] mm"


@pytest.mark.parametrize(
    "cell", ["#N/A", "#NV", "#VALUE!", "#ref!", "#DIV/0!", "#NAME?", "#ÜBERLAUF!", " #N/A "]
)
@pytest.mark.parametrize("row", ["{0},x,1", "a,{0},1", "a,x,{0}", '"{0}",x,1'])
def test_a_failed_formula_is_never_taken_for_text_or_comment(cell: str, row: str) -> None:
    with pytest.raises(FileFormatError, match=r"line 2, .* stands where a formula failed"):
        _rows("key,note,size\n" + row.format(cell) + "\n")


@pytest.mark.parametrize("line", ["#", "# a, b", "#1 bolt,x,1", "#N/A is how they write it"])
def test_other_lines_that_begin_with_the_sign_are_comments(line: str) -> None:
    assert _cells(f"key,note,size\n{line}\na,,\n") == [{"key": "a", "note": "", "size": ""}]


def test_blanks_around_and_in_numbers_are_evened_out() -> None:
    text = "key;size\n\u00a0a\u2007;\u00a012.5\u202fmm\u00a0\n"
    assert _cells(text) == [{"key": "a", "size": "12.5 mm"}]


def test_columns_at_the_end_without_name_and_content_are_skipped() -> None:
    assert _cells("key,size,,\na,1,,\nb,2\nc,3, ,\n")[2] == {"key": "c", "size": "3"}


PLAIN = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=20).filter(
    lambda text: not FAILED.fullmatch(text.strip())
)


@given(st.lists(st.tuples(PLAIN, PLAIN), max_size=5), st.sampled_from([",", ";", "\t"]))
def test_what_a_writer_wrote_is_read_back(cells: list[tuple[str, str]], delimiter: str) -> None:
    # the standard library's own writer is the other side (RFC 4180 quoting)
    file = io.StringIO()
    writer = csv.writer(file, delimiter=delimiter, quoting=csv.QUOTE_ALL)
    writer.writerow(["key", "note"])
    writer.writerows(cells)
    expected = [(a.strip(), b.strip()) for a, b in cells if a.strip() or b.strip()]
    rows = _rows(file.getvalue(), delimiter=delimiter)
    assert [(row.cells["key"], row.cells["note"]) for row in rows] == expected


def _documents(text: str, kinds: dict[str, str] | None = None) -> list[dict[str, object]]:
    rows = _rows(text, REQUIREMENTS)
    held = kinds or {}
    return [dict(each) for each, _ in requirement_documents(rows, lambda key: held.get(key, ""))]


def test_a_row_becomes_a_requirement_with_its_quantity() -> None:
    text = (
        "key,statement,quantity,type,unit,lower,upper,target,guard,scale,allowed,source,owner,"
        "verification,parents,gate\n"
        "R-1,Stiff,roll,,N/mm,9,12 kN/mm,10,0.05,2,,memo 3,Ada,test,A-1;A-2,G1\n"
        "R-2,Left,side,flag,,,,,,,yes | no,,,,,\n"
    )
    assert _documents(text) == [
        {"kind": "quantity", "key": "roll", "title": "Stiff", "type": "real", "unit": "N/mm"},
        {
            "kind": "requirement",
            "key": "R-1",
            "statement": "Stiff",
            "quantity": "roll",
            "lower": "9 N/mm",
            "upper": "12 kN/mm",
            "target": "10 N/mm",
            "guard": "0.05",
            "scale": "2 N/mm",
            "source": "memo 3",
            "owner": "Ada",
            "verification": "test",
            "parents": ["A-1", "A-2"],
            "gate": "G1",
        },
        {"kind": "quantity", "key": "side", "title": "Left", "type": "flag", "unit": ""},
        {
            "kind": "requirement",
            "key": "R-2",
            "statement": "Left",
            "quantity": "side",
            "allowed": ["yes", "no"],
        },
    ]


def test_a_quantity_is_made_once_and_only_when_it_is_new() -> None:
    head = "key,statement,quantity,type,unit,lower\n"
    text = f"{head}R-1,a,new.x,point,mm,1\nR-2,b,new.z,,mm,1\nR-3,c,old,,m,1\n"
    made = [each["key"] for each in _documents(text, {"old": "real"}) if each["kind"] == "quantity"]
    assert made == ["new"]


@pytest.mark.parametrize(
    ("rows", "field", "said"),
    [
        ("R-1,a,new,choice,,1", "column type", "new is new"),
        ("R-1,a,new,table,,1", "column type", "new is new"),
        ("R-1,a,new,bananas,,1", "column type", "bananas"),
        ("R-1,a,new,point,mm,1", "column type", "new is new"),
        ("R-1,a,new.x,,mm,1", "column type", "new is new"),
        ("R-1,a,old,flag,,1", "column type", "old is of type real, not flag"),
        ("R-1,a,mark,,mm,", "column unit", "mark is of type flag and has no unit"),
        ("R-1,a,new,flag,mm,", "column unit", "has no unit"),
        ("R-1,a,new,real,mm,1\nR-2,b,new,integer,,1", "column type", "new is of type real"),
    ],
)
def test_a_type_or_unit_that_does_not_fit(rows: str, field: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        _documents(
            f"key,statement,quantity,type,unit,lower\n{rows}\n", {"old": "real", "mark": "flag"}
        )
    assert caught.value.field == field
    assert caught.value.item == f"line {rows.count(chr(10)) + 2}"


def test_several_rows_that_do_not_fit_are_told_at_once() -> None:
    with pytest.raises(ManyProblemsError) as caught:
        _documents("key,statement,quantity,type\nR-1,a,p,table\nR-2,b,q,choice\n")
    assert [each.item for each in caught.value.problems] == ["line 2", "line 3"]
