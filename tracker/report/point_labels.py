"""Where the names of points stand in a drawing: beside the point, clear of other names."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["Spot", "spots"]

_CHAR, _HIGH = 6.1, 12.0
"""Mean width of a character, height of a line of text."""
_GAP = 4.0
_STEPS = 4
"""How many lines away from its point a name may stand."""
_SAME = 14.0
"""Points of one name that are nearer than this are named once."""

Spot = tuple[float, float, str, str]
"""Where a text stands, on which side it begins (start or end), and the text."""
_Box = tuple[float, float, float, float]


def spots(points: Iterable[tuple[float, float, str]], width: float) -> list[Spot]:
    """Place names beside points.

    Parameters
    ----------
    points : iterable of (x, y, text)
        The points with their names; y runs down.
    width : float
        Width of the sheet, which names do not leave while they have room on another side.

    Returns
    -------
    list of Spot
        Each at the nearest place where it is clear of the names before it, else at the nearest
        one within the sheet.
    """
    found: list[Spot] = []
    boxes: list[_Box] = []
    named: list[tuple[float, float, str]] = []
    for x, y, text in points:
        if any(text == name and abs(x - a) + abs(y - b) < _SAME for a, b, name in named):
            continue
        named.append((x, y, text))
        sides = [
            each for each in _sides(x, y, text) if _box(each)[0] >= 0 and _box(each)[2] <= width
        ]
        sides = sides or _sides(x, y, text)
        clear = [each for each in sides if not any(_meet(_box(each), other) for other in boxes)]
        best = (clear or sides)[0]
        found.append(best)
        boxes.append(_box(best))
    return found


def _sides(x: float, y: float, text: str) -> list[Spot]:
    """Give the places beside a point: above and below, right and left, nearest first."""
    return [
        (left_or_right, y + up_or_down, side, text)
        for step in range(_STEPS)
        for left_or_right, side in ((x + _GAP, "start"), (x - _GAP, "end"))
        for up_or_down in (-_GAP - step * _HIGH, _GAP + 8 + step * _HIGH)
    ]


def _box(spot: Spot) -> _Box:
    x, y, side, text = spot
    left = x if side == "start" else x - _CHAR * len(text)
    return left, y - _HIGH + 2, left + _CHAR * len(text), y + 2


def _meet(one: _Box, two: _Box) -> bool:
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]
