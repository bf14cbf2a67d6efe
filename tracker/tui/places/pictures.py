"""Where one looks instead of reading."""

from __future__ import annotations

from tracker.tui.places.place import Place
from tracker.tui.screens.curves import CurvesScreen
from tracker.tui.screens.matrix import MatrixScreen
from tracker.tui.screens.neighbours import NeighboursScreen
from tracker.tui.screens.sketch import SketchScreen
from tracker.tui.screens.timeline import TimelineScreen

__all__ = ["PLACES"]

PLACES: tuple[Place, ...] = (
    Place(
        name="curves",
        title="curves and sketches of its checks",
        key="C",
        kinds=("check", "requirement", "decision", "quantity"),
        make=CurvesScreen,
    ),
    Place(
        name="sketch",
        title="corner from three sides, its points to be moved",
        key="V",
        kinds=("check", "requirement", "decision", "quantity"),
        make=SketchScreen,
    ),
    Place(
        name="neighbours",
        title="neighbourhood in the graph",
        key="N",
        kinds=("check", "requirement", "decision", "quantity", "gate"),
        make=NeighboursScreen,
    ),
    Place(
        name="matrix",
        title="dependency matrix of decisions and checks",
        key="X",
        make=lambda _: MatrixScreen(),
    ),
    Place(
        name="timeline",
        title="timeline of the journal and the gates",
        key="L",
        make=lambda _: TimelineScreen(),
    ),
)
