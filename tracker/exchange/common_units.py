"""Units that turn up all the time, worked out beforehand so that reading them needs no library.

Texts not found here go through the full reader; a test holds every entry against it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from tracker.exchange.currencies import CURRENCIES
from tracker.model.units import ONE, Dimension, Unit

__all__ = ["COMMON", "MONEY_TAILS", "look_up"]

_MILLI = Fraction(1, 1000)
_PI = Fraction("3.14159265358979323846264338328")
_G = Fraction("9.80665")  # m/s², standard acceleration of free fall, ISO 80000-3
_DEG = _PI / 180
_TURN = 2 * _PI
_YEAR = Fraction(31_557_600)  # s, 365.25 days

# Exact fractions until the end: every scale is the float nearest to its true value.
_SCALES: Mapping[str, Mapping[str, Fraction | int]] = {
    "": {
        "1": 1,
        "%": Fraction(1, 100),
        "vehicle": 1,
        "piece": 1,
        "deg/deg": 1,
        "N/kN": _MILLI,
    },
    "length": {
        "mm": _MILLI,
        "cm": Fraction(1, 100),
        "m": 1,
        "km": 1000,
        "in": 254 * _MILLI / 10,
        "mm^2/mm": _MILLI,
    },
    "length 4": {"mm^4": _MILLI**4},
    "length -3 mass": {"kg/m^3": 1},
    "length 2": {"mm^2": _MILLI**2, "m^2": 1},
    "length 3": {"l": _MILLI},
    "length -1": {"1/m": 1, "1/mm": 1000},
    "mass": {"kg": 1, "gram": _MILLI, "t": 1000, "N/g": 1 / _G},
    "time": {
        "s": 1,
        "ms": _MILLI,
        "min": 60,
        "h": 3600,
        "day": 86_400,
        "week": 604_800,
        "year": _YEAR,
    },
    "time -1": {
        "1/s": 1,
        "Hz": 1,
        "1/year": 1 / _YEAR,
        "vehicle/year": 1 / _YEAR,
        "piece/h": Fraction(1, 3600),
    },
    "angle": {"deg": _DEG, "°": _DEG, "rad": 1, "rev": _TURN, "mrad": _MILLI},
    "angle time -1": {"rad/s": 1, "deg/s": _DEG},
    "angle length -1": {"deg/mm": 1000 * _DEG, "deg/m": _DEG, "rad/m": 1},
    "angle -1 length": {"mm/rev": _MILLI / _TURN, "mm/deg": _MILLI / _DEG, "mm/rad": _MILLI},
    "length time -1": {"m/s": 1, "km/h": Fraction(1000, 3600)},
    "length time -2": {"m/s^2": 1, "m/s²": 1, "g": _G},
    "angle length -1 time 2": {"deg/g": _DEG / _G},
    "angle -1 length time -2": {"g/deg": _G / _DEG, "g/(100*deg)": _G / (100 * _DEG)},
    "length mass time -2": {"N": 1, "kN": 1000, "daN": 10},
    "length 2 mass time -2": {"N*m": 1, "N·m": 1, "Nm": 1, "J": 1},
    "angle -1 length 2 mass time -2": {"N*m/deg": 1 / _DEG, "N·m/deg": 1 / _DEG, "N*m/rad": 1},
    "angle -1 length mass time -2": {"N/rad": 1, "kN/rad": 1000},
    "mass time -2": {"N/mm": 1000, "N/m": 1, "kN/m": 1000},
    "mass time -1": {"N*s/m": 1},
    "length -1 mass time -2": {
        "Pa": 1,
        "kPa": 1000,
        "MPa": 1_000_000,
        "GPa": 1_000_000_000,
        "bar": 100_000,
    },
    "length 2 mass time -3": {"W": 1, "kW": 1000},
    "temperature": {"K": 1},
}
_OFFSETS: Mapping[str, float] = {"degC": 273.15, "°C": 273.15}

MONEY_TAILS: Mapping[str, tuple[str, Fraction | int]] = {
    "": ("", 1),
    "/vehicle": ("", 1),
    "/piece": ("", 1),
    "/year": ("time -1", 1 / _YEAR),
    "/kg": ("mass -1", 1),
    "/h": ("time -1", Fraction(1, 3600)),
}
"""What often follows a currency code: tail → (dimension of the tail, scale)."""

_CODE = 3


def _dimension(words: str) -> Dimension:
    """Read `length 2 mass` as pairs; a missing exponent is 1."""
    pairs: list[tuple[str, Fraction]] = []
    for word in words.split():
        if word.lstrip("-").isdigit():
            pairs[-1] = (pairs[-1][0], Fraction(word))
        else:
            pairs.append((word, Fraction(1)))
    return tuple(pairs)


def _build() -> dict[str, Unit]:
    units = {
        text: Unit(text, _dimension(words), float(scale))
        for words, scales in _SCALES.items()
        for text, scale in scales.items()
    }
    kelvin = units["K"]
    units.update({text: replace(kelvin, text=text, offset=by) for text, by in _OFFSETS.items()})
    return units | {"": ONE}


COMMON: Mapping[str, Unit] = _build()
"""Unit text → unit, without money."""


def look_up(text: str) -> Unit | None:
    """Return a common unit, money of any currency included; None when the text is not common.

    Parameters
    ----------
    text : str
        Unit text without surrounding blanks.

    Returns
    -------
    Unit or None
        The unit in SI base units, angle in rad.
    """
    if text in COMMON:
        return COMMON[text]
    code, tail = text[:_CODE], text[_CODE:]
    if code not in CURRENCIES or tail not in MONEY_TAILS:
        return None
    words, scale = MONEY_TAILS[tail]
    dimension = sorted([(f"money:{code}", Fraction(1)), *_dimension(words)])
    return Unit(text, tuple(dimension), float(scale))
