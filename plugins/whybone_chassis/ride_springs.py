"""Springs and stops of a corner: force and rate at the wheel over its travel.

Lengths in mm, forces in N, pressures in N/mm²; every array has shape (n,).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from tracker.contract.check import Inputs
from whybone_chassis.answers import Flags, Reals
from whybone_chassis.ride import SPRINGS

__all__ = ["ATMOSPHERE", "Corner", "Springs", "Stops"]

ATMOSPHERE = 0.101325
"""Standard pressure at sea level, N/mm² (ISO 2533:1975)."""

_CUBIC_MM = 1e6  # mm³ in a litre
_PER_METRE = 1e-3
_ISOTHERMAL = 1.0


@dataclass(frozen=True, slots=True)
class Springs:
    """Spring forces over compression from design.

    Parameters
    ----------
    air : ndarray of bool
        Air spring, else coil.
    force : ndarray
        At design, compression positive.
    rate : ndarray
        Of a coil, N/mm.
    area, area_rate, volume, exponent : ndarray
        Of an air spring at design: mm², mm, mm³.
    """

    air: Flags
    force: Reals
    rate: Reals
    area: Reals
    area_rate: Reals
    volume: Reals
    exponent: Reals

    @classmethod
    def of(cls, inputs: Inputs) -> Self:
        """Take the springs of a batch, without force; what is not given is NaN."""
        unknown = np.full(len(inputs["spring"]), np.nan)
        return cls(
            air=inputs["spring"] == SPRINGS.index("air"),
            force=unknown,
            rate=inputs.get("spring_rate", unknown),
            area=inputs.get("effective_area", unknown),
            area_rate=inputs["effective_area_rate"],
            volume=inputs.get("air_volume", unknown) * _CUBIC_MM,
            exponent=inputs.get("polytropic_exponent", unknown),
        )

    def carrying(self, force: Reals) -> Self:
        """Return the same springs with a force at design: the pressure follows."""
        return replace(self, force=force)

    def _air(self, compression: Reals, exponent: Reals | float) -> tuple[Reals, Reals, Reals]:
        """Gauge pressure, effective area and volume; NaN where the volume is used up."""
        area = self.area + self.area_rate * compression
        volume = self.volume - (self.area + 0.5 * self.area_rate * compression) * compression
        squeezed = self.volume / np.where(volume > 0.0, volume, np.nan)
        pressure = (self.force / self.area + ATMOSPHERE) * squeezed**exponent
        return pressure - ATMOSPHERE, area, volume

    def settled(self, compression: Reals) -> Reals:
        """Force after a slow compression, at constant temperature."""
        gauge, area, _ = self._air(compression, _ISOTHERMAL)
        coil = self.force + self.rate * compression
        return np.where(self.air, gauge * area, coil)

    def driven(self, compression: Reals) -> Reals:
        """Force during a ride motion from design, at the air's exponent."""
        gauge, area, _ = self._air(compression, self.exponent)
        coil = self.force + self.rate * compression
        return np.where(self.air, gauge * area, coil)

    def ride_rate(self, compression: Reals) -> Reals:
        """Rate of small ride motions about a slow compression, N/mm."""
        gauge, area, volume = self._air(compression, _ISOTHERMAL)
        squeeze = self.exponent * (gauge + ATMOSPHERE) * area * area / volume
        return np.where(self.air, squeeze + gauge * self.area_rate, self.rate)

    def pressure(self, compression: Reals) -> Reals:
        """Gauge pressure after a slow compression, N/mm²."""
        return self._air(compression, _ISOTHERMAL)[0]


@dataclass(frozen=True, slots=True)
class Stops:
    """Stops at the wheel: gaps from design (endless where not given) and rates."""

    bump_gap: Reals
    bump_rate: Reals
    rebound_gap: Reals
    rebound_rate: Reals

    @classmethod
    def of(cls, inputs: Inputs) -> Self:
        """Take the stops of a batch."""
        endless = np.full(len(inputs["spring"]), np.inf)
        return cls(
            inputs.get("bump_stop_gap", endless),
            inputs["bump_stop_rate"],
            inputs.get("rebound_stop_gap", endless),
            inputs["rebound_stop_rate"],
        )

    def force(self, travel: Reals) -> Reals:
        """Force on the wheel, down positive as that of the spring."""
        bump = self.bump_rate * np.maximum(travel - self.bump_gap, 0.0)
        rebound = self.rebound_rate * np.maximum(-travel - self.rebound_gap, 0.0)
        total: Reals = bump - rebound
        return total

    def rate(self, travel: Reals) -> Reals:
        """Rate of the stops that touch, N/mm."""
        bump = np.where(travel > self.bump_gap, self.bump_rate, 0.0)
        return bump + np.where(-travel > self.rebound_gap, self.rebound_rate, 0.0)


@dataclass(frozen=True, slots=True)
class Corner:
    """Spring, stops and the motion ratio between spring and wheel, linear in wheel travel.

    Parameters
    ----------
    springs : Springs
    stops : Stops
    ratio, ratio_rate : ndarray
        At design, and its change per mm.
    """

    springs: Springs
    stops: Stops
    ratio: Reals
    ratio_rate: Reals

    @classmethod
    def of(cls, inputs: Inputs) -> Self:
        """Take the corners of a batch, springs without force."""
        return cls(
            Springs.of(inputs),
            Stops.of(inputs),
            inputs["motion_ratio"],
            inputs["motion_ratio_rate"] * _PER_METRE,
        )

    def carrying(self, load: Reals) -> Self:
        """Return the same corners with springs that carry a load at design."""
        still = np.zeros_like(load)
        force = (load - self.stops.force(still)) / self.ratio
        return replace(self, springs=self.springs.carrying(force))

    def ratio_at(self, travel: Reals) -> Reals:
        """Motion ratio."""
        ratio: Reals = self.ratio + self.ratio_rate * travel
        return ratio

    def compression(self, travel: Reals) -> Reals:
        """Spring compression from design: the motion ratio's integral."""
        compression: Reals = (self.ratio + 0.5 * self.ratio_rate * travel) * travel
        return compression

    def settled(self, travel: Reals) -> Reals:
        """Load that the wheel carries after a slow travel."""
        spring = self.springs.settled(self.compression(travel))
        return spring * self.ratio_at(travel) + self.stops.force(travel)

    def driven(self, travel: Reals) -> Reals:
        """Load that the wheel carries in a ride motion from design."""
        spring = self.springs.driven(self.compression(travel))
        return spring * self.ratio_at(travel) + self.stops.force(travel)

    def wheel_rate(self, travel: Reals) -> Reals:
        """Wheel rate of small ride motions about a travel: k·MR² + F·dMR/dz and stops."""
        compression, ratio = self.compression(travel), self.ratio_at(travel)
        bending = self.springs.settled(compression) * self.ratio_rate
        stiff = self.springs.ride_rate(compression) * ratio * ratio
        return stiff + bending + self.stops.rate(travel)
