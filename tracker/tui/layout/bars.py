"""Margins as bars of text: a bound, the inside to its right, the outside to its left.

The sides differ by direction and by fill, so a bar reads in greyscale and in ASCII.
"""

from __future__ import annotations

from tracker.services.views import FindingView
from tracker.tui.face import Face

__all__ = ["BAR_WIDTH", "finding_bar", "margin_bar", "share_bar"]

_OUTSIDE, _INSIDE = 6, 12
BAR_WIDTH = _OUTSIDE + 1 + _INSIDE
"""Cells of a margin bar."""

_PER_CELL = 1 / _INSIDE
_ROUNDING = 1e-9
_EIGHTHS = "▏▎▍▌▋▊▉"


def finding_bar(finding: FindingView, face: Face) -> str:
    """Draw a finding's margin; blank where a verdict has none, a question mark where it is open."""
    if face.spoken or (finding.margin is None and finding.verdict != "unknown"):
        return " " * BAR_WIDTH
    return margin_bar(finding.margin, face)


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
    beyond = margin > 1.0 + _ROUNDING
    bar = inside * (_INSIDE - 1) + right if beyond else _filled(margin / _PER_CELL, face)
    return " " * _OUTSIDE + bound + bar.ljust(_INSIDE)


def _filled(cells: float, face: Face) -> str:
    """Fill cells, the last one by as many eighths as there are characters for."""
    if face.ascii_only:
        return "=" * round(cells)
    whole, part = divmod(round(cells * 8), 8)
    return "█" * whole + (_EIGHTHS[part - 1] if part else "")


def share_bar(value: float, largest: float, width: int, face: Face) -> str:
    """Draw a height as a share of the largest, over at most `width` cells."""
    if face.spoken or not largest > 0 or not abs(value) <= largest:
        return ""
    return _filled(abs(value) / largest * width, face)
