"""Tables as an XLSX workbook: one sheet for each table, typed cells, no formula anywhere."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from tracker.report.formats.archive import zipped
from tracker.report.formats.tabular import Plain, Sheet
from tracker.services.wording import visible

if TYPE_CHECKING:
    from xlsxwriter import Workbook

__all__ = ["LONGEST", "xlsx"]

LONGEST = 32767
"""Most characters a cell takes (ISO/IEC 29500-1 names no limit; spreadsheets keep to this one)."""
_ROWS = 1_048_576
_NAME = 31
_NARROWEST, _WIDEST = 8, 60
_LOOKED_AT = 200
"""Rows a column's width is worked out from."""


def xlsx(sheets: Sequence[Sheet], title: str, moment: str, caution: str) -> bytes:
    """Write tables as a workbook.

    Parameters
    ----------
    sheets : sequence of Sheet
        The tables.
    title, moment : str
        Title of the workbook, and the RFC 3339 moment it speaks of.
    caution : str
        At the foot of every printed page.
    """
    from xlsxwriter import Workbook

    held = io.BytesIO()
    options = {
        "constant_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with Workbook(held, options) as book:
        created = datetime.fromisoformat(moment).replace(tzinfo=None)
        book.set_properties({"title": visible(title)[:255], "created": created})
        for each in _split(sheets):
            _write(book, each, caution)
    return _repacked(held.getvalue())


def _repacked(data: bytes) -> bytes:
    """Pack the members again as every machine would."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return zipped((name, archive.read(name)) for name in archive.namelist())


def _split(found: Sequence[Sheet]) -> list[Sheet]:
    """Give a table of more rows than a sheet takes several sheets."""
    most = _ROWS - 1
    return [
        Sheet(each.key, each.heads, each.rows[start : start + most])
        for each in found
        for start in range(0, len(each.rows), most)
    ]


def _write(book: Workbook, sheet: Sheet, caution: str) -> None:
    page = book.add_worksheet(_name(sheet.key, [each.name for each in book.worksheets()]))
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    body = book.add_format({"text_wrap": True, "valign": "top"})
    for column, width in enumerate(_widths(sheet)):
        page.set_column(column, column, width, body)
    for column, text in enumerate(sheet.heads):
        page.write_string(0, column, _kept(text), head)
    for row, cells in enumerate(sheet.rows, 1):
        for column, cell in enumerate(cells):
            _put(page, row, column, cell)
    page.freeze_panes(1, 1)
    page.repeat_rows(0)
    page.set_landscape()
    page.set_paper(9)  # A4
    page.fit_to_pages(1, 0)
    page.set_footer("&L" + visible(caution).replace("&", "&&")[:200] + "&R&P / &N")
    page.autofilter(0, 0, len(sheet.rows), len(sheet.heads) - 1)


def _put(page: Any, row: int, column: int, cell: Plain) -> None:  # noqa: ANN401 - untyped library
    if isinstance(cell, str):
        page.write_string(row, column, _kept(cell))
    elif isinstance(cell, bool):
        page.write_boolean(row, column, cell)
    elif cell is not None:
        page.write_number(row, column, cell)


def _kept(text: str) -> str:
    """Return what a cell takes of a text; what does not fit is said, never dropped silently."""
    if len(text) <= LONGEST:
        return text
    tail = f" … [{len(text)} characters; the rest is in the other formats]"
    return text[: LONGEST - len(tail)] + tail


def _name(key: str, taken: Sequence[str]) -> str:
    """Return a name no other sheet has, within what names may be."""
    base = re.sub(r"[\[\]:*?/\\']", "-", key)[:_NAME]
    name, count = base, 1
    while name.casefold() in {each.casefold() for each in taken}:
        count += 1
        tail = f" {count}"
        name = base[: _NAME - len(tail)] + tail
    return name


def _widths(sheet: Sheet) -> list[int]:
    """Return a width for each column: what most of its first rows need."""
    looked = (sheet.heads, *sheet.rows[:_LOOKED_AT])
    return [
        min(max(max(len(str(row[column] or "")) for row in looked) + 2, _NARROWEST), _WIDEST)
        for column in range(len(sheet.heads))
    ]
