"""Margins as bars of text: a bound, what lies inside it to the right, what lies outside to the left.

The sides differ by direction and by fill, so a bar reads in greyscale and in ASCII.
"""

from __future__ import annotations

from tracker.tui.face import Face

__all__ = ["BAR_WIDTH", "margin_bar", "share_bar"]

_OUTSIDE, _INSIDE = 6, 12
BAR_WIDTH = _OUTSIDE + 1 + _INSIDE
"""Cells of a margin bar."""

_PER_CELL = 1 / _INSIDE


def margin_bar(margin: float | None, face: Face) -> str:
    """Draw a margin; what is beyond either end of the bar ends in an arrow.

    Parameters
    ----------
    margin : float or None
        Share of the band's scale, negative outside; None draws a question mark.
    face : Face
        Decides between the two sets of characters.

    Returns
    -------
    str
        `BAR_WIDTH` cells.
    """
    inside, outside, bound = ("=", "x", "|") if face.ascii_only else ("█", "▓", "│")
    left, right = ("<", ">") if face.ascii_only else ("◂", "▸")
    if margin is None:
        return " " * _OUTSIDE + "?" + " " * _INSIDE
    if margin < 0:
        cells = max(1, round(-margin / _PER_CELL))
        bar = left + outside * (_OUTSIDE - 1) if cells > _OUTSIDE else outside * cells
        return bar.rjust(_OUTSIDE) + bound + " " * _INSIDE
    cells = round(margin / _PER_CELL)
    bar = inside * (_INSIDE - 1) + right if cells > _INSIDE else inside * cells
    return " " * _OUTSIDE + bound + bar.ljust(_INSIDE)


def share_bar(value: float, largest: float, width: int, face: Face) -> str:
    """Draw a height as a share of the largest, over at most `width` cells."""
    if not largest > 0 or not abs(value) <= largest:
        return ""
    fill = "=" if face.ascii_only else "█"
    return fill * round(abs(value) / largest * width)
