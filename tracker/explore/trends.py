"""What the declarations of the checks prove about the way from a source to a decision.

A slot that rises or falls throughout with a source leaves its band at most once on each side, so
one look at both ends of a stretch settles all of it. Where a check on the way declares nothing, its
outputs may do anything.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from tracker.contract.check import DeclaresTrends
from tracker.evaluate.binding import Emit, Gather
from tracker.evaluate.engine import Engine
from tracker.evaluate.graph import Judge, Node
from tracker.explore.sources import Source
from tracker.model.records import Quantity
from tracker.model.values import AXES, Kind

__all__ = ["Reach", "reach_of"]

Trend = int | None
"""1 rises, −1 falls, 0 stays, None: may do anything, as the source rises."""
Trends = tuple[Trend, ...]
"""One for each component."""


@dataclass(slots=True)
class Reach:
    """What a source moves, and how.

    Parameters
    ----------
    source : Source
        What moves.
    trends : dict of int to Trends
        Slots that may move.
    answers : dict of int to bool
        Checks that may run, by position in the graph's nodes: whether the stretch over which they
        give everything is proven to be of one piece.
    """

    source: Source
    trends: dict[int, Trends] = field(default_factory=dict)
    answers: dict[int, bool] = field(default_factory=dict)

    def concerns(self, engine: Engine, decision_id: str) -> bool:
        """Tell whether a decision's standing may depend on the source."""
        graph = engine.graph
        return any(place in self.answers for place in graph.carried_at[decision_id]) or any(
            self._touches(graph.judges[place]) for place in graph.stakes[decision_id]
        )

    def _touches(self, judge: Judge) -> bool:
        return judge.slot in self.trends or judge.id == self.source.id

    def certifies(self, engine: Engine, decision_id: str) -> bool:
        """Tell whether the values at which a decision stands are proven to be of one piece."""
        graph = engine.graph
        return all(
            self.answers.get(place, True) for place in graph.carried_at[decision_id]
        ) and all(self._one_piece(graph.judges[place]) for place in graph.stakes[decision_id])

    def _one_piece(self, judge: Judge) -> bool:
        trend = self.trends.get(judge.slot, (0,))[0]
        if judge.id == self.source.id:  # its own bound moves: the value must not run after it
            return trend in (0, -1)
        return trend is not None


def reach_of(engine: Engine, source: Source) -> Reach:
    """Follow a source downstream."""
    reach = Reach(source)
    _start(engine, source, reach)
    for place, node in enumerate(engine.graph.nodes):
        moving = [gather for gather in node.gathers if gather.slot in reach.trends]
        if moving:
            _through(engine, node, place, moving, reach)
    return reach


def _start(engine: Engine, source: Source, reach: Reach) -> None:
    graph = engine.graph
    record = engine.programme.get(source.id)
    if not isinstance(record, Quantity):
        if (source.id, source.part) in graph.index:
            reach.trends[graph.index[source.id, source.part]] = (1,)
        return
    whole: Trends = (1,)
    if source.part:
        whole = tuple(int(axis == source.part) for axis in AXES) if source.part in AXES else (None,)
    slot = graph.index[source.id, ""]
    reach.trends[slot] = whole
    for part_slot, part in graph.parts.get(slot, ()):
        if part == source.part:
            reach.trends[part_slot] = (1,)
        elif part not in AXES:  # perhaps the same cell by another name
            reach.trends[part_slot] = (None,)


def _through(
    engine: Engine, node: Node, place: int, moving: Sequence[Gather], reach: Reach
) -> None:
    """Carry the trends of a check's moving inputs over to its outputs."""
    inputs = list(_components(moving, reach))
    reach.answers[place] = all(
        trend is not None and _promised(node, name) for name, trend in inputs
    )
    for emit in node.emits:
        trends = tuple(_trend(node, emit, name, inputs) for name in _names(emit))
        reach.trends[emit.slot] = trends  # one that stays may still lose its value
        for slot, part in engine.graph.parts.get(emit.slot, ()):
            reach.trends[slot] = (trends[AXES.index(part)],)


def _components(moving: Sequence[Gather], reach: Reach) -> Iterator[tuple[str, Trend]]:
    """Give the inputs that move, components by themselves, with their trends."""
    for gather in moving:
        trends = reach.trends[gather.slot]
        names = [gather.port] if len(trends) == 1 else [f"{gather.port}.{axis}" for axis in AXES]
        yield from ((name, each) for name, each in zip(names, trends, strict=True) if each != 0)


def _names(emit: Emit) -> list[str]:
    return [emit.port] if len(emit.shape) == 1 else [f"{emit.port}.{axis}" for axis in AXES]


def _trend(node: Node, emit: Emit, output: str, inputs: Sequence[tuple[str, Trend]]) -> Trend:
    found = 0
    for name, trend in inputs:
        declared = _declared(node, output, name)
        if trend is None or declared is None:
            return None
        each = trend * declared
        if found * each < 0:
            return None
        found = found or each
    return None if found and emit.codes else found


def _promised(node: Node, name: str) -> bool:
    return any(
        _declared(node, output, name) is not None for emit in node.emits for output in _names(emit)
    )


def _declared(node: Node, output: str, name: str) -> Trend:
    loaded = node.loaded
    assert loaded is not None  # noqa: S101 - a check that is not bound reads nothing
    if loaded.inputs[name.partition(".")[0]].kind in (Kind.TABLE, Kind.CHOICE):
        return None
    check = loaded.check
    return (
        check.monotone(output, name, loaded.config) if isinstance(check, DeclaresTrends) else None
    )
