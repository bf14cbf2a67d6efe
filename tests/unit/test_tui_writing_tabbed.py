"""A page as a table: what a sheet gets when it is pasted, read back by a CSV reader (RFC 4180)."""

from __future__ import annotations

import csv

from tracker.services.views import ListLine
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Paper, Rows, list_row
from tracker.tui.layout.tabbed import tabbed

FACE = Face()


def test_a_list_becomes_columns_that_line_up() -> None:
    lines = [
        ListLine(key="D-1", title="How long", sign="broken", text="open", shifted=True),
        ListLine(key="D-2", title="How wide", sign="stands", text="settled: b"),
    ]
    rows = Rows(["D-1", "D-2"], lambda at: (list_row(FACE, lines[at], 400),))
    read = list(csv.reader(tabbed(rows).split("\n"), delimiter="\t"))
    assert read == [
        ["⊠ broken", "D-1", "How long", "↷ shifted", "open"],
        ["■ stands", "D-2", "How wide", "", "settled: b"],
    ]


def test_nothing_is_taken_for_a_formula() -> None:
    paper = Paper(80, FACE)
    for text in ("=1+1", "+A1", "-A1", "@sum", "'x", "-0.25", "+3", "a\tb", "-1e3"):
        paper.row(Cell(text, 20), Cell("", 1))
    assert tabbed(paper.done()).split("\n") == [
        *("'=1+1", "'+A1", "'-A1", "'@sum", "''x", "-0.25", "+3", "a b", "-1e3"),
    ]
