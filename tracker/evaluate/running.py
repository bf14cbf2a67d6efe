"""Calling one check on a batch of one and bringing what it returns into slot form.

Whatever a check does, the engine goes on: an exception, a wrong shape or a non-finite value becomes
unknown with its reason.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.contract.check import Array, Outputs, Table
from tracker.evaluate.binding import Emit, Gather
from tracker.evaluate.graph import Node
from tracker.evaluate.slots import Absent, Slot, Unknown, frozen

__all__ = ["FAILED", "Values", "call", "gathered"]

FAILED = "the check failed: "
"""How the reason begins where a check raised."""

_LONGEST = 400
_FLOAT = np.dtype(np.float64)
_ARRAY = np.ndarray
_READ_ONLY = False
Values = list[tuple[int, Slot]]
_SCALAR = (1,)


def call(node: Node, slots: list[Slot], ran: list[str]) -> tuple[Unknown | None, Values]:
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
        return _nothing(node, Unknown(FAILED + _told_by(error), node.id))


def _nothing(node: Node, block: Unknown) -> tuple[Unknown, Values]:
    return block, [(slot, block) for slot in node.outputs]


def _told_by(error: BaseException) -> str:
    name = type(error).__name__
    try:
        return f"{name}: {error}"[:_LONGEST]
    except Exception:  # noqa: BLE001 - even its text may raise
        return name


def gathered(node: Node, slots: list[Slot]) -> tuple[dict[str, Any], Unknown | None]:
    """Return a check's inputs in its own units, or the first unknown among them."""
    inputs = node.constants.copy()
    for gather in node.gathers:
        port, slot, _, convert = gather
        value: Any = slots[slot]
        if convert is not None or type(value) is not _ARRAY:
            value = _taken(node, gather, value)
            if type(value) is Unknown:
                return inputs, value
            if value is None:
                continue
        inputs[port] = value
    return inputs, None


def _taken(node: Node, gather: Gather, value: Slot) -> Any:  # noqa: ANN401 - as Inputs, Unknown or None
    """Return an input in the check's unit; None for an absent optional one."""
    if isinstance(value, Unknown):
        return value
    if isinstance(value, Absent):
        missing = Unknown(f"{gather.port} does not exist: {value.reason}", node.id)
        return None if gather.optional else missing
    converted: Any = value if gather.convert is None else gather.convert(value)
    if _all_finite(converted):
        return converted
    return Unknown(f"{gather.port} is too large in the check's unit", node.id)


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


def _collected(node: Node, outputs: Outputs) -> tuple[Unknown | None, Values]:
    """Bring the outputs into slot form; the plain case is written out, for it is the usual one."""
    values: Values = []
    block: Unknown | None = None
    told = outputs.problems or outputs.absences
    results = outputs.values
    for emit in node.emits:
        value: Any = results.get(emit.port)
        if (
            not told
            and type(value) is _ARRAY
            and emit.plain
            and value.dtype is _FLOAT
            and value.shape == _SCALAR
            and value.base is None
            and (number := value.item()) - number == 0.0 != number
        ):
            value.setflags(_READ_ONLY)  # type: ignore[call-arg] # by place takes a third of the time
        else:
            value = (_told(node, emit, outputs) if told else None) or _canonical(node, emit, value)
            if block is None and type(value) is Unknown:
                block = value
        values.append((emit.slot, value))
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
    if type(array) is not np.ndarray or array.dtype != emit.dtype or array.shape != emit.shape:
        return Unknown(f"{emit.port} came back as {_sort(array)}", node.id)
    if emit.convert is not None:
        array = emit.convert(array)
    if not _all_finite(array):
        return Unknown(f"{emit.port} is not finite", node.id)
    if emit.codes and not 0 <= array.item() < emit.codes:
        return Unknown(f"{emit.port} is not one of its choices", node.id)
    return frozen(array + 0.0 if array.dtype == _FLOAT else array.copy())  # −0.0 becomes 0.0


def _sort(array: object) -> str:
    if isinstance(array, np.ndarray):
        return f"{array.dtype} of shape {array.shape}"
    return "nothing" if array is None else type(array).__name__
