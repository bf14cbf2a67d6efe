"""What it takes to reach a screen."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from textual.binding import Binding

from tracker.tui.screens.page import Page

__all__ = ["Place", "place_bindings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A screen that is reached by a key, from the list of views and by name.

    Parameters
    ----------
    name : str
        One word, used in actions.
    title : str
        What the key help and the list of views call it; lower case.
    key : str
        The key that opens it; empty when it has none.
    kinds : tuple of str
        Kinds of item whose pages lead there; empty when it is reached from anywhere.
    make : callable
        Makes the screen from the key of the item it is opened from, which is empty for a place
        that is reached from anywhere.
    """

    name: str
    title: str
    make: Callable[[str], Page]
    key: str = ""
    kinds: tuple[str, ...] = ()


def place_bindings(places: Iterable[Place]) -> list[Binding]:
    """Return the bindings of the places that have a key."""
    return [
        Binding(each.key, f"place('{each.name}')", each.title, show=False)
        for each in places
        if each.key
    ]
