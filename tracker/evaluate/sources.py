"""Values that no check computes: given, set by an applied option, bounds, and parts of values."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tracker.evaluate.graph import Graph
from tracker.evaluate.slots import Absent, Rows, Slot, Unknown, axis_of, frozen, slot_of
from tracker.model.address import cell_of
from tracker.model.programme import Programme
from tracker.model.records import Decision, DecisionState, Quantity, Requirement, Setting
from tracker.model.values import CellKind

__all__ = ["bound_slots", "project", "row_place", "setting_in_force", "source_slot"]


def setting_in_force(
    programme: Programme, graph: Graph, quantity: Quantity
) -> tuple[Setting | None, str]:
    """Return the setting a quantity takes its value from, and why there is none."""
    owner = graph.owner.get(quantity.id)
    if owner is None:
        return quantity.given, "no value is given"
    decision = programme.at(owner, Decision)
    option = decision.applied
    if option is None:
        withdrawn = decision.state is DecisionState.WITHDRAWN
        return None, "the decision is withdrawn" if withdrawn else "the decision is open"
    return option.settings.get(quantity.id), f"option {option.key} does not state it"


def source_slot(programme: Programme, graph: Graph, quantity_id: str) -> Slot:
    """Return the slot value of a quantity that no check computes."""
    quantity = programme.at(quantity_id, Quantity)
    setting, missing = setting_in_force(programme, graph, quantity)
    cause = graph.owner.get(quantity_id, quantity_id)
    if setting is None:
        return Unknown(missing, cause)
    if setting.value is None:
        return Unknown(setting.reason or "it is stated as unknown", cause)
    return slot_of(setting.value, quantity)


def bound_slots(graph: Graph, requirement: Requirement) -> Iterator[tuple[int, Slot]]:
    """Return the slots that checks read from a requirement's bounds, with their values."""
    for part in ("lower", "upper", "target", "guard"):
        slot = graph.index.get((requirement.id, part))
        if slot is not None:
            yield slot, _bound(requirement, part)


def _bound(requirement: Requirement, part: str) -> Slot:
    if part == "guard":
        return frozen(np.array([requirement.guard + 0.0]))
    bound = getattr(requirement, part)
    if bound is None:
        return Unknown(f"it has no {part} bound", requirement.id)
    return frozen(np.array([bound.value + 0.0]))  # −0.0 becomes 0.0, a whole number a real


def project(programme: Programme, graph: Graph, slot: int, part: str, value: Slot) -> Slot:
    """Return the component or cell of a value."""
    if isinstance(value, Unknown | Absent):
        return value
    if isinstance(value, np.ndarray):
        return frozen(value[:, axis_of(part)].copy())
    return _cell(programme.at(graph.keys[slot][0], Quantity), part, value)


def _cell(quantity: Quantity, part: str, rows: Rows) -> Slot:
    cell = cell_of(part)
    assert cell is not None  # noqa: S101 - the graph has no other parts of tables
    places = {column.name: place for place, column in enumerate(quantity.columns)}
    row = row_place(quantity, rows, cell[0])
    if row is None:
        return Unknown(f"it has no row {cell[0]!r}", quantity.id)
    dtype = {CellKind.REAL: np.float64, CellKind.INTEGER: np.int64, CellKind.FLAG: np.bool_}
    kind = quantity.columns[places[cell[1]]].kind
    return frozen(np.array([rows[row][places[cell[1]]]], dtype=dtype[kind]))


def row_place(quantity: Quantity, rows: Rows, name: str) -> int | None:
    """Return the place of the row of a table that a name means; None when there is none.

    A row goes by the text in its first column, else by its number, counted from 1.
    """
    if quantity.columns[0].kind is CellKind.TEXT:
        found = next((place for place, row in enumerate(rows) if row[0] == name), None)
        if found is not None:
            return found
    if name.isdecimal() and 1 <= int(name) <= len(rows):
        return int(name) - 1
    return None
