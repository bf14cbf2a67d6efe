"""Figures as data: what terminal, HTML and PDF draw alike."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Axis", "Figure", "FigureKind", "Series"]


class FigureKind(StrEnum):
    """How a figure is meant to be drawn."""

    CURVE = "curve"
    SKETCH = "sketch"
    BARS = "bars"
    LISTING = "listing"


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis with its title and unit text.

    Parameters
    ----------
    port : str
        Port of the check that the axis shows, in the port's unit: where that stands is marked, and
        the bands it is judged against are shaded. Empty where it shows none.
    now : float or None
        Where the present design is on the axis, when no port tells.
    along : str
        Of a sketch of the vehicle: the vehicle axis it runs along, `x`, `-y` or `z`.
    """

    title: str
    unit: str = ""
    port: str = ""
    now: float | None = None
    along: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One line of a curve, one polyline of a sketch, one group of bars or one listing column.

    Parameters
    ----------
    title : str
        Legend entry or column head.
    x, y : tuple of float
        Coordinates; for bars `y` holds the heights, for a listing both are empty.
    labels : tuple of str
        Bar names, point names, or the cells of a listing column.
    closed : bool
        Whether a sketch polyline returns to its first point.
    """

    title: str
    x: tuple[float, ...] = ()
    y: tuple[float, ...] = ()
    labels: tuple[str, ...] = ()
    closed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure of a check.

    Parameters
    ----------
    key, title : str
        Stable name and heading.
    kind : FigureKind
        How to draw it.
    series : tuple of Series
        What to draw.
    across, up : Axis
        Horizontal and vertical axis (a sketch keeps both to one scale).
    """

    key: str
    title: str
    kind: FigureKind
    series: tuple[Series, ...]
    across: Axis = Axis("")
    up: Axis = Axis("")
