"""Spreadsheet and comma-separated files: reopened and compared with the JSON value by value."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from xml.etree import ElementTree as ET

import openpyxl
import pytest

from tests.integration.report.packs import filled
from tests.integration.report.reopened import (
    csv_tables,
    json_values,
    plain_cell,
    sorted_values,
    table_values,
    untyped,
    xlsx_tables,
)
from tests.integration.report.sample import HOSTILE
from tracker.report.formats.csv_files import RISKY, csv_table
from tracker.report.formats.spreadsheet import LONGEST, xlsx
from tracker.report.formats.tabular import Sheet, sheets_of
from tracker.report.pack import render
from tracker.services.wording import visible

PACKS = {
    "plain": filled(("A text", "another")),
    "hostile": filled(HOSTILE),
    "single": filled(("One",), count=1),
    "empty": filled(("None",), count=0),
}


@pytest.mark.parametrize("name", PACKS)
def test_the_workbook_holds_each_value_of_the_json(name: str) -> None:
    plain = json.loads(render(PACKS[name], "json"))
    tables = xlsx_tables(render(PACKS[name], "xlsx"))
    assert next(iter(tables)) == "cautions"
    assert sorted_values(table_values(tables)) == sorted_values(list(json_values(plain)))


@pytest.mark.parametrize("name", PACKS)
def test_the_files_hold_what_the_workbook_holds(name: str) -> None:
    sheets = xlsx_tables(render(PACKS[name], "xlsx"))
    files = csv_tables(render(PACKS[name], "csv"))
    assert [each[:31] for each in files] == list(sheets)
    for file, sheet in zip(files.values(), sheets.values(), strict=True):
        assert len(file) == len(sheet)
        for row, cells in zip(file, sheet, strict=True):
            assert [untyped(each) for each in cells] == [each.removeprefix("'") for each in row]


def test_rows_tell_what_they_belong_to() -> None:
    plain = json.loads(render(PACKS["plain"], "json"))
    tables = xlsx_tables(render(PACKS["plain"], "xlsx"))
    heads, *rows = tables["decisions-options-findings"]
    wanted = [
        (decision["key"], option["key"], place, finding["verdict"], finding["margin"])
        for decision in plain["decisions"]
        for option in decision["options"]
        for place, finding in enumerate(option["findings"], 1)
    ]
    columns = [
        heads.index(each) for each in ("decisions.key", "options.key", "row", "verdict", "margin")
    ]
    assert [tuple(row[each] for each in columns) for row in rows] == wanted


@pytest.mark.parametrize("text", HOSTILE)
def test_a_text_is_never_a_formula(text: str) -> None:
    sheet = Sheet("one", ("text", "number"), ((visible(text), -1.5), (visible(text), 2)))
    (row, _) = list(csv.reader(io.StringIO(csv_table(sheet).decode(), newline="")))[1:]
    assert (
        row[0].removeprefix("'") == visible(text).removeprefix("'")
        if not text.startswith("'")
        else row[0] == f"'{visible(text)}"
    )
    assert not row[0].lstrip(" \n").startswith(tuple(each for each in RISKY if each != "'"))
    assert row[1] == "-1.5"
    book = openpyxl.load_workbook(io.BytesIO(xlsx((sheet,), text, "2031-01-01T00:00:00Z", text)))
    cell = book["one"]["A2"]
    assert (cell.data_type, plain_cell(cell.value)) == ("s", visible(text))
    assert book["one"]["B2"].data_type == "n"


def test_no_formula_link_or_macro_is_in_the_workbook() -> None:
    with zipfile.ZipFile(io.BytesIO(render(PACKS["hostile"], "xlsx"))) as archive:
        names = archive.namelist()
        assert not [each for each in names if "external" in each.lower() or "vba" in each.lower()]
        for name in names:
            tree = ET.fromstring(archive.read(name))  # noqa: S314 - our own file
            tags = {each.tag.rpartition("}")[2] for each in tree.iter()}
            assert not {"f", "hyperlink", "ddeLink", "oleLink"} & tags, name
            if name.endswith(".rels"):
                assert all(each.get("TargetMode") != "External" for each in tree)


def test_sheets_are_ready_to_read() -> None:
    book = openpyxl.load_workbook(io.BytesIO(render(PACKS["plain"], "xlsx")))
    for page in book:
        assert page.freeze_panes == "B2"
        assert page.print_title_rows == "$1:$1"
        assert page["A1"].font.b
        assert page.column_dimensions["A"].width >= 8
        assert PACKS["plain"].cover.caution in (page.oddFooter.left.text or "")
    assert book.properties.created.isoformat() == "2031-04-05T06:07:08"


def test_files_keep_to_rfc_4180_and_no_member_leaves_the_folder() -> None:
    with zipfile.ZipFile(io.BytesIO(render(PACKS["hostile"], "csv"))) as archive:
        for member in archive.infolist():
            assert re.fullmatch(r"[a-z_-]+\.csv", member.filename)
            assert member.date_time == (1980, 1, 1, 0, 0, 0)
            data = archive.read(member).decode("utf-8")
            assert data.endswith("\r\n")
            bare = re.sub(r'"(?:[^"]|"")*"', "", data)
            assert "\n" not in bare.replace("\r\n", "")
            assert '"' not in bare
            widths = {len(row) for row in csv.reader(io.StringIO(data, newline=""), strict=True)}
            assert len(widths) == 1


def test_a_text_longer_than_a_cell_says_that_it_is_cut() -> None:
    long = "x" * (LONGEST + 1)
    book = openpyxl.load_workbook(
        io.BytesIO(xlsx((Sheet("a", ("b",), ((long,),)),), "t", "2031-01-01T00:00:00Z", "c"))
    )
    shown = book["a"]["A2"].value
    assert len(shown) == LONGEST
    assert shown.endswith(f"[{LONGEST + 1} characters; the rest is in the other formats]")


def test_sheet_names_stay_apart_when_they_are_cut() -> None:
    key = "a-very-long-name-of-a-table-in-a-pack"
    sheets = [Sheet(f"{key}-{each}", ("a",), ((each,),)) for each in range(3)]
    book = openpyxl.load_workbook(io.BytesIO(xlsx(sheets, "t", "2031-01-01T00:00:00Z", "c")))
    assert book.sheetnames == [key[:31], f"{key[:29]} 2", f"{key[:29]} 3"]


def test_lists_become_tables_of_their_own() -> None:
    data = {
        "title": "T",
        "one": {"key": "k", "inner": {"a": 1, "b": [True, None]}},
        "many": [
            {"name": "n", "x": [1.5, None], "labels": ["a", "b", "c"], "texts": ["p", "q"]},
            {"value": [[1, "a"], [2, "b"]], "empty": []},
        ],
    }
    found = {each.key: (each.heads, each.rows) for each in sheets_of(data)}
    assert found == {
        "document": (("title",), (("T",),)),
        "one": (("key", "inner.a"), (("k", 1),)),
        "one-values": (("one.key", "row", "inner.b"), (("k", 1, True), ("k", 2, None))),
        "many": (
            ("row", "name", "labels", "texts", "empty"),
            ((1, "n", "a\nb\nc", "p\nq", None), (2, None, None, None, "")),
        ),
        "many-values": (("many.key", "row", "x"), (("n", 1, 1.5), ("n", 2, None))),
        "many-value": (
            ("many.key", "row", "1", "2"),
            ((2, 1, 1, "a"), (2, 2, 2, "b")),
        ),
    }
