"""Braking of a two-axle vehicle: forces per axle, loads, adhesion used, and where an axle locks.

Everything is written over the braking rate z, braking force over weight. Arrays of a vehicle have
the shape (n, 1), braking rates and road frictions (n, m) or (1, m).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from whybone_chassis.answers import Flags, Reals

__all__ = ["Brakes", "Forces", "Trim"]


@dataclass(frozen=True, slots=True)
class Forces:
    """Braking forces of both axles, N.

    Parameters
    ----------
    front, rear : ndarray
        At the ground, motors included.
    front_friction, rear_friction : ndarray
        Part of the friction brakes.
    """

    front: Reals
    rear: Reals
    front_friction: Reals
    rear_friction: Reals


@dataclass(frozen=True, slots=True)
class Trim:
    """A vehicle in one trim.

    Parameters
    ----------
    weight, front : ndarray
        Weight and standing front axle load, N.
    lift : ndarray
        Height of the centre of gravity over wheelbase.
    rolling : ndarray
        Rolling resistance over weight.
    """

    weight: Reals
    front: Reals
    lift: Reals
    rolling: Reals

    def loads(self, rate: Reals) -> tuple[Reals, Reals]:
        """Return both axle loads at a braking rate, N; rolling resistance slows down as well."""
        front = self.front + self.weight * self.lift * (rate + self.rolling)
        return front, self.weight - front


@dataclass(frozen=True, slots=True)
class Brakes:
    """Friction brakes with their law of distribution, and motors.

    Parameters
    ----------
    front, rear : ndarray
        Braking force of the axle per pressure, N/Pa.
    knee : ndarray
        Pressure above which the rear rises by `slope`, Pa; infinite without a valve.
    slope : ndarray
        Rise of the rear pressure over that of the front above the knee.
    follows_load : ndarray of bool
        Whether the forces follow the axle loads instead, as far as the motors let them.
    motors : ndarray
        Share of the braking force the motors give.
    motors_front : ndarray of bool
        Whether they drive the front axle.
    """

    front: Reals
    rear: Reals
    knee: Reals
    slope: Reals
    follows_load: Flags
    motors: Reals
    motors_front: Flags

    @property
    def _line(self) -> tuple[Reals, Reals]:
        """Front force = c₀ + c₁ · braking force below the knee."""
        share = (1.0 - self.motors) * self.front / (self.front + self.rear)
        return np.zeros_like(share), share + np.where(self.motors_front, self.motors, 0.0)

    @property
    def _line_above(self) -> tuple[Reals, Reals]:
        """Front force = c₀ + c₁ · braking force above the knee."""
        rise = self.front / (self.front + self.slope * self.rear)
        start = self.knee * (self.front - rise * (self.front + self.rear))
        share = (1.0 - self.motors) * rise + np.where(self.motors_front, self.motors, 0.0)
        return start, share

    @property
    def _bound(self) -> Reals:
        """Share of the front that the motors leave: least with front motors, else most."""
        bound: Reals = np.where(self.motors_front, self.motors, 1.0 - self.motors)
        return bound

    def knee_rate(self, trim: Trim) -> Reals:
        """Return the braking rate at the knee; infinite without a valve."""
        friction = self.knee * (self.front + self.rear)
        rate: Reals = friction / ((1.0 - self.motors) * trim.weight)
        return rate

    def forces(self, trim: Trim, rate: Reals) -> Forces:
        """Return the forces at a braking rate."""
        whole = trim.weight * rate
        (_, below), (start, above) = self._line, self._line_above
        fixed = np.where(rate <= self.knee_rate(trim), below * whole, start + above * whole)
        wanted, bound = trim.loads(rate)[0] * rate, self._bound * whole
        kept = np.where(self.motors_front, np.maximum(wanted, bound), np.minimum(wanted, bound))
        front = np.where(self.follows_load, kept, fixed)
        motors = self.motors * whole
        return Forces(
            front=front,
            rear=whole - front,
            front_friction=front - np.where(self.motors_front, motors, 0.0),
            rear_friction=whole - front - np.where(self.motors_front, 0.0, motors),
        )

    def locking(self, trim: Trim, friction: Reals) -> tuple[Reals, Reals]:
        """Return the braking rates at which front and rear axle lock on a road.

        Parameters
        ----------
        trim : Trim
            The vehicle.
        friction : ndarray
            Friction of the road, both axles.

        Returns
        -------
        front, rear : ndarray
            Infinite where the axle never locks.

        Notes
        -----
        The adhesion an axle uses rises with the braking rate, so the first straight stretch that
        reaches the friction within itself decides.
        """
        knee = self.knee_rate(trim)
        front, rear = (
            np.where(below <= knee, below, above)
            for below, above in zip(
                _crossing(trim, friction, *self._line),
                _crossing(trim, friction, *self._line_above),
                strict=True,
            )
        )
        bound_front, bound_rear = _crossing(trim, friction, np.zeros_like(knee), self._bound)
        even = friction + np.zeros_like(knee)
        early, late = np.minimum, np.maximum
        kept_front = np.where(self.motors_front, early(even, bound_front), late(even, bound_front))
        kept_rear = np.where(self.motors_front, late(even, bound_rear), early(even, bound_rear))
        return (
            np.where(self.follows_load, kept_front, front),
            np.where(self.follows_load, kept_rear, rear),
        )


def _crossing(trim: Trim, friction: Reals, start: Reals, share: Reals) -> tuple[Reals, Reals]:
    """Return the rates at which front force c₀ + c₁·B and the rest use a friction up."""
    front, rear = trim.loads(np.zeros_like(trim.weight))
    growing = trim.weight * (share - friction * trim.lift)
    at_front = (friction * front - start) / np.where(growing > 0.0, growing, np.nan)
    at_rear = (friction * rear + start) / (trim.weight * (1.0 - share + friction * trim.lift))
    return np.where(growing > 0.0, at_front, np.inf), at_rear
