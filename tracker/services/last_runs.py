"""Says of a bound check why it ran, or why it did not."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tracker.evaluate.binding import measure_of
from tracker.evaluate.graph import Node
from tracker.evaluate.running import gathered
from tracker.evaluate.slots import Absent, Slot, Unknown, value_of
from tracker.model.records import CheckUse, Quantity, Ref
from tracker.services.present import address_text, explain
from tracker.services.run_log import LastRun, MovedInput
from tracker.services.run_views import MovedView, RunView
from tracker.services.session import Reading
from tracker.services.wording import value_with_unit, visible

__all__ = ["last_run"]


def last_run(reading: Reading, use: CheckUse) -> RunView:
    """Return why a check ran last, or why it does not run."""
    engine = reading.engine
    node = engine.graph.nodes[engine.graph.position[use.id]]
    if node.fault is not None:
        return RunView(how="not run", why=f"the binding does not hold: {visible(node.reason)}")
    with np.errstate(all="ignore"):  # a value may be too large in the check's unit
        block = gathered(node, engine.state.slots)[1]
    if block is not None:
        return RunView(how="not run", why=_missing(reading, node, block))
    last = reading.runs.last(use.id)
    if last is None:  # what could run before has run before
        return RunView(how="ran", why="a change is being tried out")
    moved = tuple(_moved(reading, each) for each in last.moved)
    return RunView(
        how="recalled" if last.recalled else "ran",
        when="opening" if last.opening else "change",
        revision=last.revision,
        why=_why(reading, node, last, moved),
        moved=moved,
        since=_since(reading, use, last),
    )


def _missing(reading: Reading, node: Node, block: Unknown) -> str:
    """Name the first input without a value, and why it has none."""
    slots, keys = reading.engine.state.slots, reading.engine.graph.keys
    for each in node.gathers:
        if isinstance(slots[each.slot], Unknown):
            address = address_text(reading, *keys[each.slot])
            return f"{each.port} ({address}) is unknown: {explain(reading, block, node.id)}"
    return explain(reading, block, node.id)


def _why(reading: Reading, node: Node, last: LastRun, moved: tuple[MovedView, ...]) -> str:
    if last.opening or last.recalled:
        return _where_from(reading, node, last)
    if last.added:
        return "it was added"
    if last.rebound:
        return "its binding or configuration changed, or what it is bound to"
    return "; ".join(
        f"{each.port} ({each.subject}) went from {each.before} to {each.after}" for each in moved
    )


def _where_from(reading: Reading, node: Node, last: LastRun) -> str:
    """Say what became of earlier runs."""
    if last.recalled:
        return "the same inputs, configuration and version were computed before on this machine"
    assert node.loaded is not None  # noqa: S101 - it ran
    if reading.tools.traces is None:
        return "results of earlier runs are not kept"
    if not node.loaded.code:
        return "nobody can tell whether its code is still the same, so no earlier result counts"
    return "no earlier result with the same inputs, configuration and version is at hand"


def _since(reading: Reading, use: CheckUse, last: LastRun) -> str:
    if reading.head.revision > last.revision:
        return f"no input changed after revision {last.revision}"
    if not last.opening:
        return ""
    touched = max(_revisions(reading, use.id))
    return f"nothing it reads was changed after revision {touched}, directly or further up"


def _revisions(reading: Reading, check_id: str) -> Iterator[int]:
    """Iterate over the revisions that changed the check or anything it stems from."""
    for each in _roots(reading, check_id):
        for change in reading.store.touching(each):
            if change.revision <= reading.head.revision:
                yield change.revision


def _roots(reading: Reading, check_id: str) -> dict[str, None]:
    """Return the ids of a check and of all it stems from."""
    graph = reading.engine.graph
    found, left = dict[str, None](), [check_id]
    while left:
        record = reading.programme.get(record_id := left.pop())
        if record_id in found:
            continue
        found[record_id] = None
        if isinstance(record, CheckUse):
            left += [ref.id for ref in record.inputs.values()]
        elif isinstance(record, Quantity):
            writer = graph.writer.get(graph.index[record_id, ""])
            left += filter(None, (writer, graph.owner.get(record_id)))
    return found


def _moved(reading: Reading, moved: MovedInput) -> MovedView:
    return MovedView(
        port=moved.port,
        subject=address_text(reading, moved.record_id, moved.part),
        before=_text(reading, moved, moved.before),
        after=_text(reading, moved, moved.after),
    )


def _text(reading: Reading, moved: MovedInput, slot: Slot | None) -> str:
    if isinstance(slot, Unknown | Absent):
        return "unknown" if isinstance(slot, Unknown) else "absent"
    measure = measure_of(reading.programme, Ref(id=moved.record_id, part=moved.part))
    value = None if slot is None else value_of(slot, measure.kind, measure.choices)
    return value_with_unit(value, measure.kind, measure.unit)
