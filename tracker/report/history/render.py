"""A decision history in every format."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tracker.report.formats.commonmark import markdown
from tracker.report.formats.csv_files import csv_archive, csv_table
from tracker.report.formats.html import html
from tracker.report.formats.pdf import pdf
from tracker.report.formats.plain import json_bytes, plain_of
from tracker.report.formats.spreadsheet import xlsx
from tracker.report.formats.tabular import Sheet, sheets_of
from tracker.report.history.content import HistoryContent
from tracker.report.history.pages import history_document

__all__ = ["WRITERS"]


def _sheets(content: HistoryContent) -> tuple[Sheet, ...]:
    lead = Sheet("cautions", ("caution",), ((content.caution,),))
    return (lead, *sheets_of(content))


def _changes(content: HistoryContent) -> bytes:
    """Write the changes alone: one row for each item a change touched.

    A table on its own has no other place for what it was made from and for the caution than its
    rows.
    """
    heads = ("revision", "at", "author", "item", "kind", "what", "reason", "head", "caution")
    rows = (
        (
            change.revision,
            change.at,
            change.author,
            touch.item,
            touch.kind,
            "\n".join(touch.what),
            change.reason,
            content.head,
            content.caution,
        )
        for change in content.changes
        for touch in change.items
    )
    return csv_table(Sheet("changes", heads, tuple(rows)))


WRITERS: Mapping[str, Callable[[HistoryContent], bytes]] = {
    "md": lambda content: markdown(history_document(content)),
    "html": lambda content: html(history_document(content)),
    "pdf": lambda content: pdf(history_document(content)),
    "xlsx": lambda content: xlsx(_sheets(content), content.title, content.at, content.caution),
    "csv": _changes,
    "csv.zip": lambda content: csv_archive(_sheets(content)),
    "history.json": lambda content: json_bytes(plain_of(content)),
}
"""Format, which is how its files end too → what writes it."""
