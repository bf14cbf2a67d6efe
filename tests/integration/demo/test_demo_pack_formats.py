"""The demo's two packs in every format: opened, read back and compared with the JSON."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from pypdf import PdfReader

from tests.integration.report.browser import Browser, browser_path
from tests.integration.report.reopened import (
    csv_tables,
    json_values,
    sorted_values,
    table_values,
    untyped,
    xlsx_tables,
)
from tracker.contract.figure import FigureKind
from tracker.report.document import Document, Table, sections_of
from tracker.report.pack import render
from tracker.report.pages.pack import pack_document
from tracker.services.gates.freezing import frozen_pack
from tracker.services.packs.views import PackContent
from tracker.services.session import Session


@pytest.fixture(params=["G1", "G2"])
def content(request: pytest.FixtureRequest, demo: Session) -> PackContent:
    return frozen_pack(demo, request.param)


@cache
def written(content: PackContent, form: str) -> bytes:
    return render(content, form)


@pytest.fixture
def document(content: PackContent) -> Document:
    return pack_document(content)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = browser_path()
    if path is None:
        pytest.skip("no browser is installed")
    with Browser(path) as found:
        yield found


def test_a_browser_shows_the_pack(
    browser: Browser, content: PackContent, document: Document, tmp_path: Path
) -> None:
    """No complaint, no request but for the file itself, every link leads somewhere."""
    file = tmp_path / "pack.html"
    file.write_bytes(written(content, "html"))
    browser.open(file)
    assert (
        browser.told("Log.entryAdded", "Runtime.exceptionThrown", "Runtime.consoleAPICalled") == []
    )
    asked = [each["request"]["url"] for each in browser.told("Network.requestWillBeSent")]
    assert asked == [file.as_uri()]
    listed = [each.title for _, each in sections_of(document) if each.listed]
    assert browser.ask("[...document.querySelectorAll('nav a')].map(e=>e.textContent)") == listed
    loose = browser.ask(
        "[...document.querySelectorAll('a')].filter(e=>!document.getElementById("
        "e.getAttribute('href').slice(1))).length"
    )
    assert loose == 0
    assert browser.ask("document.querySelectorAll('a').length") > 200
    assert browser.ask("document.querySelectorAll('figure svg').length") > 5
    assert browser.ask("document.documentElement.scrollWidth <= innerWidth")


def test_every_item_is_linked_to_where_it_stands(content: PackContent, document: Document) -> None:
    source = written(content, "html").decode()
    rows = {
        name
        for _, section in sections_of(document)
        for block in section.blocks
        if isinstance(block, Table)
        for name in block.anchors
    }
    anchors = rows | {section.anchor for _, section in sections_of(document)}
    keys = [each.key for each in content.requirements]
    keys += [each.key for each in content.decisions]
    keys += [each.key for each in content.quantities]
    keys += [each.key for each in content.checks]
    for key in keys:
        assert any(name.endswith(f"--{key.replace('_', '_5f_')}") for name in anchors), key
    assert all(f'id="{name}"' in source for name in anchors)


def test_the_pdf_has_a_page_for_every_decision(content: PackContent, document: Document) -> None:
    reader = PdfReader(io.BytesIO(written(content, "pdf")))
    places = reader.named_destinations
    assert set(places) == {section.anchor for _, section in sections_of(document)}
    pages = [places[f"decision--{each.key}"].page.idnum for each in content.decisions]  # type: ignore[union-attr] # a page
    assert len(set(pages)) == len(pages)
    lead = reader.page_labels.index("1")
    assert f"{len(reader.pages) - lead} behind the contents" in reader.pages[0].extract_text()
    for page in reader.pages:
        text = "".join(page.extract_text().split())
        assert content.cover.head in text
        assert "".join(content.cover.caution.split()) in text


def test_no_line_ends_within_a_time(content: PackContent) -> None:
    """A line ends between day and time, where it ends at all."""
    reader = PdfReader(io.BytesIO(written(content, "pdf")))
    text = "".join(page.extract_text() for page in reader.pages).replace("\u00a0", " ")
    found = re.findall(r"\d\d:\d\d:\d\d Z", text)
    lines = [line for page in content.decisions for line in page.history]
    lines += {line.revision: line for each in content.changes for line in each.reasons}.values()
    reviews = [review.on for page in content.decisions for review in page.reviews]
    told = [content.cover.frozen_at, *(each.at for each in lines), *reviews]
    assert sorted(found) == sorted(f"{each[11:19]} Z" for each in told)
    html = written(content, "html").decode()
    assert all(f"{each[:10]} {each[11:19]}\u00a0Z" in html for each in told)
    body = html.partition("<body>")[2]
    assert re.findall(r"\d{4}-\d\d-\d\dT\d", body) == []


def test_a_history_follows_what_is_told_and_figures_come_last(document: Document) -> None:
    """Else pages with a few lines of history would stand alone behind those of figures."""
    for _, section in sections_of(document):
        titles = [each.title for each in section.sections]
        if section.anchor.startswith("decision--") and "Figures" in titles:
            assert titles[-2:] == ["History", "Figures"]


def test_drawings_tell_where_the_design_stands_and_what_is_allowed(content: PackContent) -> None:
    figures = [
        each
        for page in content.decisions
        for each in page.figures
        if each.kind == FigureKind.CURVE and each.up.now is not None
    ]
    markdown = written(content, "md").decode()
    html = written(content, "html").decode()
    for each in figures:
        for band in each.up.bands:
            said = f"llowed by {band.judge}: "
            assert said in markdown
            assert html.count(said) >= 2  # in the legend, and in what is said of the drawing
    assert html.count(">now: ") >= len(figures)
    assert len(figures) > 0 or content.cover.gate == "G1"


def test_markdown_has_the_headings_and_tables(content: PackContent, document: Document) -> None:
    tokens = MarkdownIt("commonmark").enable("table").parse(written(content, "md").decode())
    heads = [
        tokens[place + 1].content
        for place, token in enumerate(tokens)
        if token.type == "heading_open"
    ]
    assert len(heads) == 2 + sum(1 for _ in sections_of(document))
    tables = sum(token.type == "table_open" for token in tokens)
    blocks = [block for _, section in sections_of(document) for block in section.blocks]
    assert tables == 1 + sum(isinstance(each, Table) and bool(each.rows) for each in blocks)


def test_workbook_and_files_hold_the_json_value_by_value(content: PackContent) -> None:
    plain = json.loads(written(content, "json"))
    book, files = xlsx_tables(written(content, "xlsx")), csv_tables(written(content, "csv"))
    assert sorted_values(table_values(book)) == sorted_values(list(json_values(plain)))
    for file, sheet in zip(files.values(), book.values(), strict=True):
        for row, cells in zip(file, sheet, strict=True):
            assert [each.removeprefix("'") for each in row] == [untyped(each) for each in cells]
