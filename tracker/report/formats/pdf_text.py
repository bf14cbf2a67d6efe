"""Text for the typesetter: drawable, and breakable where a line has no room."""

from __future__ import annotations

import re

from tracker.report.formats.pdf_glyphs import printable

__all__ = ["breakable", "flat", "one_line", "short"]

_BLANKS = re.compile(r"[ \n\t]+")
_LONG = re.compile(r"\S{15,}")
_PIECE = 12
_MARK = "\u200b"
_SHORT = 60


def breakable(text: str) -> str:
    """Cut long words into pieces that a line may end between, each between two marks.

    The marks never reach the page: the template reads them. No text has them of its own, as they
    are hidden characters.
    """
    return _LONG.sub(lambda found: _cut(found[0]), printable(text))


def _cut(word: str) -> str:
    starts = range(0, len(word), _PIECE)
    return "".join(f"{_MARK}{word[start : start + _PIECE]}{_MARK}" for start in starts)


def one_line(text: str) -> str:
    """Write a text as one line that can be broken anywhere."""
    return breakable(flat(text))


def flat(text: str) -> str:
    """Write a text as one line of characters that all can be drawn."""
    return _BLANKS.sub(" ", printable(text)).strip()


def short(text: str) -> str:
    """Write the beginning of a text that stands whole elsewhere."""
    line = flat(text)
    return line if len(line) <= _SHORT else f"{line[:_SHORT]} …"
