"""Where one writes items and takes them in or out."""

from __future__ import annotations

from tracker.tui.places.place import Place

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = ()
