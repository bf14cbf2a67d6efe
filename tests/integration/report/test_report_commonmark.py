"""Markdown documents: an independent parser finds the headings and tables of the document."""

from __future__ import annotations

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

from tests.integration.report.packs import filled
from tests.integration.report.sample import HOSTILE, hostile_document, plain_document
from tracker.report.document import Document, Sign, Table, cell_text, sections_of
from tracker.report.formats.commonmark import markdown
from tracker.report.pages.pack import pack_document
from tracker.services.wording import SIGNS, visible

PARSER = MarkdownIt("commonmark").enable("table")
"""CommonMark 0.31 with the one extension that is used."""

DOCUMENTS = {
    "plain": plain_document(),
    "hostile": hostile_document(),
    "pack": pack_document(filled(("A text", "another"))),
    "hostile-pack": pack_document(filled(HOSTILE)),
}


def _tokens(document: Document) -> list[Token]:
    return PARSER.parse(markdown(document).decode())


def _shown(token: Token) -> str:
    parts = []
    for each in token.children or ():
        assert each.type in (
            "text",
            "softbreak",
            "hardbreak",
            "strong_open",
            "strong_close",
            "em_open",
            "em_close",
        ), each
        parts.append(each.content if each.type == "text" else " ")
    return " ".join("".join(parts).split())


def _words(text: str) -> str:
    return " ".join(visible(text).split())


@pytest.mark.parametrize("name", DOCUMENTS)
def test_headings_are_those_of_the_document(name: str) -> None:
    document, tokens = DOCUMENTS[name], _tokens(DOCUMENTS[name])
    found = [
        (int(token.tag[1]), _shown(tokens[place + 1]))
        for place, token in enumerate(tokens)
        if token.type == "heading_open"
    ]
    wanted = [(1, _words(f"{document.kind}: {document.title}")), (2, "Contents")]
    wanted += [(level + 1, _words(each.title)) for level, each in sections_of(document)]
    assert found == wanted


@pytest.mark.parametrize("name", DOCUMENTS)
def test_tables_are_those_of_the_document(name: str) -> None:
    wanted = []
    for _, section in sections_of(DOCUMENTS[name]):
        for block in section.blocks:
            if isinstance(block, Table) and block.rows:
                rows = [[_words(each.title) for each in block.columns]]
                rows += [[_words(_told(cell)) for cell in row] for row in block.rows]
                wanted.append(rows)
    found = [
        each for each in _tables(_tokens(DOCUMENTS[name])) if each[0][1] != "name and signature"
    ]
    assert found == wanted
    assert len(found) > 0


def _told(cell: object) -> str:
    if isinstance(cell, Sign):
        symbol, _ = SIGNS.get(cell.word, ("", ""))
        return f"{symbol} {cell.word}"
    return cell_text(cell)  # type: ignore[arg-type] # a cell


def _tables(tokens: list[Token]) -> list[list[list[str]]]:
    found: list[list[list[str]]] = []
    for place, token in enumerate(tokens):
        if token.type == "table_open":
            found.append([])
        elif token.type == "tr_open":
            found[-1].append([])
        elif token.type in ("td_open", "th_open"):
            found[-1][-1].append(_shown(tokens[place + 1]))
    return found


def test_caution_and_identity_lead(tmp_path: object) -> None:
    document = DOCUMENTS["plain"]
    text = markdown(document).decode()
    head = text.split("## ")[0]
    assert document.running in head
    assert f"> **Caution.** {document.caution}" in head


def test_no_hidden_character_is_left() -> None:
    text = markdown(DOCUMENTS["hostile"]).decode()
    assert not set("\u202e\u2066\u200b\x1b\x9b\x85\x7f\r\t") & set(text)
    for token in PARSER.parse(text):
        assert token.type not in ("html_block", "fence", "code_block", "hr", "ordered_list_open")
