"""A gate pack in every format."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tracker.errors import BadValueError
from tracker.report.formats.commonmark import markdown
from tracker.report.formats.csv_files import csv_archive
from tracker.report.formats.html import html
from tracker.report.formats.pdf import pdf
from tracker.report.formats.spreadsheet import xlsx
from tracker.report.formats.tabular import Sheet, sheets_of
from tracker.report.pages.pack import pack_document
from tracker.services.packs.codec import pack_bytes
from tracker.services.packs.views import PackContent

__all__ = ["FORMATS", "SUFFIXES", "render"]


def render(content: PackContent, form: str) -> bytes:
    """Write a gate pack: the same content gives the same bytes, whoever writes it where and when.

    Parameters
    ----------
    content : PackContent
        What was frozen.
    form : str
        One of `FORMATS`.

    Raises
    ------
    BadValueError
        There is no such format.
    """
    if form not in _WRITERS:
        raise BadValueError(
            f"{form[:40]!r} is no format of a gate pack",
            field="format",
            remedy="Formats: " + ", ".join(FORMATS),
        )
    return _WRITERS[form](content)


def _sheets(content: PackContent) -> tuple[Sheet, ...]:
    """Lay a pack out as tables, its cautions first."""
    cautions = [("pack", content.cover.caution)]
    cautions += [(each.key, caution) for each in content.checks for caution in each.cautions]
    lead = Sheet("cautions", ("about", "caution"), tuple(cautions))
    return (lead, *sheets_of(content))


def _xlsx(content: PackContent) -> bytes:
    cover = content.cover
    title = f"{cover.title}, gate {cover.gate}"
    return xlsx(_sheets(content), title, cover.frozen_at, cover.caution)


_WRITERS: Mapping[str, Callable[[PackContent], bytes]] = {
    "html": lambda content: html(pack_document(content)),
    "pdf": lambda content: pdf(pack_document(content)),
    "md": lambda content: markdown(pack_document(content)),
    "xlsx": _xlsx,
    "csv": lambda content: csv_archive(_sheets(content)),
    "json": pack_bytes,
}

FORMATS = tuple(_WRITERS)
"""Formats a pack comes in; csv is a ZIP archive of one file for each table."""

SUFFIXES: Mapping[str, str] = {each: f".{each}" for each in FORMATS} | {"csv": ".csv.zip"}
"""Format → how its files end."""
