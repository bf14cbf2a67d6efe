"""What the brake regulations ask of each vehicle class."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["CLASSES", "LEAST_RATE", "LOWEST_ADHESION", "BrakeClass"]

LOWEST_ADHESION = 0.2
"""Adhesion from which the least braking rate is asked for."""

LEAST_RATE = 0.1
"""Least braking rate at that adhesion."""


@dataclass(frozen=True, slots=True)
class BrakeClass:
    """Requirements of one vehicle class.

    Parameters
    ----------
    slope : float
        Least braking rate z ≥ 0.1 + slope·(k − 0.2), for k from 0.2 to 0.8.
    order_up_to : float
        Braking rate up to which, from 0.15 on, the front axle must use more adhesion.
    response : float
        Allowance of the stopping distance before full braking, s.
    deceleration : float
        Mean fully developed deceleration asked for, m/s².
    edition : str
        Regulation and how it was consulted.
    """

    slope: float
    order_up_to: float
    response: float
    deceleration: float
    edition: str


_CAR = "UN Regulation No. 13-H, Annexes 3 and 5 (recalled from memory)"
_GOODS = "UN Regulation No. 13, 11 series, Annexes 4 and 10 (recalled from memory)"
# Stopping distance 0.1·v + 0.006·v² of a car, 0.15·v + v²/130 of the others, v in km/h: 0.1 is
# 0.36 s, 0.006 is 1/(25.92 · 6.43 m/s²), 1/130 is 1/(25.92 · 5.0 m/s²) to the digits printed.
_PER_SPEED = 3.6
_PER_SQUARE = 25.92


def _goods(order_up_to: float) -> BrakeClass:
    return BrakeClass(0.85, order_up_to, 0.15 * _PER_SPEED, 130.0 / _PER_SQUARE, _GOODS)


CLASSES: Mapping[str, BrakeClass] = {
    "M1": BrakeClass(0.7, 0.8, 0.1 * _PER_SPEED, 1.0 / (0.006 * _PER_SQUARE), _CAR),
    "N1": _goods(0.5),
    "M2": _goods(0.3),
    "M3": _goods(0.3),
    "N2": _goods(0.3),
    "N3": _goods(0.3),
}
"""Vehicle class → its requirements."""
