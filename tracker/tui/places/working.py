"""Where one weighs and tries."""

from __future__ import annotations

from tracker.tui.places.place import Place
from tracker.tui.screens.trials import TrialsScreen
from tracker.tui.screens.weigh import WeighScreen

__all__ = ["PLACES"]


def _trials(_: str) -> TrialsScreen:
    return TrialsScreen()


PLACES: tuple[Place, ...] = (
    Place(name="trials", title="trials side by side", key="T", make=_trials),
    Place(name="weigh", title="options weighed", key="O", kinds=("decision",), make=WeighScreen),
)
