"""A document as Markdown: CommonMark 0.31.2, and for tables the pipe tables of GFM 0.29.

CommonMark has no tables; readers without them show the rows as plain lines.
"""

from __future__ import annotations

from collections.abc import Iterator

from tracker.report.document import (
    Block,
    Cell,
    Document,
    Drawing,
    Facts,
    Note,
    Paragraph,
    Section,
    Sign,
    Signatures,
    Table,
    cell_text,
    sections_of,
)
from tracker.report.drawing import describe
from tracker.report.markdown import block, inline, table
from tracker.services.wording import SIGNS

__all__ = ["markdown"]

_DEEPEST = 6


def markdown(document: Document) -> bytes:
    """Write a document as Markdown, UTF-8."""
    return ("\n".join(_lines(document)).rstrip("\n") + "\n").encode("utf-8")


def _lines(document: Document) -> Iterator[str]:
    yield f"# {inline(document.kind)}: {inline(document.title)}"
    yield ""
    yield inline(document.running)
    yield ""
    yield f"> **Caution.** {inline(document.caution)}"
    yield ""
    for each in document.front:
        yield from _block(each)
    yield "## Contents"
    yield ""
    for level, section in sections_of(document):
        if section.listed:
            yield f"{'  ' * (level - 1)}- {inline(section.title)}"
    yield ""
    for section in document.sections:
        yield from _section(section, 2)


def _section(section: Section, level: int) -> Iterator[str]:
    yield f"{'#' * min(level, _DEEPEST)} {inline(section.title)}"
    yield ""
    for each in section.blocks:
        yield from _block(each)
    for below in section.sections:
        yield from _section(below, level + 1)


def _block(each: Block) -> Iterator[str]:
    match each:
        case Paragraph():
            yield from (block(each.text), "")
        case Facts():
            for label, cell in each.pairs:
                yield f"- {inline(label)}: {inline(_shown(cell))}"
            yield ""
        case Table():
            yield from _table(each)
        case Drawing():
            yield from _drawing(each)
        case Note():
            lead = "**Caution.** " if each.caution else ""
            yield from (f"> {lead}{inline(each.text)}", "")
        case Signatures():
            head = ("role", "name and signature", "date")
            yield from table(head, ((role, "", "") for role in each.roles))


def _table(each: Table) -> Iterator[str]:
    if each.rows:
        yield from (block(each.caption), "")
    heads = [column.title for column in each.columns]
    yield from table(heads, ([_shown(cell) for cell in row] for row in each.rows))


def _shown(cell: Cell) -> str:
    if isinstance(cell, Sign):
        symbol, _ = SIGNS.get(cell.word, ("", ""))
        return f"{symbol} {cell.word}".lstrip()
    return cell_text(cell)


def _drawing(drawing: Drawing) -> Iterator[str]:
    """Tell a figure in words: Markdown cannot draw."""
    yield from (block(f"Figure: {drawing.figure.title}"), "")
    yield from (block(describe(drawing.figure, drawing.bands)), "")
