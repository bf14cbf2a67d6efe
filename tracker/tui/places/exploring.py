"""Where one asks how far, how likely, what drives and what mends."""

from __future__ import annotations

from tracker.tui.places.place import Place
from tracker.tui.screens.comparing import CompareScreen
from tracker.tui.screens.drivers import DriversScreen
from tracker.tui.screens.headroom import HeadroomScreen
from tracker.tui.screens.mending import MendScreen
from tracker.tui.screens.option_sets import SetsScreen
from tracker.tui.screens.reasons import ReasonsScreen
from tracker.tui.screens.revisions import EarlierScreen
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
        name="why",
        title="why it is not met any more",
        key="W",
        kinds=("requirement",),
        make=ReasonsScreen,
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
        title="spread: how likely it holds",
        key="S",
        kinds=("decision", "requirement"),
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
    Place(
        name="compare",
        title="two revisions compared",
        key="K",
        make=lambda _: CompareScreen(),
    ),
    Place(
        name="earlier",
        title="an earlier revision, to look at as it was",
        make=lambda _: EarlierScreen(),
    ),
)
