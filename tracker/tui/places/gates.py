"""Where one prepares a gate."""

from __future__ import annotations

from tracker.tui.places.place import Place
from tracker.tui.screens.gate import GateScreen

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = (
    Place(
        name="gate",
        title="readiness, freezing and packs of this gate",
        key="G",
        kinds=("gate",),
        make=GateScreen,
    ),
    Place(
        name="gates", title="the next gate: readiness, freezing, packs", key="G", make=GateScreen
    ),
)
