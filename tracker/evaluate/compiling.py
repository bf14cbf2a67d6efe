"""Compiling a programme into its graph.

Compiling depends only on the structure of a programme (kinds, units, bindings, links); values come
in later. It never fails on a binding that no longer holds: such a check carries its fault and its
outputs are unknown. Only a ring of checks is refused.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from graphlib import CycleError as RingError
from graphlib import TopologicalSorter
from typing import Any

from tracker.errors import BindingError, CycleError, InputError
from tracker.evaluate.binding import (
    Emit,
    Gather,
    Measure,
    RuleBand,
    emit_for,
    gather_for,
    literal_array,
    measure_of,
    rule_band,
    use_signature,
)
from tracker.evaluate.deviations import covers_in_force
from tracker.evaluate.graph import Graph, Judge, Node
from tracker.evaluate.plugin import Loaded, Loader
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, DecisionState, Quantity, Ref, Requirement

__all__ = ["compile_graph"]


def compile_graph(programme: Programme, loader: Loader) -> Graph:
    """Compile a programme.

    Raises
    ------
    CycleError
        Checks feed each other in a ring; the path is named.
    """
    graph = Graph()
    for quantity in programme.of(Quantity):
        graph.slot(quantity.id)
    _link_decisions(graph, programme)
    currency = programme.info.currency if programme.info else ""
    nodes = [
        _compile_check(graph, programme, loader, currency, use) for use in programme.of(CheckUse)
    ]
    _leave_orphans(graph, programme)
    _order(graph, programme, nodes)
    _add_judges(graph, programme)
    for decision in programme.of(Decision):
        _add_stakes(graph, decision)
        _add_watches(graph, decision)
    return graph


def _link_decisions(graph: Graph, programme: Programme) -> None:
    for decision in programme.of(Decision):
        if decision.state is not DecisionState.WITHDRAWN:
            graph.owner.update(dict.fromkeys(decision.owns, decision.id))
        for each in decision.serves:
            graph.served_by.setdefault(each, []).append(decision.id)
        for each in decision.rests_on:
            graph.borne_by.setdefault(each, []).append(decision.id)


def _leave_orphans(graph: Graph, programme: Programme) -> None:
    """Leave what nobody has taken over to the withdrawn decision that owned it last."""
    for decision in programme.of(Decision):
        if decision.state is DecisionState.WITHDRAWN:
            for each in decision.owns:
                if graph.index[each, ""] not in graph.writer:
                    graph.owner.setdefault(each, decision.id)


def _compile_check(
    graph: Graph, programme: Programme, loader: Loader, currency: str, use: CheckUse
) -> Node:
    graph.carried.setdefault(use.decision, []).append(use.id)
    outputs = [graph.slot(each) for each in use.outputs.values()]
    for slot in outputs:
        graph.writer[slot] = use.id
    try:
        loaded = loader.load(use.plugin, use.config, currency)
    except InputError as fault:
        return _faulty_node(use, outputs, fault, str(fault))
    try:
        return _bound_node(graph, programme, use, loaded)
    except InputError as fault:
        words = f"{fault.message}. {fault.remedy}" if fault.remedy else fault.message
        fault.item = fault.item or use.key
        return _faulty_node(use, outputs, fault, f"{fault.field}: {words}".removeprefix(": "))


def _faulty_node(use: CheckUse, outputs: list[int], fault: InputError, reason: str) -> Node:
    return Node(use.id, None, (reason,), outputs=tuple(outputs), fault=fault, reason=reason)


def _bound_node(
    graph: Graph,
    programme: Programme,
    use: CheckUse,
    loaded: Loaded,
) -> Node:
    _refuse_strangers(use, loaded)
    constants = _constants(use, loaded)
    gathers, measures = _gathers(graph, programme, use, loaded)
    emits = _emits(graph, programme, use, loaded)  # last: it adds slots that only it writes
    return Node(
        use.id,
        loaded,
        use_signature(programme, use, loaded, measures),
        constants=constants,
        gathers=gathers,
        emits=emits,
        rules=_rules(programme, use, loaded, emits),
        outputs=tuple(each.slot for each in emits),
    )


def _refuse_strangers(use: CheckUse, loaded: Loaded) -> None:
    for port in (*use.inputs, *use.literals):
        if port not in loaded.inputs:
            raise BindingError(
                f"{use.plugin} has no input {port!r}",
                item=use.key,
                field=port,
                remedy="Its inputs: " + ", ".join(loaded.inputs),
            )
    for port in use.outputs:
        if port not in loaded.outputs:
            raise BindingError(
                f"{use.plugin} has no output {port!r}",
                item=use.key,
                field=port,
                remedy="Its outputs: " + ", ".join(loaded.outputs),
            )


def _constants(use: CheckUse, loaded: Loaded) -> dict[str, Any]:
    constants = {}
    for key, port in loaded.inputs.items():
        if key in use.literals:
            constants[key] = literal_array(port, use.literals[key].value)
        elif port.default is not None:  # also behind a bound input, for when that is absent
            constants[key] = literal_array(port, port.default)
        elif key not in use.inputs and not port.optional:
            raise BindingError(
                "the input is not bound", item=use.key, field=key, remedy=f"Bind it: {port.doc}"
            )
    return constants


def _gathers(
    graph: Graph, programme: Programme, use: CheckUse, loaded: Loaded
) -> tuple[tuple[Gather, ...], list[Measure]]:
    """Compile the bound inputs; also return kind and unit of what feeds them."""
    gathers, measures = [], []
    for key in loaded.inputs:  # in the manifest's order, so the first cause is always the same
        ref = use.inputs.get(key)
        if ref is None:
            continue
        try:
            measure = measure_of(programme, ref)
            slot = _source_slot(graph, programme, ref)
            gathers.append(gather_for(loaded, loaded.inputs[key], slot, measure))
            measures.append(measure)
        except InputError as fault:
            fault.field = fault.field or key
            raise
    return tuple(gathers), measures


def _source_slot(graph: Graph, programme: Programme, ref: Ref) -> int:
    if ref.part and isinstance(programme.get(ref.id), Quantity):
        return graph.projected(ref.id, ref.part)
    return graph.slot(ref.id, ref.part)


def _emits(graph: Graph, programme: Programme, use: CheckUse, loaded: Loaded) -> tuple[Emit, ...]:
    ruled = {rule.output for rule in loaded.manifest.rules}
    emits = []
    for key, port in loaded.outputs.items():
        if key in use.outputs:
            quantity = programme.at(use.outputs[key], Quantity)
            emits.append(emit_for(loaded, port, graph.slot(quantity.id), quantity))
    for key, port in loaded.outputs.items():
        if key in ruled and key not in use.outputs:
            slot = graph.slot(use.id, f"port:{key}")
            graph.writer[slot] = use.id
            emits.append(emit_for(loaded, port, slot, None))
    return tuple(emits)


def _rules(
    programme: Programme, use: CheckUse, loaded: Loaded, emits: Iterable[Emit]
) -> tuple[RuleBand, ...]:
    slots = {emit.port: emit.slot for emit in emits}
    rules = []
    for number, rule in enumerate(loaded.manifest.rules):
        target = use.outputs.get(rule.output)
        quantity = None if target is None else programme.at(target, Quantity)
        rules.append(rule_band(loaded, number, slots[rule.output], quantity))
    return tuple(rules)


def _order(graph: Graph, programme: Programme, nodes: list[Node]) -> None:
    """Sort the checks, refuse a ring, and enter who reads what."""
    gives = {each: use.id for use in programme.of(CheckUse) for each in use.outputs.values()}
    feeders = {  # as stated: a binding that does not hold may hold again
        use.id: [gives[ref.id] for ref in use.inputs.values() if ref.id in gives]
        for use in programme.of(CheckUse)
    }
    try:
        order = list(TopologicalSorter(feeders).static_order())
    except RingError:
        raise _ring(feeders, programme) from None
    by_id = {node.id: node for node in nodes}
    graph.nodes = [by_id[each] for each in order]
    graph.position = {each: place for place, each in enumerate(order)}
    for place, node in enumerate(graph.nodes):
        for slot in {gather.slot for gather in node.gathers}:
            graph.readers[slot].append(place)


def _ring(feeders: Mapping[str, Sequence[str]], programme: Programme) -> CycleError:
    """Name a ring; the graph library is loaded only for this, not at every start."""
    import networkx as nx

    web: nx.DiGraph[str] = nx.DiGraph(
        (source, each) for each in feeders for source in feeders[each]
    )
    ids = [edge[0] for edge in nx.find_cycle(web)]
    first = ids.index(next(each for each in feeders if each in ids))
    ids = ids[first:] + ids[:first]  # from the check that was there first
    names = [record.key if (record := programme.get(each)) else each for each in ids]
    return CycleError(
        "checks would feed each other: " + " → ".join([*names, names[0]]),
        item=names[0],
        remedy="Break the ring: let one of these inputs come from elsewhere",
    )


def _add_judges(graph: Graph, programme: Programme) -> None:
    covers = covers_in_force(programme)
    for requirement in programme.of(Requirement):
        ref = Ref(id=requirement.quantity, part=requirement.part)
        slot = _source_slot(graph, programme, ref)
        measure, accepted = measure_of(programme, ref), covers.get(requirement.id, ())
        _add_judge(graph, Judge(requirement.id, slot, measure, covers=accepted))
    for node in graph.nodes:
        counts: dict[str, int] = {}
        for rule in node.rules:
            count = counts[rule.output] = counts.get(rule.output, 0) + 1
            name = rule.output if count == 1 else f"{rule.output} {count}"
            _add_judge(graph, Judge(node.id, rule.slot, rule.measure, rule, name))


def _add_judge(graph: Graph, judge: Judge) -> None:
    place = len(graph.judges)
    graph.judges.append(judge)
    graph.judged_by[judge.slot].append(place)
    graph.judges_of.setdefault(judge.id, []).append(place)


def _add_stakes(graph: Graph, decision: Decision) -> None:
    """Enter what a decision's standing depends on."""
    carried = graph.carried.get(decision.id, [])
    graph.carried_at[decision.id] = [graph.position[each] for each in carried]
    graph.stakes[decision.id] = [
        place for each in (*decision.serves, *carried) for place in graph.judges_of.get(each, ())
    ]


def _add_watches(graph: Graph, decision: Decision) -> None:
    """Enter the slots that belong to a decision's footing."""
    slots = [graph.slot(each) for each in decision.owns]
    for place in graph.carried_at[decision.id]:
        slots += [gather.slot for gather in graph.nodes[place].gathers]
    graph.watch[decision.id] = list(dict.fromkeys(slots))
    for slot in graph.watch[decision.id]:
        graph.watched_by[slot].append(decision.id)
