"""Units as dimension vectors with an affine conversion to base units.

A unit is `base = scale · x + offset`. Only temperatures have an offset. Angle and every ISO 4217
currency are dimensions of their own: `mm/rev` is not a length, and money is never converted.
Unit *text* is read elsewhere; this module only computes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tracker.errors import DimensionError

__all__ = ["NO_CURRENCY", "ONE", "Conversion", "Dimension", "Unit", "conversion"]

Dimension = tuple[tuple[str, Fraction], ...]
"""Sorted pairs (base dimension, exponent ≠ 0); the empty tuple is dimensionless."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of measure.

    Parameters
    ----------
    text : str
        As the user writes it, e.g. `mm/rev`; empty for a pure number.
    dimension : Dimension
        Exponents of the base dimensions.
    scale, offset : float
        Base value = scale · value + offset.
    """

    text: str
    dimension: Dimension = ()
    scale: float = 1.0
    offset: float = 0.0

    @property
    def money(self) -> str:
        """ISO 4217 code when the unit is plain money, else an empty text."""
        if len(self.dimension) == 1:
            name, exponent = self.dimension[0]
            if name.startswith("money:") and exponent == 1:
                return name.removeprefix("money:")
        return ""

    def describe(self) -> str:
        """Name the unit for a message: its text, or "a pure number"."""
        return self.text or "a pure number"


NO_CURRENCY = "XXX"
"""ISO 4217's own code for "no currency", where nothing names one."""

ONE = Unit("")
"""The pure number."""


@dataclass(frozen=True, slots=True)
class Conversion:
    """The affine map from one unit to another of the same dimension.

    Parameters
    ----------
    scale, offset : float
        `target = scale · source + offset`.
    """

    scale: float
    offset: float

    def __call__(self, value: float) -> float:
        """Convert one number."""
        return self.scale * value + self.offset

    def span(self, value: float) -> float:
        """Convert a difference (a tolerance, a band width)."""
        return self.scale * value


def conversion(source: Unit, target: Unit, *, item: str = "", field: str = "") -> Conversion | None:
    """Work out the conversion between two units.

    Parameters
    ----------
    source, target : Unit
        Units to convert from and to.
    item, field : str, optional
        Named in the error.

    Returns
    -------
    Conversion or None
        None when nothing has to be done.

    Raises
    ------
    DimensionError
        The dimensions differ.
    """
    if source.dimension != target.dimension:
        raise DimensionError(
            f"{source.describe()} does not measure the same thing as {target.describe()}",
            item=item,
            field=field,
            remedy=f"Give it in {target.describe()} or a unit that converts to it",
        )
    if source.scale == target.scale and source.offset == target.offset:
        return None
    return Conversion(source.scale / target.scale, (source.offset - target.offset) / target.scale)
