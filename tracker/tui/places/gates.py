"""Where one prepares a gate."""

from __future__ import annotations

from tracker.tui.places.place import Place

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = ()
