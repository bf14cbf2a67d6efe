"""A page as a table to paste into a sheet: cells divided by tabs, no cell taken for a formula."""

from __future__ import annotations

import re

from tracker.tui.layout.paper import Line, Lines

__all__ = ["WIDE", "tabbed"]

WIDE = 400
"""Cells a page is laid out for: hardly any text is cut."""

_RISKY = ("=", "+", "-", "@", "'")
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")


def tabbed(lines: Lines) -> str:
    """Write a page as a table.

    Each span of a line is a cell; what is blank in every line of as many spans is no column. A text
    that a sheet might take for a formula stands behind an apostrophe, as in the tables written to
    files; a bare number does not.
    """
    rows = [_cells(lines.line(at)) for at in range(len(lines))]
    used: dict[int, set[int]] = {}
    for row in rows:
        filled = used.setdefault(len(row), set())
        filled |= {at for at, text in enumerate(row) if text}
    return "\n".join(
        "\t".join(_inert(text) for at, text in enumerate(row) if at in used[len(row)])
        for row in rows
    )


def _cells(line: Line) -> list[str]:
    return [each.text.strip() for each in line.spans]


def _inert(text: str) -> str:
    return f"'{text}" if text.startswith(_RISKY) and not _NUMBER.fullmatch(text) else text
