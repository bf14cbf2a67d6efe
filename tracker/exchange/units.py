"""Reads unit texts through pint, with a small set of definitions of our own.

Angle, temperature and every ISO 4217 currency are dimensions of their own. The library is imported
at the first text that is not among the common units.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tracker.errors import BadUnitError
from tracker.exchange.common_units import look_up
from tracker.exchange.unit_definitions import DEFINITIONS, SYMBOLS
from tracker.exchange.unit_text import normalise
from tracker.model.numbers import shown
from tracker.model.units import Dimension, Unit

if TYPE_CHECKING:
    from pint import UnitRegistry

__all__ = ["PintUnits"]

_REMEMBERED = 4096  # unit texts kept; a programme uses some dozens


class PintUnits:
    """Reads unit texts; implements the services' `UnitReader`."""

    def __init__(self) -> None:
        self._registry: UnitRegistry[Any] | None = None
        self._known: dict[str, Unit] = {}

    def read(self, text: str) -> Unit:
        """Return the unit of a text.

        Parameters
        ----------
        text : str
            As typed, e.g. `mm/rev`, `N·m`, `m/s²`, `USD`; empty for the pure number.

        Returns
        -------
        Unit
            The unit in SI base units (angle in rad, money in its own currency), with the text as
            typed.

        Raises
        ------
        BadUnitError
            The text is no unit.
        """
        typed = text.strip()
        unit = look_up(typed) or self._known.get(typed)
        if unit is None:
            unit = self._work_out(typed)
            if len(self._known) < _REMEMBERED:
                self._known[typed] = unit
        return unit

    def _work_out(self, typed: str) -> Unit:
        """Read a text that is not among the common ones."""
        dimension, scale, offset = self._measure(normalise(typed, SYMBOLS))
        if not 0.0 < scale < float("inf"):
            raise BadUnitError(
                f"{shown(typed)} is out of the range of numbers",
                remedy="Use a unit nearer to the values",
            )
        return Unit(typed, dimension, scale, offset)

    def _measure(self, rewritten: str) -> tuple[Dimension, float, float]:
        """Return dimension, scale and offset of a text in the library's own spelling."""
        registry = self._load()
        parsed: Any = registry.Quantity(registry.parse_expression(rewritten))
        at_zero = registry.Quantity(Fraction(0), parsed.units).to_base_units().magnitude
        at_one = parsed.to_base_units().magnitude
        dimension = sorted(
            (_our_name(name), Fraction(power)) for name, power in parsed.dimensionality.items()
        )
        return tuple(dimension), _as_float(at_one - at_zero), _as_float(at_zero)

    def _load(self) -> UnitRegistry[Any]:
        """Build the registry at the first need; fractions inside, so spelling does not matter."""
        if self._registry is None:
            from pint import UnitRegistry

            registry: UnitRegistry[Any] = UnitRegistry(None, non_int_type=Fraction)
            registry.load_definitions(DEFINITIONS)
            self._registry = registry
        return self._registry


def _our_name(name: str) -> str:
    """Turn the library's `[money_USD]` into `money:USD`."""
    return name.strip("[]").replace("money_", "money:")


def _as_float(number: Fraction | float) -> float:
    try:
        return float(number)
    except OverflowError:
        return float("inf")
