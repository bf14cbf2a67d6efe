"""Where one asks how far, how likely, what drives and what mends."""

from __future__ import annotations

from tracker.tui.places.place import Place
from tracker.tui.screens.drivers import DriversScreen
from tracker.tui.screens.headroom import HeadroomScreen
from tracker.tui.screens.mending import MendScreen
from tracker.tui.screens.option_sets import SetsScreen
from tracker.tui.screens.spread import SpreadScreen

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = (
    Place(
        name="headroom",
        title="headroom: how far it may move",
        key="H",
        kinds=("quantity", "requirement", "decision"),
        make=HeadroomScreen,
    ),
    Place(
        name="drivers",
        title="drivers: what its verdict depends on most",
        key="D",
        kinds=("requirement",),
        make=DriversScreen,
    ),
    Place(
        name="mend",
        title="mend: what would make it stand again",
        key="M",
        kinds=("decision",),
        make=MendScreen,
    ),
    Place(
        name="spread",
        title="spread: how likely it is to stand",
        key="S",
        kinds=("decision",),
        make=SpreadScreen,
    ),
    Place(
        name="all_headroom",
        title="headroom: how far each value may move",
        key="H",
        make=HeadroomScreen,
    ),
    Place(
        name="all_mend",
        title="mend: what would make all that is broken stand again",
        key="M",
        make=MendScreen,
    ),
    Place(
        name="all_spread",
        title="spread: how likely each decision is to stand",
        key="S",
        make=SpreadScreen,
    ),
    Place(
        name="sets",
        title="option sets: which combinations of options are alive",
        key="P",
        make=lambda _: SetsScreen(),
    ),
)
