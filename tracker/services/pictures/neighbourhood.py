"""An item among its neighbours, several steps deep: what it hangs on and what hangs on it.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.pictures.neighbourhood import neighbourhood

    session = open_session("programme.db")
    for each in neighbourhood(session, "SENS-1", depth=2).below:
        print("  " * each.depth, each.link.key, each.link.role)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tracker.model.records import Decision, Record, kind_of
from tracker.services.finding import found
from tracker.services.links import downstream, upstream
from tracker.services.session import Reading
from tracker.services.views import LinkView

__all__ = ["MOST_DEPTH", "NeighbourhoodView", "NodeView", "neighbourhood"]

MOST_DEPTH = 5
_MOST = 2000
"""Neighbours of one side shown at most: beyond, a list says more than a picture."""

_Step = Callable[[Reading, Record], tuple[LinkView, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeView:
    """A neighbour.

    Parameters
    ----------
    depth : int
        Steps from the item in the middle, from 1.
    again : bool
        Whether it is shown further up already, with its own neighbours.
    shifted : bool
        Whether it is a settled decision whose ground moved.
    """

    link: LinkView
    depth: int
    again: bool
    shifted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NeighbourhoodView:
    """An item in the middle of its neighbours.

    Parameters
    ----------
    above, below : tuple of NodeView
        What it hangs on and what hangs on it: each neighbour followed by its own, one step deeper.
    cut : bool
        Whether there are more than are shown.
    """

    revision: int
    kind: str
    key: str
    depth: int
    above: tuple[NodeView, ...]
    below: tuple[NodeView, ...]
    cut: bool


def neighbourhood(reading: Reading, key: str, depth: int = 1) -> NeighbourhoodView:
    """Return an item's neighbours, up to some steps away.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = found(reading, key)
    steps = min(max(depth, 1), MOST_DEPTH)
    above = tuple(_walk(reading, record, upstream, steps))
    below = tuple(_walk(reading, record, downstream, steps))
    return NeighbourhoodView(
        revision=reading.head.revision,
        kind=kind_of(record),
        key=record.key,
        depth=steps,
        above=above[:_MOST],
        below=below[:_MOST],
        cut=max(len(above), len(below)) > _MOST,
    )


def _walk(reading: Reading, record: Record, step: _Step, depth: int) -> Iterator[NodeView]:
    """Yield neighbours depth first, each with its own below it where it comes up first."""
    seen = {record.key}
    shifts = reading.engine.state.shifts
    waiting = [(each, 1) for each in reversed(_apart(step(reading, record)))]
    shown = 0
    while waiting and shown <= _MOST:
        link, at = waiting.pop()
        again = link.key in seen
        other = reading.programme.find(link.key)
        shifted = isinstance(other, Decision) and other.id in shifts
        yield NodeView(link=link, depth=at, again=again, shifted=shifted)
        shown += 1
        seen.add(link.key)
        if not again and at < depth and other is not None:
            deeper = _apart(step(reading, other))
            waiting += [(each, at + 1) for each in reversed(deeper)]


def _apart(links: tuple[LinkView, ...]) -> list[LinkView]:
    """Return one link for each neighbour, its roles joined."""
    joined: dict[str, LinkView] = {}
    for each in links:
        held = joined.get(each.key)
        if held is None:
            joined[each.key] = each
        else:
            joined[each.key] = LinkView(
                key=each.key,
                kind=each.kind,
                title=each.title,
                role=f"{held.role}, {each.role}",
                text=each.text,
            )
    return list(joined.values())
