"""Calling one check on a batch of one and bringing what it returns into slot form.

Whatever a check does, the engine goes on: an exception, a wrong shape or a non-finite value becomes
unknown with its reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tracker.contract.check import Array, Outputs, Table
from tracker.evaluate.binding import Emit
from tracker.evaluate.graph import Node
from tracker.evaluate.slots import Absent, Slot, Unknown

__all__ = ["call", "gathered"]

_LONGEST = 400
_FLOAT = np.dtype(np.float64)
_SCALAR = (1,)
_SCALAR = (1,)


def call(node: Node, slots: list[Slot], ran: list[str]) -> tuple[Unknown | None, Sequence[Slot]]:
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
    values : sequence of Slot
        One for each of the node's outputs.
    """
    loaded = node.loaded
    if loaded is None:
        return _nothing(node, Unknown(node.reason, node.id))
    inputs, block = gathered(node, slots)
    if block is not None:
        return _nothing(node, block)
    ran.append(node.id)
    try:
        return _collected(node, loaded.check.compute(inputs, loaded.config))
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001 - a stranger's code may raise anything, exits too
        return _nothing(node, Unknown(f"the check failed: {_told_by(error)}", node.id))


def _nothing(node: Node, block: Unknown) -> tuple[Unknown, Sequence[Slot]]:
    return block, [block] * len(node.outputs)


def _told_by(error: BaseException) -> str:
    name = type(error).__name__
    try:
        return f"{name}: {error}"[:_LONGEST]
    except Exception:  # noqa: BLE001 - even its text may raise
        return name


def gathered(node: Node, slots: list[Slot]) -> tuple[dict[str, Any], Unknown | None]:
    """Return a check's inputs in its own units, or the first unknown among them."""
    inputs = node.constants.copy()
    for port, slot, optional, convert in node.gathers:
        value = slots[slot]
        kind = type(value)
        if kind is Unknown:
            return inputs, value  # type: ignore[return-value] # its type was compared
        if kind is Absent:
            if optional:
                continue
            return inputs, Unknown(f"{port} does not exist: {_why(value)}", node.id)
        if convert is not None:
            value = convert(value)
            if not _all_finite(value):
                return inputs, Unknown(f"{port} is too large in the check's unit", node.id)
        inputs[port] = value
    return inputs, None


def _why(value: Any) -> str:  # noqa: ANN401 - an Absent, or whatever a stranger calls a reason
    return str(getattr(value, "reason", value))[:_LONGEST]


def _all_finite(value: Array | Table) -> bool:
    if isinstance(value, Table):
        columns = (each for each in value.columns.values() if isinstance(each, np.ndarray))
        return all(bool(np.isfinite(each).all()) for each in columns)
    if value.size == 1:
        number = value.item()
        return bool(number - number == 0)
    return bool(np.isfinite(value).all())


def _collected(node: Node, outputs: Outputs) -> tuple[Unknown | None, Sequence[Slot]]:
    values: list[Slot] = []
    block: Unknown | None = None
    told = outputs.problems or outputs.absences
    results = outputs.values
    for emit in node.emits:
        value = _told(node, emit, outputs) if told else None
        if value is None:
            value = _canonical(node, emit, results.get(emit.port))
        if type(value) is Unknown and block is None:
            block = value
        values.append(value)
    return block, values


def _told(node: Node, emit: Emit, outputs: Outputs) -> Slot | None:
    """Return what the check itself says of an output it could not give."""
    for problem in outputs.problems:
        if problem.rows[0] and (not problem.ports or emit.port in problem.ports):
            return Unknown(_why(problem), node.id)
    for absence in outputs.absences:
        if absence.rows[0] and absence.port == emit.port:
            if emit.optional:
                return Absent(_why(absence))
            return Unknown(f"{emit.port} may not be absent: {_why(absence)}", node.id)
    return None


def _canonical(node: Node, emit: Emit, array: Any) -> Slot:  # noqa: ANN401 - a stranger's result
    """Return an output that is finite, read-only, without negative zero and nobody's view."""
    port, _, _, dtype, shape, codes, convert = emit
    if type(array) is not np.ndarray or array.dtype != dtype or array.shape != shape:
        return Unknown(f"{port} came back as {_sort(array)}", node.id)
    if convert is not None:
        array = convert(array)
    elif array.base is not None:
        array = array.copy()
    number = array.item() if shape == _SCALAR else sum(array[0].tolist())
    if codes and not 0 <= number < codes:
        return Unknown(f"{port} is not one of its choices", node.id)
    if number - number != 0.0 and not _all_finite(array):
        return Unknown(f"{port} is not finite", node.id)
    if array.dtype == _FLOAT and (number == 0.0 or shape != _SCALAR):
        array = array + 0.0  # −0.0 becomes 0.0
    array.setflags(write=False)
    return array


def _sort(array: object) -> str:
    if isinstance(array, np.ndarray):
        return f"{array.dtype} of shape {array.shape}"
    return "nothing" if array is None else type(array).__name__
