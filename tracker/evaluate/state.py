"""What the engine computes, what an edit did to it, and what survives a new graph."""

from __future__ import annotations

from dataclasses import dataclass, field

from tracker.evaluate.footing import Shift
from tracker.evaluate.graph import Graph, Node
from tracker.evaluate.slots import Slot, Unknown, same
from tracker.evaluate.standing import Finding, Standing, StandingOf

__all__ = ["PENDING", "Report", "State", "carried_over", "report_between"]

PENDING = Unknown("not evaluated yet", "")


@dataclass(slots=True)
class State:
    """Everything computed.

    Parameters
    ----------
    slots : list of Slot
        By slot number.
    findings : list of Finding
        By position in the graph's judges.
    blocks : list of Unknown or None
        By position in the graph's nodes: why the check gave nothing.
    standings : dict
        Decision id → standing; withdrawn ones are missing.
    shifts : dict
        Decision id → what moved under it; empty ones are missing.
    """

    slots: list[Slot] = field(default_factory=list)
    findings: list[Finding | None] = field(default_factory=list)
    blocks: list[Unknown | None] = field(default_factory=list)
    standings: dict[str, StandingOf] = field(default_factory=dict)
    shifts: dict[str, tuple[Shift, ...]] = field(default_factory=dict)


@dataclass(slots=True)
class Report:
    """What an edit did.

    Parameters
    ----------
    ran : list of str
        Ids of the checks whose compute was called, in order.
    recalled : list of str
        Ids of the checks whose outputs were recalled from an earlier run.
    rebound : list of str
        Ids of the checks that are new, bound otherwise, or loaded otherwise than before.
    slots : dict
        (record id, part) → slot before, for every slot that changed.
    findings : dict
        (judge id, rule output) → finding before.
    standings, shifts : dict
        Decision id → before.
    """

    ran: list[str] = field(default_factory=list)
    recalled: list[str] = field(default_factory=list)
    rebound: list[str] = field(default_factory=list)
    slots: dict[tuple[str, str], Slot | None] = field(default_factory=dict)
    findings: dict[tuple[str, str], Finding | None] = field(default_factory=dict)
    standings: dict[str, StandingOf | None] = field(default_factory=dict)
    shifts: dict[str, tuple[Shift, ...]] = field(default_factory=dict)


_Whole = tuple[Graph, State]


def carried_over(before: _Whole, graph: Graph) -> tuple[State, list[bool]]:
    """Start the state of a new graph from what still holds of the old one.

    Returns
    -------
    state : State
        Slots of the same address and blocks of kept checks; the rest is pending.
    kept : list of bool
        By position in the graph's nodes: whether its stored outputs hold as long as no input moves.
    """
    old_graph, old = before
    held_at = map(old_graph.index.get, graph.keys)
    state = State(
        slots=[PENDING if slot is None else old.slots[slot] for slot in held_at],
        findings=[None] * len(graph.judges),
        blocks=[None] * len(graph.nodes),
    )
    kept = [False] * len(graph.nodes)
    for place, node in enumerate(graph.nodes):
        held = old_graph.position.get(node.id)
        if held is not None and _alike(old_graph.nodes[held], node, old_graph, graph):
            kept[place] = True
            state.blocks[place] = old.blocks[held]
    return state, kept


def _alike(before: Node, after: Node, old_graph: Graph, graph: Graph) -> bool:
    return before.signature == after.signature and [
        old_graph.keys[slot] for slot in before.outputs
    ] == [graph.keys[slot] for slot in after.outputs]


def report_between(report: Report, before: _Whole, after: _Whole) -> None:
    """Fill a report with what differs between two whole states."""
    (old_graph, old), (graph, state) = before, after
    for key, slot in graph.index.items():
        held = old.slots[old_graph.index[key]] if key in old_graph.index else None
        now = state.slots[slot]
        if held is not now and (held is None or not same(held, now)):  # most were carried over
            report.slots[key] = held
    olds = {_name(old_graph, place): each for place, each in enumerate(old.findings)}
    for place, finding in enumerate(state.findings):
        name = _name(graph, place)
        if olds.get(name) != finding:
            report.findings[name] = olds.get(name)
    for each in {**old.standings, **state.standings}:
        held_standing = old.standings.get(each)
        if _named(old_graph, held_standing) != _named(graph, state.standings.get(each)):
            report.standings[each] = held_standing
    for each in {**old.shifts, **state.shifts}:
        if old.shifts.get(each) != state.shifts.get(each):
            report.shifts[each] = old.shifts.get(each, ())


def _name(graph: Graph, place: int) -> tuple[str, str]:
    judge = graph.judges[place]
    return judge.id, judge.output


_Named = tuple[Standing, tuple[tuple[str, str], ...], Unknown | None]


def _named(graph: Graph, standing: StandingOf | None) -> _Named | None:
    """Put a standing in terms that do not depend on positions in a graph."""
    if standing is None:
        return None
    culprits = tuple(_name(graph, place) for place in standing.culprits)
    return standing.standing, culprits, standing.unset
