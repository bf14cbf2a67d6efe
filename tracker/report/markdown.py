"""Text into CommonMark source that shows as that text and nothing else.

Imported text must not become emphasis, a link, an image, HTML, a heading, a list or the end of a
table cell: every character that could begin one is escaped (CommonMark 0.31.2, section 2.4:
"any ASCII punctuation character may be backslash-escaped"). Tables and bare addresses are escaped
as GitHub Flavored Markdown 0.29 reads them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from tracker.services.wording import visible

__all__ = ["block", "inline", "table"]

_ANYWHERE = re.compile(r"[\\`*_{}\[\]<>&|~#$^!@]")
_AT_START = re.compile(r"[-+=:]")
_NUMBER = re.compile(r"(\d+)([.)])")
_ADDRESS = re.compile(r"(?<=[a-z]):(?=//)|(?<=www)\.", re.IGNORECASE)


def inline(text: str) -> str:
    """Write a text as a piece of one line, not its beginning, that shows as the text."""
    escaped = _ANYWHERE.sub(r"\\\g<0>", " ".join(visible(text).split()))
    return _ADDRESS.sub(r"\\\g<0>", escaped)


def _line(text: str) -> str:
    """Write a text as a line of its own: nothing at its beginning starts a list or a heading."""
    escaped = inline(text)
    if _AT_START.match(escaped):
        return f"\\{escaped}"
    return _NUMBER.sub(r"\1\\\2", escaped, count=1) if _NUMBER.match(escaped) else escaped


def block(text: str) -> str:
    """Write a text of several lines as a paragraph; each line break stays one."""
    return "\\\n".join(_shown_lines(text))


def _shown_lines(text: str) -> Iterator[str]:
    for line in visible(text).split("\n"):
        if line.strip():
            yield _line(line)


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Write a table, its cells escaped; nothing where there are no rows."""
    cells = [[inline(each) for each in row] for row in rows]
    if cells:
        yield _row([inline(each) for each in head])
        yield _row(["---"] * len(head))
        yield from map(_row, cells)
        yield ""


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
