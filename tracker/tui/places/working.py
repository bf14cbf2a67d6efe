"""Where one weighs and tries."""

from __future__ import annotations

from tracker.tui.places.place import Place

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = ()
