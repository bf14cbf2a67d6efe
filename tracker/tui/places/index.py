"""All places, for the app and for item pages."""

from __future__ import annotations

from collections.abc import Mapping

from tracker.tui.places import exploring, gates, guiding, pictures, records, working
from tracker.tui.places.place import Place

__all__ = ["ANYWHERE", "BY_NAME", "OF_ITEMS", "places_from"]

_PLACES = (
    *exploring.PLACES,
    *pictures.PLACES,
    *gates.PLACES,
    *records.PLACES,
    *working.PLACES,
    *guiding.PLACES,
)

ANYWHERE: tuple[Place, ...] = tuple(each for each in _PLACES if not each.kinds)
"""Reached from every screen."""

OF_ITEMS: tuple[Place, ...] = tuple(each for each in _PLACES if each.kinds)
"""Reached from the pages of some kinds of item."""

BY_NAME: Mapping[str, Place] = {each.name: each for each in _PLACES}


def places_from(kind: str) -> tuple[Place, ...]:
    """Return what is reached from the page of an item of a kind; nothing but the rest for none."""
    return (*(each for each in OF_ITEMS if kind in each.kinds), *ANYWHERE)
