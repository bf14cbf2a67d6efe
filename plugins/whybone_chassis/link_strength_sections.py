"""Area and least second moment of the sections links are made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from whybone_chassis.answers import Reals

__all__ = ["SECTIONS", "Section"]

Size = tuple[Reals, Reals]


@dataclass(frozen=True, slots=True)
class Section:
    """A kind of section.

    Parameters
    ----------
    needs : tuple of str
        Inputs that tell its size.
    size : callable
        From these to area and least second moment.
    thickest : callable
        From these to the thickest wall there can be; infinite where there is no wall.
    """

    needs: tuple[str, ...]
    size: Callable[..., Size]
    thickest: Callable[..., Reals]


def _disc(diameter: Reals) -> Size:
    square = diameter * diameter
    return np.pi / 4.0 * square, np.pi / 64.0 * square * square


def _tube(diameter: Reals, wall: Reals) -> Size:
    area, moment = _disc(diameter)
    hole, hole_moment = _disc(diameter - 2.0 * wall)
    return area - hole, moment - hole_moment


def _rectangle(width: Reals, height: Reals) -> Size:
    thin, thick = np.minimum(width, height), np.maximum(width, height)
    return width * height, thick * thin * thin * thin / 12.0


def _box(width: Reals, height: Reals, wall: Reals) -> Size:
    area, moment = _rectangle(width, height)
    hole, hole_moment = _rectangle(width - 2.0 * wall, height - 2.0 * wall)
    return area - hole, moment - hole_moment


def _boundless(*sizes: Reals) -> Reals:
    return np.full_like(sizes[0], np.inf)


SECTIONS: Mapping[str, Section] = {
    "round": Section(("diameter",), _disc, _boundless),
    "tube": Section(("diameter", "wall"), _tube, lambda diameter, _: diameter / 2.0),
    "rectangle": Section(("width", "height"), _rectangle, _boundless),
    "box": Section(
        ("width", "height", "wall"),
        _box,
        lambda width, height, _: np.minimum(width, height) / 2.0,
    ),
    "profile": Section(
        ("profile_area", "profile_second_moment"), lambda area, moment: (area, moment), _boundless
    ),
}
"""Kind of section → what it needs and how large it is."""
