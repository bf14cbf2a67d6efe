"""Spreadsheets and comma-separated files reopened, and how they compare with the JSON."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any

import openpyxl

from tracker.services.wording import visible

__all__ = [
    "csv_tables",
    "json_values",
    "plain_cell",
    "sorted_values",
    "table_values",
    "untyped",
    "xlsx_tables",
]

Tables = dict[str, list[list[Any]]]


def csv_tables(data: bytes) -> Tables:
    """Read each file of an archive with the standard library's reader."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {
            name.removesuffix(".csv"): list(
                csv.reader(io.StringIO(archive.read(name).decode("utf-8"), newline=""))
            )
            for name in archive.namelist()
        }


def xlsx_tables(data: bytes) -> Tables:
    book = openpyxl.load_workbook(io.BytesIO(data))
    return {
        page.title: [[plain_cell(each.value) for each in row] for row in page.iter_rows()]
        for page in book
    }


def plain_cell(value: Any) -> Any:  # noqa: ANN401 - a cell
    """Undo the escape `_xHHHH_` (ISO/IEC 29500-1, 22.9.2.19), which the reader leaves inline."""
    if not isinstance(value, str):
        return value
    return re.sub("_x([0-9A-F]{4})_", lambda found: chr(int(found[1], 16)), value)


def table_values(tables: Tables) -> list[Any]:
    """Return what stands in the tables, but for the cautions and what leads the rows."""
    return [
        cell
        for key, rows in tables.items()
        if key != "cautions"
        for row in rows[1:]
        for head, cell in zip(rows[0], row, strict=True)
        if cell is not None and head != "row" and not head.endswith(".key")
    ]


def json_values(plain: Any) -> Iterator[Any]:  # noqa: ANN401 - JSON data
    """Yield what stands in the data."""
    if isinstance(plain, dict | list):
        for each in plain.values() if isinstance(plain, dict) else plain:
            yield from json_values(each)
    elif plain not in (None, ""):
        yield visible(plain) if isinstance(plain, str) else plain


def sorted_values(values: list[Any]) -> list[str]:
    """Return values in an order of their own, texts by the line."""
    lines = [
        line
        for each in values
        for line in (each.split("\n") if isinstance(each, str) else [each])
        if line != ""
    ]
    return sorted(f"{type(each).__name__} {each!r}" for each in map(_number, lines))


def _number(value: Any) -> Any:  # noqa: ANN401 - JSON data
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def untyped(value: Any) -> str:  # noqa: ANN401 - a cell
    """Return how a typed cell reads in a comma-separated file."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return value if isinstance(value, str) else repr(value)
