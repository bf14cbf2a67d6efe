"""What a value slot of the graph can hold, and how model values get in and out.

A slot holds a batch of one (array shapes: `tracker.contract.check`), the rows of a table,
`Unknown` or `Absent`. Arrays in slots are canonical (finite, no negative zero), read-only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tracker.contract.check import Array
from tracker.model.records import Quantity
from tracker.model.values import AXES, Kind, Value, canonical

__all__ = ["Absent", "Rows", "Slot", "Unknown", "axis_of", "same", "slot_of", "value_of"]

Rows = tuple[tuple[Any, ...], ...]


@dataclass(frozen=True, slots=True)
class Unknown:
    """No value, and why.

    Parameters
    ----------
    reason : str
        In words, without the name of the cause.
    cause : str
        Id of the record where it first became unknown.
    """

    reason: str
    cause: str


@dataclass(frozen=True, slots=True)
class Absent:
    """An optional output that does not exist here, and why. It spreads nothing."""

    reason: str


Slot = Array | Rows | Unknown | Absent

_ARRAY = np.ndarray
_DTYPES: dict[Kind, type] = {
    Kind.INTEGER: np.int64,
    Kind.FLAG: np.bool_,
    Kind.POINT: np.float64,
}


def slot_of(value: Value, quantity: Quantity) -> Slot:
    """Put a canonical model value of a quantity into slot form."""
    if quantity.kind is Kind.REAL:
        return frozen(np.array([float(value) + 0.0]))  # type: ignore[arg-type] # a number; −0.0 becomes 0.0
    if quantity.kind is Kind.TABLE:
        columns = quantity.columns  # canonical once more: JSON gives 2.0 back as 2
        return canonical(value, Kind.TABLE, columns=columns)  # type: ignore[return-value] # rows
    if quantity.kind is Kind.CHOICE:
        return frozen(np.array([quantity.choices.index(str(value))], dtype=np.int64))
    array: Array = np.array([value], dtype=_DTYPES[quantity.kind])
    return frozen(array + 0.0 if array.dtype == np.float64 else array)  # −0.0 becomes 0.0


def value_of(slot: Slot, kind: Kind, choices: tuple[str, ...] = ()) -> Value | None:
    """Read a slot back as a model value; None when it is unknown or absent."""
    if isinstance(slot, Unknown | Absent):
        return None
    if isinstance(slot, tuple):
        return slot
    if kind is Kind.POINT:
        x, y, z = slot[0].tolist()
        return (x, y, z)
    if kind is Kind.CHOICE:
        return choices[int(slot[0])]
    plain: Value = slot[0].item()
    return plain


def same(old: Slot, new: Slot) -> bool:
    """Tell whether two slots hold the same bits."""
    if type(old) is _ARRAY and type(new) is _ARRAY:
        return old.tobytes() == new.tobytes() and old.dtype == new.dtype and old.shape == new.shape
    return type(old) is type(new) and bool(old == new)


def frozen(array: Array) -> Array:
    """Make an array read-only."""
    array.setflags(write=False)
    return array


def axis_of(part: str) -> int:
    """Return the index of a point component."""
    return AXES.index(part)
