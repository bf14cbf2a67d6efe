"""The partition of a dependency matrix against a published one, and against another method."""

from __future__ import annotations

import random

import networkx as nx

from tracker.explore.partition import partition

# Gebala, D. A., Eppinger, S. D., Methods for Analyzing Design Procedures, ASME Design Theory and
# Methodology, 1991: seven tasks, each with the tasks it needs.
TASKS = {
    "A": {"C", "D"},
    "B": {"G"},
    "C": {"A", "B", "F", "G"},
    "D": {"B"},
    "E": {"C", "F"},
    "F": set[str](),
    "G": {"D", "F"},
}


def test_the_published_tasks_fall_into_the_published_blocks() -> None:
    blocks = partition(TASKS)
    assert [set(each.items) for each in blocks] == [{"F"}, {"B", "D", "G"}, {"A", "C"}, {"E"}]
    assert [each.level for each in blocks] == [0, 1, 2, 3]


def test_random_matrices_fall_into_the_components_of_a_graph_library() -> None:
    """NetworkX, strongly_connected_components and condensation, as the second method."""
    chance = random.Random(7)
    for size in (1, 2, 5, 12, 30, 60):
        for density in (0.02, 0.1, 0.3):
            items = list(range(size))
            needs = {a: {b for b in items if chance.random() < density} for a in items}
            graph = nx.DiGraph([(a, b) for a in items for b in needs[a]])
            graph.add_nodes_from(items)
            blocks = partition(needs)
            expected = {frozenset(each) for each in nx.strongly_connected_components(graph)}
            assert {frozenset(each.items) for each in blocks} == expected
            condensed = nx.condensation(graph)
            member = condensed.graph["mapping"]
            depth: dict[int, int] = {}
            for node in reversed(list(nx.topological_sort(condensed))):
                depth[node] = max(
                    (depth[each] + 1 for each in condensed.successors(node)), default=0
                )
            assert all(each.level == depth[member[each.items[0]]] for each in blocks)
