"""Where one asks how far, how likely, what drives and what mends."""

from __future__ import annotations

from tracker.tui.places.place import Place

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = ()
