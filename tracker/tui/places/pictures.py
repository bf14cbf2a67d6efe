"""Where one looks instead of reading."""

from __future__ import annotations

from tracker.tui.places.place import Place

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = ()
