"""More than five hundred texts that have broken some terminal, some parser or some layout."""

from __future__ import annotations

import itertools

__all__ = ["CORPUS", "HUGE", "TOGETHER"]

_MARKUP = (
    "[red]x[/red]", "[/]", "[/red]", "[", "]", "[]", "[[", "]]", "[b", "[@click=app.quit]x[/]",
    "[@click=app.bell()]x[/]", "[link=file:///x]x[/link]", "[on red]x", "[$error]x[/]", "\\[red]",
    "[bold not italic]x[/]", "[R-12] stiffness [N/mm]", "[1, 2, 3] mm", "{x}", "{0}", "{x!r}",
    "%s", "%(x)s", "%n", "$x", "$bad", "${x}", "<b>x</b>", "<script>x</script>", "&lt;", "&#27;",
    "`x`", "*x*", "_x_", "# x", "| x | y |", "---", "'; DROP TABLE t; --", '"', "'", "\\", "\\n",
    "=1+1", "+1", "-1", "@x", "../../x", "~", ":smile:", ":warning:", "[blink]x[/blink]",
)  # fmt: skip
_DRIVING = (
    "\x1b[31m", "\x1b[2J", "\x1b[H", "\x1b]0;title\x07", "\x1b]8;;x\x1b\\y\x1b]8;;\x1b\\",
    "\x1b]52;c;eA==\x07", "\x1bP$q\x1b\\", "\x1b_x\x1b\\", "\x1b[6n", "\x1b[?1049h", "\x1b[?2004l",
    "\x1b[200~", "\x1b[201~q\x1b", "\x1bc", "\x1b(0", "\x1b#8", "\x1b[1;1H", "\x1b[5i", "\x1b",
    "\x9b2J", "\x9d0;x\x9c", "\x90x\x9c", "\x9f", "\r", "a\rb", "\r\n", "a\nb", "\n", "\n\n\n",
    "\t", "\t\t", "\x00", "\x07",
    "\x08\x08\x08", "\x7f", "\x0b", "\x0c", "\x0e", "\x0f", "\x1c", "\x1d", "\x1e", "\x1f",
)  # fmt: skip
_C0_C1 = tuple(f"a{chr(code)}b" for code in (*range(0x20), *range(0x7F, 0xA0)))
_FORMAT = tuple(
    f"a{chr(code)}b"
    for code in (
        0xAD, 0x34F, 0x61C, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x180E, *range(0x200B, 0x2010),
        *range(0x2028, 0x202F), *range(0x2060, 0x2070), 0x3164,
        *range(0xFE00, 0xFE10), 0xFEFF, 0xFFA0,
        *range(0xFFF9, 0xFFFE), 0x1BCA0, 0x1D173, 0xE0001, 0xE0020, 0xE007F, 0xE0100, 0xE000,
        0xF0000, 0x10FFFF, 0xFFFF, 0xFDD0,
    )
)  # fmt: skip
_SPACES = tuple(
    f"a{chr(code)}b"
    for code in (0xA0, 0x1680, *range(0x2000, 0x200B), 0x202F, 0x205F, 0x3000, 0x85, 0x2028, 0x2029)
)
_COMBINING = (
    "e\u0301", "\u0301", "a" + "\u0301" * 50, "n\u0303o", "\u0e01\u0e33", "\u0915\u094d\u0937",
    "\u1100\u1161\u11a8", "a\u20dd", "\u0489" * 5, "Z\u0351\u036b\u0343\u036a\u0302\u036b\u033d",
    "\u093f", "\u0d4d\u200d", "\u05e9\u05c1\u05dc\u05d5\u05dd", "\u0645\u0631\u062d\u0628\u0627",
)  # fmt: skip
_WIDE = (
    "語", "日本語", "한국어", "ｆｕｌｌ", "　", "語" * 79, "a語" * 40, "語a" * 40, "\U0001f9b4",
    "\U0001f468\u200d\U0001f469\u200d\U0001f467", "\U0001f1e9\U0001f1ea", "\u2764\ufe0f",
    "1\ufe0f\u20e3",
    "\U0001f44d\U0001f3fd", "\U0001f3f4\U000e0067\U000e0062\U000e007f", "\u231a", "\u26a1", "①",
    "㎜",
    "\U00020000", "ﷺ", "꧅", "𒐫", "│█▓▸", "──────", "\u2800\u28ff",
)  # fmt: skip
_LONG = ("x" * 500, "x " * 300, "語" * 300, "\u0301" * 300, "-" * 300, " " * 300, "a\n" * 100)
_ALL = (*_MARKUP, *_DRIVING, *_C0_C1, *_FORMAT, *_SPACES, *_COMBINING, *_WIDE, *_LONG)

_PAIRS = tuple(
    f"{one} {other}"
    for one, other in itertools.islice(
        zip(_ALL, itertools.islice(itertools.cycle((*_MARKUP, *_DRIVING)), 7, None), strict=False),
        250,
    )
)

CORPUS: tuple[str, ...] = tuple(dict.fromkeys((*_ALL, *_PAIRS)))

HUGE: tuple[str, ...] = ("x" * 100_000, "[red]語\u202e\x1b " * 10_000, "word " * 20_000)
"""Texts of a hundred thousand characters."""

TOGETHER: tuple[str, ...] = tuple(
    " ".join(CORPUS[start : start + 8]) for start in range(0, len(CORPUS), 8)
)
"""All of the corpus, several texts in one, for what takes long to fill."""
