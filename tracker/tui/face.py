"""How text reaches the screen: made visible, one line, ASCII where the terminal needs it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping

from rich.cells import cell_len, set_cell_size

from tracker.services.wording import SIGNS, visible

__all__ = ["Face", "ascii_wanted"]

_ASCII = {
    "−": "-", "–": "-", "—": "-", "→": "->", "←": "<-", "×": "x", "·": "*", "…": "..", "±": "+/-",
    "°": "deg", "µ": "u", "μ": "u", "≤": "<=", "≥": ">=", "’": "'", "“": '"', "”": '"', "²": "^2",
    "³": "^3", "│": "|", "─": "-", "█": "=", "▓": "x", "▏": "|", "▸": ">", "✓": "*", "↵": "enter",
}  # fmt: skip


def ascii_wanted(environ: Mapping[str, str], encoding: str | None) -> bool:
    """Tell whether the terminal can only be trusted with ASCII.

    Parameters
    ----------
    environ : mapping of str to str
        The environment; `WHYBONE_ASCII=1` asks for ASCII.
    encoding : str or None
        Encoding of standard output.
    """
    if environ.get("WHYBONE_ASCII", "") not in ("", "0"):
        return True
    return (encoding or "ascii").lower().replace("-", "") != "utf8"


def _folded(char: str) -> str:
    if char.isascii():
        return char
    if char in _ASCII:
        return _ASCII[char]
    bare = unicodedata.normalize("NFKD", char).encode("ascii", "ignore").decode()
    return bare or f"<U+{ord(char):04X}>"


class Face:
    """Turns any text into text that is safe to paint.

    Parameters
    ----------
    ascii_only : bool
        Use nothing but ASCII.
    """

    spoken = False
    """Whether words stand alone, without bars: for the ear."""

    def __init__(self, *, ascii_only: bool = False) -> None:
        self.ascii_only = ascii_only
        self.marker = ">" if ascii_only else "▸"

    def line(self, text: str) -> str:
        """Return a text as one line: nothing invisible, no line breaks."""
        shown = visible(text).replace("\n", " ").replace("\t", " ")
        if self.ascii_only and not shown.isascii():
            return "".join(map(_folded, shown))
        return shown

    def sign(self, word: str) -> str:
        """Return a verdict, standing or state as symbol and word."""
        return f"{self.symbol(word)} {word}" if word else ""

    def symbol(self, word: str) -> str:
        """Return the symbol of a verdict, standing or state; empty for any other word."""
        return SIGNS.get(word, ("", ""))[int(self.ascii_only)]

    def clip(self, text: str, width: int) -> str:
        """Return a text as one line of at most `width` cells, its cut end marked."""
        if width <= 0:
            return ""
        shown = self.line(text[: 4 * width + 4])
        if cell_len(shown) <= width:
            return shown
        mark = ".." if self.ascii_only else "…"
        room = max(width - len(mark), 0)
        return (set_cell_size(shown, room) + mark)[:width] if room else mark[:width]

    def wrap(self, text: str, width: int) -> list[str]:
        """Break a text into lines of at most `width` cells, at spaces where there are any."""
        lines: list[str] = []
        for paragraph in text.split("\n"):
            lines.extend(_filled(self.line(paragraph), max(width, 1)))
        return lines


def _filled(paragraph: str, width: int) -> Iterator[str]:
    line, used = "", 0
    for word in paragraph.split(" "):
        size = cell_len(word)
        if line and used + 1 + size > width:
            yield line
            line, used = "", 0
        if size > width:
            *full, word = _pieces(word, width)  # noqa: PLW2901 - the rest of a word that was cut
            yield from full
            size = cell_len(word)
        line, used = (f"{line} {word}", used + 1 + size) if line else (word, size)
    yield line


def _pieces(word: str, width: int) -> list[str]:
    """Cut a word that is longer than a line."""
    pieces, start, used = [], 0, 0
    for place, char in enumerate(word):
        size = cell_len(char)
        if used + size > width and place > start:
            pieces.append(word[start:place])
            start, used = place, 0
        used += size
    return [*pieces, word[start:]]
