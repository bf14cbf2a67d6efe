"""Shapes on a sheet: what figures are drawn with, whatever writes them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "ALLOWED",
    "AXES",
    "BOUND",
    "GRID",
    "INKS",
    "PRESENT",
    "Canvas",
    "Label",
    "Line",
    "Shape",
]

INKS = ("#0b5c63", "#a3410e", "#3f4fb3", "#6d2f8f", "#4f5d0a", "#374151", "#8a1f4b", "#1c6b36")
"""Colours of series, each at least 4.5 to 1 against white; dashes tell them apart too."""

AXES, GRID, BOUND, ALLOWED, PRESENT = -1, -2, -3, -4, -5
"""Inks of what is no series: axes, grid, the bounds of a band, the ground between them, and where
the design stands."""


@dataclass(frozen=True, slots=True)
class Line:
    """A polyline.

    Parameters
    ----------
    points : tuple of (x, y)
        Where it runs.
    ink : int
        Which series it belongs to, else one of the inks below zero.
    closed, filled : bool
        Whether it returns to its start; whether its inside is coloured.
    """

    points: tuple[tuple[float, float], ...]
    ink: int = AXES
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """A text; `align` is start, middle or end; `turned` runs upwards."""

    x: float
    y: float
    text: str
    align: str = "start"
    turned: bool = False


Shape = Line | Label


@dataclass(frozen=True, slots=True)
class Canvas:
    """Shapes on a sheet; y runs down."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
