"""Moving a point of the vehicle step by step: the trial it makes, and what the trial draws."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.errors import InputError
from tracker.evaluate.engine import Cancel
from tracker.services.change_views import Ripple
from tracker.services.intake import Document
from tracker.services.item import item_page
from tracker.services.pictures.corner import corner, try_corner
from tracker.services.pictures.views import CornerView, PointView
from tracker.services.session import Session
from tracker.tui.plain import plain
from tracker.tui.settable import Settable, settables

__all__ = ["STEPS", "Asked", "Cornered", "along", "draw_corner", "nudged", "typed_at"]

STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
"""Steps to move a point by, in the sketch's unit."""

_AXES = "xyz"
_DIGITS = 9
Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is to be drawn.

    Parameters
    ----------
    key : str
        The item, or the check known to draw it.
    show : tuple of str
        Checks whose curves are wanted.
    edits, documents
        The trial.
    held : Cornered or None
        What was drawn before: what is stored is only drawn again where it moved.
    """

    key: str
    show: tuple[str, ...] = ()
    edits: Mapping[str, str]
    documents: Sequence[Document] = ()
    held: Cornered | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cornered:
    """A corner as stored and under the trial.

    Parameters
    ----------
    show : tuple of str
        Checks whose curves were wanted.
    tried, ripple
        Under the trial; None where nothing is tried or the trial does not hold.
    why : str
        Why the trial is not drawn.
    settables : mapping of str to Settable
        What the trial takes in for each point, by address.
    """

    show: tuple[str, ...]
    stored: CornerView
    tried: CornerView | None = None
    ripple: Ripple | None = None
    why: str = ""
    settables: Mapping[str, Settable]


def draw_corner(session: Session, asked: Asked, cancel: Cancel | None = None) -> Cornered:
    """Draw a corner and what depends on it."""
    held = asked.held
    if held is None or held.stored.revision != session.head.revision:
        stored = corner(session, asked.key, asked.show)
        found: Mapping[str, Settable] = dict(_settables(session, stored.points))
    else:
        same = held.show == asked.show
        stored = held.stored if same else corner(session, held.stored.check, asked.show)
        found = held.settables
    drawn = Cornered(show=asked.show, stored=stored, settables=found)
    if not (asked.edits or asked.documents):
        return drawn
    key = stored.check or asked.key
    try:
        tried, ripple = try_corner(session, key, asked.edits, asked.documents, asked.show, cancel)
    except InputError as error:
        return replace(drawn, why=plain(error))
    return replace(drawn, tried=tried, ripple=ripple)


def _settables(session: Session, points: Iterable[PointView]) -> Iterable[tuple[str, Settable]]:
    """Yield what a trial takes in for each point that can be moved."""
    wanted = {each.address for each in points if each.address}
    for item in dict.fromkeys(address.partition("/")[0] for address in sorted(wanted)):
        for each in settables(item_page(session, item)):
            if each.address in wanted:
                yield each.address, each


def along(axis: str) -> tuple[int, float]:
    """Return the component that an axis of a sketch shows, and its sense."""
    return _AXES.index(axis[-1]), -1.0 if axis.startswith("-") else 1.0


def nudged(at: Point, axis: str, by: float) -> Point:
    """Return a point moved along an axis of a sketch."""
    component, sense = along(axis)
    moved = list(at)
    moved[component] = round(moved[component] + sense * by, _DIGITS)
    return moved[0], moved[1], moved[2]


def typed_at(own: Point, unit: str) -> str:
    """Write a point as it would be typed."""
    numbers = ", ".join(f"{each:.10g}" for each in own)
    return f"[{numbers}] {unit}".strip()
