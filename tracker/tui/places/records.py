"""Where one finds items, writes them, and takes them in or out."""

from __future__ import annotations

from tracker.tui.blanks import KINDS_WRITTEN
from tracker.tui.places.place import Place
from tracker.tui.screens.filters import FilterScreen
from tracker.tui.screens.superseding import SupersedeScreen
from tracker.tui.screens.taking_in import TakeInScreen
from tracker.tui.screens.writing import AddScreen, WritingScreen
from tracker.tui.screens.writing_out import WriteOutScreen

__all__ = ["PLACES"]


def _add(_: str) -> AddScreen:
    return AddScreen()


def _amend(key: str) -> WritingScreen:
    return WritingScreen("", key)


def _filters(_: str) -> FilterScreen:
    return FilterScreen()


def _take_in(_: str) -> TakeInScreen:
    return TakeInScreen()


def _write_out(_: str) -> WriteOutScreen:
    return WriteOutScreen()


PLACES: tuple[Place, ...] = (
    Place(name="add", title="add an item", key="A", make=_add),
    Place(name="amend", title="amend this item", key="a", kinds=KINDS_WRITTEN, make=_amend),
    Place(
        name="supersede",
        title="let another decision take its place",
        key="p",
        kinds=("decision",),
        make=SupersedeScreen,
    ),
    Place(
        name="filters", title="what is broken, shifted, guessed, mine, due", key="J", make=_filters
    ),
    Place(name="take-in", title="take in a file", key="I", make=_take_in),
    Place(name="write-out", title="write a file", key="E", make=_write_out),
)
