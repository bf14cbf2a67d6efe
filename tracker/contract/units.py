"""What a check may ask about unit texts.

A check whose ports depend on its configuration may have to know what a unit measures before it can
describe itself. It does not read unit texts on its own: it asks for the reader of whoever runs it.
"""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from tracker.contract.check import Check
from tracker.model.units import Dimension, Unit

__all__ = ["Dimension", "ReadUnit", "ReadsUnits", "Unit"]


class ReadUnit(Protocol):
    """Reads a unit text."""

    def __call__(self, text: str) -> Unit:
        """Return the unit of a text; `money` is the programme's currency, empty a pure number.

        Raises
        ------
        tracker.contract.faults.UnitTextError
            The text is no unit.
        """
        ...


@runtime_checkable
class ReadsUnits(Protocol):
    """A check that wants to know what unit texts measure."""

    def with_units(self, read: ReadUnit) -> Check:
        """Return the check that uses this reader; asked for before anything else is."""
        ...
