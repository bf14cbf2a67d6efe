"""What a number that may be moved has a say in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracker.explore.assessing import live_decisions
from tracker.explore.mend_goal import Goal
from tracker.explore.mend_ranges import Mover
from tracker.explore.trends import reach_of

__all__ = ["Reached", "reached"]


@dataclass(frozen=True, slots=True)
class Reached:
    """A number that may be moved, and what depends on it.

    Parameters
    ----------
    mover : Mover
        The number.
    decisions : tuple of str
        Decisions whose standing may depend on it.
    places : tuple of int
        Judges of these that it may move, as positions in the graph.
    certified : bool
        Whether each bound is proven to be crossed at most once.
    """

    mover: Mover
    decisions: tuple[str, ...]
    places: tuple[int, ...]
    certified: bool

    def covers(self, failing: Iterable[int]) -> bool:
        """Tell whether it may move all of some judges."""
        return set(failing) <= set(self.places)


def reached(goal: Goal, movers: Sequence[Mover]) -> list[Reached]:
    """Follow each number downstream."""
    return [_reached(goal, each) for each in movers]


def _reached(goal: Goal, mover: Mover) -> Reached:
    engine = goal.engine
    reach = reach_of(engine, mover.source)
    decisions = [each.id for each in live_decisions(engine) if reach.concerns(engine, each.id)]
    stakes = {place for each in decisions for place in engine.graph.stakes[each]}
    places = [place for place in stakes if engine.graph.judges[place].slot in reach.trends]
    answering = all(engine.state.blocks[place] is None for place in reach.answers)
    certified = answering and all(reach.certifies(engine, each) for each in decisions)
    return Reached(mover, tuple(decisions), tuple(sorted(places)), certified)
