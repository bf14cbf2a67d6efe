"""Calling one check on a batch of one and bringing what it returns into slot form.

Whatever a check does, the engine goes on: an exception, a wrong shape or a non-finite value becomes
unknown with its reason.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Outputs
from tracker.evaluate.binding import Emit
from tracker.evaluate.graph import Node
from tracker.evaluate.slots import Absent, Slot, Unknown, frozen

__all__ = ["call", "gathered"]

_LONGEST = 400
_Values = list[tuple[int, Slot]]


def call(node: Node, slots: list[Slot], ran: list[str]) -> tuple[Unknown | None, _Values]:
    """Run a check.

    Parameters
    ----------
    node : Node
        The compiled check.
    slots : list of Slot
        Present values.
    ran : list of str
        Gets the check's id when its compute is really called.

    Returns
    -------
    block : Unknown or None
        Why it gave nothing, or not everything.
    values : list of (slot, value)
        One for each slot it writes.
    """
    loaded = node.loaded
    if loaded is None:
        return _nothing(node, Unknown(str(node.fault), node.id))
    inputs, block = gathered(node, slots)
    if block is not None:
        return _nothing(node, block)
    ran.append(node.id)
    try:
        outputs = loaded.check.compute(inputs, loaded.config)
        return _collected(node, outputs)
    except Exception as error:  # noqa: BLE001 - a stranger's code may raise anything
        return _nothing(node, Unknown(f"the check failed: {_told_by(error)}", node.id))


def _nothing(node: Node, block: Unknown) -> tuple[Unknown, _Values]:
    return block, [(slot, block) for slot in node.outputs]


def _told_by(error: Exception) -> str:
    try:
        return f"{type(error).__name__}: {error}"[:_LONGEST]
    except Exception:  # noqa: BLE001 - even its text may raise
        return type(error).__name__


def gathered(node: Node, slots: list[Slot]) -> tuple[dict[str, Any], Unknown | None]:
    """Return a check's inputs in its own units, or the first unknown among them."""
    inputs = dict(node.constants)
    for gather in node.gathers:
        value = slots[gather.slot]
        if isinstance(value, Unknown):
            return inputs, value
        if isinstance(value, Absent):
            if gather.optional:
                continue
            return inputs, Unknown(f"{gather.port} does not exist: {value.reason}", node.id)
        inputs[gather.port] = value if gather.convert is None else gather.convert(value)
    return inputs, None


def _collected(node: Node, outputs: Outputs) -> tuple[Unknown | None, _Values]:
    values: _Values = []
    block: Unknown | None = None
    told = bool(outputs.problems or outputs.absences)
    for emit in node.emits:
        value = _told(node, emit, outputs) if told else None
        if value is None:
            value = _canonical(node, emit, outputs.values.get(emit.port))
        if type(value) is Unknown:
            block = block or value
        values.append((emit.slot, value))
    return block, values


def _told(node: Node, emit: Emit, outputs: Outputs) -> Slot | None:
    """Return what the check itself says of an output it could not give."""
    for problem in outputs.problems:
        if problem.rows[0] and (not problem.ports or emit.port in problem.ports):
            return Unknown(problem.reason, node.id)
    for absence in outputs.absences:
        if absence.rows[0] and absence.port == emit.port:
            if emit.optional:
                return Absent(absence.reason)
            return Unknown(f"{emit.port} may not be absent: {absence.reason}", node.id)
    return None


def _canonical(node: Node, emit: Emit, array: Any) -> Slot:  # noqa: ANN401 - a stranger's result
    if type(array) is not np.ndarray or array.shape != emit.shape or array.dtype != emit.dtype:
        return Unknown(f"{emit.port} came back as {_sort(array)}", node.id)
    if emit.convert is not None:
        array = emit.convert(array)
    if array.dtype != np.float64:
        array = array.copy()
    else:
        array = array + 0.0  # a copy, and −0.0 becomes 0.0
        number = array.item() if array.size == 1 else float(array.sum())
        if number - number != 0.0:
            return Unknown(f"{emit.port} is not finite", node.id)
    return frozen(array)


def _sort(array: object) -> str:
    if isinstance(array, np.ndarray):
        return f"{array.dtype} of shape {array.shape}"
    return "nothing" if array is None else type(array).__name__
