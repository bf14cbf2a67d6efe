"""Partition of a dependency matrix: what can be done in order, and what must be done together.

Items that depend on each other, directly or in a ring, form a block. Blocks are put into an order
in which each comes after all it depends on, level by level: a level holds the blocks that depend
only on levels before it, so blocks of one level are independent of each other. That is the
partition of Gebala and Eppinger (Methods for Analyzing Design Procedures, ASME Design Theory and
Methodology, 1991), found with the strongly connected components of Tarjan (Depth-First Search and
Linear Graph Algorithms, 1972).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from typing import Generic, TypeVar

__all__ = ["Block", "partition"]

T = TypeVar("T", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Block(Generic[T]):
    """Items that have to be settled together; one alone where it depends on none in a ring.

    Parameters
    ----------
    items : tuple
        Its items: each time the one that lacks fewest of the others not yet named, in the given
        order where they lack as many.
    level : int
        0 for a block that depends on nothing; else one more than the highest it depends on.
    """

    items: tuple[T, ...]
    level: int


def partition(needs: Mapping[T, AbstractSet[T]]) -> tuple[Block[T], ...]:
    """Put items into blocks, and the blocks into an order that respects what each needs.

    Parameters
    ----------
    needs : mapping
        Item → the items it needs. What is no item itself, and the item itself, does not count.

    Returns
    -------
    tuple of Block
        By level, then in the order the items were given.
    """
    order = {item: place for place, item in enumerate(needs)}
    rings = _rings(needs, order)
    ring_of = {item: number for number, ring in enumerate(rings) for item in ring}
    levels: list[int] = []
    for number, ring in enumerate(rings):  # a ring comes after all it needs
        below = {ring_of[each] for item in ring for each in needs[item] if each in order}
        levels.append(max((levels[each] + 1 for each in below if each != number), default=0))
    blocks = [
        Block(_inside(ring, needs, order), level) for ring, level in zip(rings, levels, strict=True)
    ]
    return tuple(
        sorted(blocks, key=lambda block: (block.level, min(order[each] for each in block.items)))
    )


def _inside(
    ring: Sequence[T], needs: Mapping[T, AbstractSet[T]], order: Mapping[T, int]
) -> tuple[T, ...]:
    """Order the items of a block: next comes the one that lacks fewest of the others."""
    members = set(ring)
    lacks = {item: len((members - {item}) & needs[item]) for item in ring}
    needed_by: dict[T, list[T]] = {item: [] for item in ring}
    for item in ring:
        for each in (members - {item}) & needs[item]:
            needed_by[each].append(item)
    queue = [(lacks[item], order[item], item) for item in ring]
    heapify(queue)
    placed: dict[T, None] = {}
    while queue:
        count, _, item = heappop(queue)
        if item in placed or count != lacks[item]:
            continue  # it lacks fewer by now, and stands in the queue again
        placed[item] = None
        for each in needed_by[item]:
            lacks[each] -= 1
            heappush(queue, (lacks[each], order[each], each))
    return tuple(placed)


def _rings(needs: Mapping[T, AbstractSet[T]], order: Mapping[T, int]) -> list[list[T]]:
    """Return the strongly connected components, each after those it needs (Tarjan, 1972).

    The walk keeps its own stack, so that a chain of any length can be walked.
    """
    found: dict[T, int] = {}
    lowest: dict[T, int] = {}
    held: dict[T, None] = {}
    rings: list[list[T]] = []
    for root in needs:
        if root in found:
            continue
        walk = [(root, iter(_known(root, needs, order)))]
        found[root] = lowest[root] = len(found)
        held[root] = None
        while walk:
            item, rest = walk[-1]
            fresh = next((each for each in rest if each not in found or each in held), None)
            if fresh is None:
                walk.pop()
                if walk:
                    above = walk[-1][0]
                    lowest[above] = min(lowest[above], lowest[item])
                if lowest[item] == found[item]:
                    rings.append(_taken(held, item))
            elif fresh in found:
                lowest[item] = min(lowest[item], found[fresh])
            else:
                found[fresh] = lowest[fresh] = len(found)
                held[fresh] = None
                walk.append((fresh, iter(_known(fresh, needs, order))))
    return rings


def _known(item: T, needs: Mapping[T, AbstractSet[T]], order: Mapping[T, int]) -> list[T]:
    """Return what an item needs, in the given order: the result does not depend on hashes."""
    return sorted((each for each in needs[item] if each in order), key=order.__getitem__)


def _taken(held: dict[T, None], first: T) -> list[T]:
    """Take everything held since an item, the item included."""
    ring: list[T] = []
    while True:
        item, _ = held.popitem()
        ring.append(item)
        if item == first:
            return ring
