"""Which decisions each requirement depends on, and which decisions have to do with each other.

Followed through the records as stated, so a check whose binding does not hold still counts as a way
from a decision to a requirement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from tracker.errors import BadValueError
from tracker.evaluate.engine import Engine
from tracker.model.records import CheckUse, Decision, DecisionState, Requirement

__all__ = ["Scope", "Web", "decisions_in_play", "groups_of", "web_of"]

Scope = tuple[int, ...]
"""Decisions by their number among those in play, ascending."""


@dataclass(slots=True)
class Web:
    """What the decisions in play reach.

    Parameters
    ----------
    decisions : tuple of Decision
        Those in play; all else holds as at present.
    judges : dict of Scope to list of int
        Decisions that a requirement or rule depends on → positions in the graph's judges. What
        depends on none of them is left out.
    quantities : mapping of str to frozenset of int
        Quantity id → the decisions its value depends on.
    """

    decisions: tuple[Decision, ...]
    judges: dict[Scope, list[int]] = field(default_factory=dict)
    quantities: Mapping[str, frozenset[int]] = field(default_factory=dict)

    @property
    def sizes(self) -> list[int]:
        """Number of options of every decision."""
        return [len(each.options) for each in self.decisions]

    def names(self, scope: Iterable[int]) -> str:
        """Name decisions by their keys."""
        return ", ".join(self.decisions[each].key for each in scope)


def decisions_in_play(engine: Engine, *, leaning: bool) -> tuple[Decision, ...]:
    """Return the decisions whose options are still open.

    Parameters
    ----------
    leaning : bool
        Whether options that are only leant to are open as well.

    Raises
    ------
    BadValueError
        There are none, or one of them has no options.
    """
    states = {DecisionState.OPEN, DecisionState.LEANING} if leaning else {DecisionState.OPEN}
    found = tuple(each for each in engine.programme.of(Decision) if each.state in states)
    if not found:
        raise BadValueError(
            "no decision is open",
            field="decisions",
            remedy="Reopen one" if leaning else "Take in the leaning ones, or reopen one",
        )
    for each in found:
        if not each.options:
            remedy = f"Add one with `whybone amend {each.key} options=…`, or withdraw the decision"
            raise BadValueError(
                "an open decision has no options", item=each.key, field="options", remedy=remedy
            )
    return found


def web_of(engine: Engine, decisions: Sequence[Decision]) -> Web:
    """Follow decisions downstream."""
    reached: dict[str, frozenset[int]] = {}
    for number, each in enumerate(decisions):
        reached.update(dict.fromkeys(each.owns, frozenset({number})))
    _through_checks(engine, reached)
    web = Web(tuple(decisions), quantities=reached)
    for place, judge in enumerate(engine.graph.judges):
        record = engine.programme.get(judge.id)
        if isinstance(record, CheckUse):
            carrier = engine.programme.at(record.decision, Decision)
            live = carrier.state is not DecisionState.WITHDRAWN
            scope = reached.get(judge.id, frozenset()) if live else frozenset()
        else:
            scope = reached.get(engine.programme.at(judge.id, Requirement).quantity, frozenset())
        if scope:
            web.judges.setdefault(tuple(sorted(scope)), []).append(place)
    return web


def _through_checks(engine: Engine, reached: dict[str, frozenset[int]]) -> None:
    """Carry what reaches the inputs of every check over to it and its outputs."""
    for node in engine.graph.nodes:
        use = engine.programme.at(node.id, CheckUse)
        moving = [reached[each.id] for each in use.inputs.values() if each.id in reached]
        if moving:
            scope = frozenset().union(*moving)
            reached.update(dict.fromkeys((use.id, *use.outputs.values()), scope))


def groups_of(web: Web) -> list[Scope]:
    """Return the decisions that share findings, directly or by way of others, group by group."""
    import networkx as nx

    shared: nx.Graph[int] = nx.Graph()
    shared.add_nodes_from(range(len(web.decisions)))
    for scope in web.judges:
        shared.add_edges_from(pairwise(scope))
    return sorted(tuple(sorted(each)) for each in nx.connected_components(shared))
