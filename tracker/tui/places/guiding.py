"""Where one learns the program."""

from __future__ import annotations

from tracker.tui.places.place import Place
from tracker.tui.screens.guide import GuideScreen

__all__ = ["PLACES"]


def _guide(_: str) -> GuideScreen:
    return GuideScreen()


PLACES: tuple[Place, ...] = (
    Place(name="guide", title="guide: five minutes in the demo", make=_guide),
)
