"""Text into CommonMark: read back by an independent parser, it is that text and nothing else."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token

from tracker.report.markdown import block, inline, table
from tracker.services.wording import visible

PARSER = MarkdownIt("gfm-like")
"""CommonMark with the tables, strikethrough and bare links of GitHub Flavored Markdown."""

HOSTILE = (
    "**bold** _under_ `code` ~~gone~~",
    "[link](http://x.test) ![image](x.png) [ref]: http://x.test",
    "<script>alert(1)</script> <http://x.test> &amp; &#35;",
    "# heading\n## more\n- item\n+ item\n* item\n1. one\n2) two\n> quote\n    code\n\ttab",
    "---\n***\n===\n```\nfence\n~~~",
    "a | b\n--- | ---\n| c | d |",
    "www.x.test http://x.test ftp://x.test me@x.test https://x.test/?a=b&c=d",
    "\\ \\* trailing\\",
    "a  \nb\\\nc",
    "[^1]: note :smile: $math$ {#id}",
    "\u202ereversed\u200b \u2028",
    "-\n- \n=",
    "2024. a year",
)
PLAIN = {"text", "softbreak", "hardbreak"}


def _shown(token: Token) -> str:
    parts = []
    for each in token.children or ():
        assert each.type in PLAIN, each
        parts.append(each.content if each.type == "text" else "\n")
    return "".join(parts)


def _words(text: str) -> list[str]:
    return visible(text).split()


def _parsed(source: str) -> list[Token]:
    return PARSER.parse(source)


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_text_in_a_paragraph(text: str) -> None:
    tokens = _parsed(block(text))
    assert [each.type for each in tokens] == ["paragraph_open", "inline", "paragraph_close"]
    lines = [_words(line) for line in text.split("\n") if line.strip()]
    assert [line.split() for line in _shown(tokens[1]).split("\n")] == lines


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_text_in_a_heading_and_an_item(text: str) -> None:
    for source, kind in (
        (f"## Key: {inline(text)}", "heading_open"),
        (f"- a: {inline(text)}", "bullet_list_open"),
    ):
        tokens = _parsed(source)
        assert tokens[0].type == kind
        held = [each for each in tokens if each.type == "inline"]
        assert len(held) == 1
        assert _shown(held[0]).split()[1:] == _words(text)


@given(st.lists(st.text(max_size=30), min_size=3, max_size=3))
def test_any_text_is_text_in_a_table(cells: list[str]) -> None:
    tokens = _parsed("\n".join(table(("a", "b", "c"), [cells, cells])))
    held = [_shown(each).split() for each in tokens if each.type == "inline"]
    assert held == [["a"], ["b"], ["c"], *([_words(each) for each in cells] * 2)]


@given(st.text(max_size=60))
def test_any_text_is_text_in_a_paragraph(text: str) -> None:
    tokens: list[Any] = _parsed(block(text))
    assert len(tokens) == (3 if _words(text) else 0)
    if tokens:
        assert _shown(tokens[1]).split() == _words(text)


def test_no_rows_no_table() -> None:
    assert list(table(("a",), [])) == []
