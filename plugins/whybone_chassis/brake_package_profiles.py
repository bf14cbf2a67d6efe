"""Profiles of barrel and caliper: straight lines between the rows of a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from tracker.contract.check import Table
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray

__all__ = ["Profile", "least_radius", "radial_clearance"]


@dataclass(frozen=True, slots=True)
class Profile:
    """Radius over axial offset, both in mm, by rising offset; one place stands for all."""

    offset: FloatArray
    radius: FloatArray

    @classmethod
    def of(cls, table: Table, radius: str) -> Self:
        """Read a table by rising offset."""
        offset = table.reals("axial_offset")
        order = np.argsort(offset, kind="stable")
        return cls(offset[order], table.reals(radius)[order])

    @property
    def cylinder(self) -> bool:
        """Whether a single radius holds everywhere."""
        return len(self.offset) == 1

    def at(self, offset: FloatArray) -> FloatArray:
        """Radius at any offsets; beyond the ends as at the ends."""
        radius: FloatArray = np.interp(offset, self.offset, self.radius)
        return radius

    def covers(self, start: FloatArray, end: FloatArray) -> BoolArray:
        """Whether offsets from start to end (n,) lie within the profile."""
        if self.cylinder:
            return np.ones(start.shape, dtype=np.bool_)
        covered: BoolArray = (start >= self.offset[0]) & (end <= self.offset[-1])
        return covered


def least_radius(barrel: Profile, start: FloatArray, end: FloatArray) -> FloatArray:
    """Least radius (n,) of the barrel between offsets start and end (n,)."""
    within = (barrel.offset >= start[:, None]) & (barrel.offset <= end[:, None])
    inside: FloatArray = np.min(np.where(within, barrel.radius, np.inf), axis=-1)
    ends = np.minimum(barrel.at(start), barrel.at(end))
    least: FloatArray = np.minimum(inside, ends)
    return least


def radial_clearance(barrel: Profile, caliper: Profile) -> float:
    """Least of barrel radius less caliper radius over the caliper's span, mm.

    Both are straight between their rows, so the least lies at a row of either.
    """
    start, end = caliper.offset[0], caliper.offset[-1]
    inner = barrel.offset[(barrel.offset > start) & (barrel.offset < end)]
    at_caliper = barrel.at(caliper.offset) - caliper.radius
    at_barrel = barrel.at(inner) - caliper.at(inner)
    return float(np.min(np.concatenate([at_caliper, at_barrel])))
