"""A document as one HTML file that needs nothing else and allows nothing else.

No script, no request: the content policy forbids everything but this very style sheet, named by its
hash (Content Security Policy Level 3, section 6.7.3). It works from a disk and prints.
"""

from __future__ import annotations

import base64
import hashlib
import io
from collections.abc import Iterator
from itertools import repeat

from tracker.report.document import (
    Block,
    Cell,
    Column,
    ColumnKind,
    Document,
    Drawing,
    Facts,
    Link,
    Links,
    Note,
    Number,
    Paragraph,
    Section,
    Sign,
    Signatures,
    Table,
    cell_text,
    sections_of,
)
from tracker.report.drawing import describe, draw, spelt
from tracker.report.formats.elements import Html, element, raw
from tracker.report.formats.style import SIGN_INKS, STYLE
from tracker.report.marks import spelt_bands
from tracker.report.svg import svg
from tracker.services.wording import SIGNS, visible

__all__ = ["html"]

_FONT = "system-ui, 'Segoe UI', 'Liberation Sans', Arial, sans-serif"
_DEEPEST = 6


def html(document: Document) -> bytes:
    """Write a document as HTML, UTF-8."""
    held = io.BytesIO()
    for piece in _Page(document).whole():
        held.write(piece.encode("utf-8"))
    return held.getvalue()


def _policy() -> str:
    digest = base64.b64encode(hashlib.sha256(STYLE.encode("utf-8")).digest()).decode("ascii")
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


class _Page:
    """One document on its way out; counts the figures so that their names are unique."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._figures = 0

    def whole(self) -> Iterator[str]:
        document = self._document
        yield "<!DOCTYPE html>\n"
        yield '<html lang="en">\n'
        yield from self._head()
        yield "<body>\n"
        yield element("a", "Skip to the content", class_="skip", href="#content")
        yield element(
            "header",
            element("p", document.kind, class_="kind"),
            element("h1", document.title),
            element("p", document.running, class_="running"),
            element("p", element("strong", "Caution. "), document.caution, class_="caution"),
            *(self._block(each) for each in document.front),
        )
        yield "\n"
        yield self._contents()
        yield '\n<main id="content" tabindex="-1">\n'
        for section in document.sections:
            yield from self._section(section, 2)
        yield "</main>\n"
        yield element(
            "footer",
            element("p", document.running, class_="running"),
            element("p", document.caution),
        )
        yield "\n</body>\n</html>\n"

    def _head(self) -> Iterator[str]:
        yield "<head>\n"
        yield element("meta", charset="utf-8")
        yield element("meta", http_equiv="Content-Security-Policy", content=_policy())
        yield element("meta", name="viewport", content="width=device-width, initial-scale=1")
        yield element("meta", name="color-scheme", content="light dark")
        yield element("meta", name="date", content=self._document.moment)
        yield element("title", f"{self._document.kind}: {self._document.title}")
        yield f"<style>{STYLE}</style>\n</head>\n"

    def _contents(self) -> Html:
        items = [
            element(
                "li", element("a", section.title, href=f"#{section.anchor}"), class_=f"l{level}"
            )
            for level, section in sections_of(self._document)
            if section.listed
        ]
        heading = element("h2", "Contents", id="contents")
        return element("nav", heading, element("ol", *items), aria_labelledby="contents")

    def _section(self, section: Section, level: int) -> Iterator[str]:
        kind = ' class="own-page"' if section.own_page else ""
        yield f'<section id="{section.anchor}" aria-labelledby="{section.anchor}-h"{kind}>\n'
        yield element(f"h{min(level, _DEEPEST)}", section.title, id=f"{section.anchor}-h")
        yield "\n"
        for block in section.blocks:
            yield self._block(block)
            yield "\n"
        for each in section.sections:
            yield from self._section(each, level + 1)
        yield "</section>\n"

    def _block(self, block: Block) -> Html:
        match block:
            case Paragraph():
                return element("p", block.text)
            case Facts():
                return _facts(block)
            case Table():
                return _table(block)
            case Drawing():
                return self._drawing(block)
            case Note():
                return _note(block)
            case Signatures():
                return _signatures(block)

    def _drawing(self, drawing: Drawing) -> Html:
        self._figures += 1
        figure = spelt(drawing.figure, visible)
        bands = spelt_bands(drawing.bands, visible)
        words, name = describe(figure, bands), f"f{self._figures}"
        told = svg(draw(figure, bands), figure.title, words, name, _FONT)
        return element("figure", element("figcaption", figure.title), Html(told))


def _facts(facts: Facts) -> Html:
    pairs = (raw((element("dt", label), element("dd", _cell(cell)))) for label, cell in facts.pairs)
    return element("dl", *pairs)


def _note(note: Note) -> Html:
    if note.caution:
        return element("p", element("strong", "Caution. "), note.text, class_="caution")
    return element("p", note.text, class_="note")


def _signatures(block: Signatures) -> Html:
    lines = (
        element("p", text) for role in block.roles for text in (role, "name and signature", "date")
    )
    return element("div", *lines, class_="sign-here")


def _table(table: Table) -> Html:
    if not table.rows:
        return Html("")
    heads = (
        element("th", each.title, scope="col", class_=_class_of(each)) for each in table.columns
    )
    return element(
        "table",
        element("caption", table.caption),
        element("colgroup", *_widths(table.columns)),
        element("thead", element("tr", *heads)),
        element("tbody", *_rows(table)),
    )


def _widths(columns: tuple[Column, ...]) -> Iterator[Html]:
    """Give each column its share; the policy allows no style on an element, so in the old way."""
    whole = sum(each.share for each in columns)
    return (element("col", width=f"{100 * each.share / whole:.1f}%") for each in columns)


def _rows(table: Table) -> Iterator[Html]:
    for row, name in zip(table.rows, table.anchors or repeat(""), strict=False):
        yield _row(table.columns, row, name)


def _row(columns: tuple[Column, ...], row: tuple[Cell, ...], name: str) -> Html:
    first, *others = zip(columns, row, strict=True)
    head = element("th", _cell(first[1]), scope="row")
    cells = (element("td", _cell(cell), class_=_class_of(column)) for column, cell in others)
    return raw((element("tr", head, *cells, id=name), Html("\n")))


def _class_of(column: Column) -> str:
    return "number" if column.kind is ColumnKind.NUMBER else ""


def _cell(cell: Cell) -> Html:
    match cell:
        case Sign():
            return _sign(cell.word)
        case Links():
            return raw(_linked(cell.items))
        case Number():
            return raw((cell_text(cell).replace(" ", "\u00a0"),))
        case _:
            return raw((cell.text,))


def _linked(links: tuple[Link, ...]) -> Iterator[str]:
    for place, link in enumerate(links):
        if place:
            yield ", "
        yield element("a", link.text, href=f"#{link.anchor}") if link.anchor else link.text


def _sign(word: str) -> Html:
    symbol, _ = SIGNS.get(word, ("", ""))
    mark = element("span", f"{symbol}\u00a0", aria_hidden="true") if symbol else Html("")
    return element("span", mark, word, class_=f"sign {SIGN_INKS.get(word, '')}".rstrip())
