"""Tables as comma-separated values: one file for each table, in a ZIP archive.

RFC 4180, with a head line and UTF-8. A text that a spreadsheet might take for a formula, because it
begins with `=`, `+`, `-`, `@`, a tab or a carriage return, stands behind an apostrophe, which
spreadsheets read as "this is text"; so does a text that begins with an apostrophe, so that taking
one apostrophe off the front always gives the text back. Numbers are numbers and never carry one.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from tracker.report.formats.archive import zipped
from tracker.report.formats.tabular import Plain, Sheet

__all__ = ["RISKY", "csv_archive", "csv_table"]

RISKY = ("=", "+", "-", "@", "\t", "\r", "'")
"""How a text begins that stands behind an apostrophe."""


def csv_archive(sheets: Iterable[Sheet]) -> bytes:
    """Write tables as comma-separated files in a ZIP archive."""
    return zipped((f"{each.key}.csv", csv_table(each)) for each in sheets)


def csv_table(sheet: Sheet) -> bytes:
    """Write one table."""
    held = io.StringIO(newline="")
    writer = csv.writer(held, dialect="excel", lineterminator="\r\n")
    writer.writerow(_row(sheet.heads))
    writer.writerows(_row(row) for row in sheet.rows)
    return held.getvalue().encode("utf-8")


def _row(cells: Iterable[Plain]) -> list[str]:
    return [_cell(each) for each in cells]


def _cell(cell: Plain) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if not isinstance(cell, str):
        return repr(cell)
    return f"'{cell}" if cell.lstrip(" \n").startswith(RISKY) else cell
