"""Which characters the fonts inside the typesetter's wheel can draw, in regular and in bold.

No font of the machine is used, so that every machine gives the same pages. What the fonts cannot
draw is spelt out like a hidden character, `<U+4E2D>`, rather than shown as an empty box.
"""

from __future__ import annotations

from bisect import bisect_right

from tracker.services.wording import visible

__all__ = ["FONTS", "covered", "printable"]

FONTS = ("Libertinus Serif", "DejaVu Sans Mono", "New Computer Modern Math", "New Computer Modern")
"""Font families, in the order a character is looked up in."""

_RANGES = (
    "21-4ff 510-513 51a-51d 531-60a 60c 615 61b 61f 621-63a 640-655 65a 660-66d 674 679-67b "
    "67e-680 683-684 686-687 691 698 6a4 6a9 6af 6be 6cc 6f0-6f9 900-97f e3f e81-e84 e87-e88 e8a "
    "e8d e94-e97 e99-e9f ea1-ea7 eaa-eab ead-eb9 ebb-ebc ec8-ecd 10d0-10ff 115f-1160 13a0-13fd "
    "17b4-17b5 17c1-17c3 180b-180f 1ab0-1ace 1d00-2151 2153-2184 2189 2190-23ff 2422-2423 "
    "2460-262f 2638-268b 2690-269c 26a0-26a5 26aa-26ae 26b0-26b2 2701-2704 2706-2709 270c-2727 "
    "2729-274b 274d 274f-2752 2756 2758-275e 2761-277f 2794 2798-27af 27b1-27be 27c0-2bff "
    "2c60-2c71 2c74-2c77 2c79-2c7a 2c7c-2cff 2e17-2e18 2e1f 2e22-2e25 2e2e 3012 3016-3017 "
    "301a-301b 302e-3030 3036 306e 3164 a46a-a46b a640-a641 a648-a649 a656-a657 a708-a716 "
    "a71b-a727 a72d a730 a735 a789-a78e a790-a791 a7aa a7f8-a7f9 ab66 ab70-abbf fb00-fb4f "
    "fb52-fb81 fb8a-fb95 fb9e-fb9f fbaa-fbad fbe8-fbe9 fbfc-fbff fe00-fe0f fe20-fe2f fe66 "
    "fe70-fefc ffa0 fffc-fffd 10140-1018e 102e0-102fb 1d106-1d107 1d400-1d7ff 1ee00-1eef1 1f12f "
    "1f6d1 1f780-1f7eb 1f800-1f8b1"
)
"""Code points drawn by one of `FONTS`, as hexadecimal ranges."""


def covered() -> list[tuple[int, int]]:
    """Return the ranges of code points, first and last of each, in order."""
    pairs = (each.partition("-") for each in _RANGES.split())
    return [(int(first, 16), int(last or first, 16)) for first, _, last in pairs]


_COVERED = covered()
_FIRSTS = [first for first, _ in _COVERED]


def printable(text: str) -> str:
    """Return a text of characters that all can be drawn, nothing hidden in it."""
    shown = visible(text)
    if shown.isascii():
        return shown
    return "".join(each if _drawn(each) else f"<U+{ord(each):04X}>" for each in shown)


def _drawn(char: str) -> bool:
    if char.isspace():
        return True
    place = bisect_right(_FIRSTS, ord(char)) - 1
    return place >= 0 and ord(char) <= _COVERED[place][1]
