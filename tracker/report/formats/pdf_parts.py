"""A document cut into parts small enough to be typeset one after the other.

A typesetter keeps all pages of a run in memory; parts keep that bounded whatever the length of the
document. A part ends where a page ends anyway, or inside a table of many rows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tracker.report.document import (
    Block,
    Cell,
    ColumnKind,
    Document,
    Drawing,
    Facts,
    Link,
    Links,
    Note,
    Paragraph,
    Section,
    Sign,
    Signatures,
    Table,
    cell_text,
    sections_of,
)
from tracker.report.drawing import describe, draw, spelt
from tracker.report.formats.pdf_glyphs import FONTS, printable
from tracker.report.formats.pdf_text import breakable, flat, one_line, short
from tracker.report.formats.style import SIGN_INKS
from tracker.report.marks import spelt_bands
from tracker.report.svg import svg
from tracker.services.wording import SIGNS

__all__ = ["Parts", "shared"]

Data = dict[str, Any]

_HEAVIEST, _HEAVIEST_BARE = 1500, 500
"""Most weight of a part; a table cell weighs 1."""
_ROWS, _ROWS_BARE = 150, 60
"""Most rows of a table in one piece."""
_DRAWING, _TEXT = 60, 2
_WHOLE = 2
"""Sections of a deeper level are never parted from what stands before them."""


def shared(document: Document) -> Data:
    """Return what every part of a document says."""
    year, month, day = (int(each) for each in document.moment[:10].split("-"))
    return {
        "fonts": FONTS,
        "title": printable(f"{document.kind}: {document.title}"),
        "heading": short(f"{document.kind}: {document.title}"),
        "kind": printable(document.kind),
        "name": one_line(document.title),
        "running": breakable(document.running),
        "caution": printable(document.caution),
        "date": (year, month, day),
    }


class Parts:
    """The blocks of a document as the data the template reads.

    Parameters
    ----------
    document : Document
        What is to be typeset.
    bare : bool
        Whether the parts are small and cells lead nowhere, as a very long document needs it.
    """

    def __init__(self, document: Document, *, bare: bool = False) -> None:
        self._document = document
        self._bare = bare
        self._heaviest = _HEAVIEST_BARE if bare else _HEAVIEST
        self._most = _ROWS_BARE if bare else _ROWS
        self._section_of = {
            name: section.anchor
            for _, section in sections_of(document)
            for block in section.blocks
            if isinstance(block, Table)
            for name in block.anchors
        }
        """Rows → their section: only headings can be jumped to in print."""

    def body(self) -> Iterator[list[Data]]:
        """Yield the blocks of the body, a part at a time."""
        held: list[Data] = []
        total = 0
        for block in self._sections(self._document.sections, 1):
            heavy = _weight(block)
            if held and total + heavy > self._heaviest and _may_end(held[-1], block):
                yield held
                held, total = [], 0
            held.append(block)
            total += heavy
        if held:
            yield held

    def front(self) -> list[Data]:
        """Return the blocks of the cover."""
        return list(self._blocks(self._document.front))

    def _sections(self, sections: Sequence[Section], level: int) -> Iterator[Data]:
        for section in sections:
            yield {
                "k": "section",
                "level": level,
                "title": one_line(section.title),
                "anchor": section.anchor,
                "page": section.own_page,
            }
            yield from self._blocks(section.blocks)
            yield from self._sections(section.sections, level + 1)

    def _blocks(self, blocks: Sequence[Block]) -> Iterator[Data]:
        for block in blocks:
            match block:
                case Paragraph():
                    yield {"k": "paragraph", "text": breakable(block.text)}
                case Facts():
                    pairs = [(breakable(label), self._cell(cell)) for label, cell in block.pairs]
                    yield {"k": "facts", "pairs": pairs}
                case Table():
                    yield from self._pieces(block)
                case Drawing():
                    yield _drawing(block)
                case Note():
                    yield {"k": "note", "caution": block.caution, "text": breakable(block.text)}
                case Signatures():
                    yield {"k": "signatures", "roles": [breakable(each) for each in block.roles]}

    def _pieces(self, table: Table) -> Iterator[Data]:
        columns = [
            {
                "title": breakable(each.title),
                "share": each.share,
                "number": each.kind is ColumnKind.NUMBER,
            }
            for each in table.columns
        ]
        for start in range(0, len(table.rows), self._most):
            rows = table.rows[start : start + self._most]
            more = " (continued)" if start else ""
            yield {
                "k": "table",
                "caption": breakable(table.caption) + more,
                "columns": columns,
                "rows": [[self._cell(cell) for cell in row] for row in rows],
                "continues": start + self._most < len(table.rows),
            }

    def _cell(self, cell: Cell) -> Mapping[str, Any]:
        match cell:
            case Sign():
                symbol, _ = SIGNS.get(cell.word, ("", ""))
                ink = SIGN_INKS.get(cell.word, "")
                return {"k": "sign", "text": breakable(cell.word), "symbol": symbol, "ink": ink}
            case Links():
                return {"k": "links", "items": [self._link(each) for each in cell.items]}
            case _:
                return {"k": "text", "text": breakable(cell_text(cell))}

    def _link(self, link: Link) -> Mapping[str, str]:
        target = "" if self._bare else self._section_of.get(link.anchor, link.anchor)
        return {"text": breakable(link.text), "anchor": target}


def _may_end(last: Data, following: Data) -> bool:
    """Return whether a page may end between two blocks."""
    if following["k"] == "section":
        return bool(following["page"]) or following["level"] <= _WHOLE
    return bool(last.get("continues")) and following["k"] == "table"


def _weight(block: Data) -> int:
    match block["k"]:
        case "table":
            return len(block["rows"]) * len(block["columns"])
        case "drawing":
            return _DRAWING
        case _:
            return _TEXT


def _drawing(drawing: Drawing) -> Data:
    figure = spelt(drawing.figure, flat)
    bands = spelt_bands(drawing.bands, flat)
    told = describe(figure, bands)
    picture = svg(draw(figure, bands), figure.title, told, "f", ", ".join(FONTS))
    return {"k": "drawing", "title": breakable(figure.title), "alt": told, "svg": picture}
