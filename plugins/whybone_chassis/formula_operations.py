"""The operations a formula may use: what they do to arrays and to dimensions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import reduce
from typing import Any

import numpy as np

from tracker.contract.check import Array

__all__ = ["COMPARISONS", "CONSTANTS", "FUNCTIONS", "OPERATORS", "Operation", "Sort"]

Value = Array | float


class Sort(Enum):
    """What an operation asks of its values and gives back."""

    ALIKE = "values of one dimension, gives that"
    PURE = "pure numbers, gives a pure number"
    PRODUCT = "any values, gives their product"
    QUOTIENT = "any values, gives their quotient"
    SHARE = "values of one dimension, gives a pure number"
    POWER = "a value and a constant exponent"
    ROOT = "any value, gives its square root"
    FROM_ANGLE = "an angle, gives a pure number"
    TO_ANGLE = "values of one dimension, gives an angle"
    PURE_TO_ANGLE = "a pure number, gives an angle"
    COMPARISON = "values of one dimension, gives yes or no"
    LOGIC = "yes or no, gives yes or no"
    CHOICE = "yes or no and two values of one dimension, gives that"


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation.

    Parameters
    ----------
    sort : Sort
        What it does to dimensions.
    quick : callable
        On arrays that hold finite numbers and flags.
    careful : callable
        On arrays of float with NaN where there is no value, flags as 1 and 0: gives NaN where the
        result depends on a missing value or is not finite.
    counts : (int, int)
        Fewest and most values of a call.
    """

    sort: Sort
    quick: Callable[..., Any]
    careful: Callable[..., Any]
    counts: tuple[int, int] = (1, 1)


def _strictly(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give NaN where a value is missing or the result is not finite."""

    def careful(*args: Value) -> Array:
        result = np.asarray(function(*args), dtype=np.float64)
        missing = reduce(np.logical_or, (np.isnan(each) for each in args))
        return np.where(missing | ~np.isfinite(result), np.nan, result)

    return careful


def _numeric(
    sort: Sort, function: Callable[..., Any], counts: tuple[int, int] = (1, 1)
) -> Operation:
    return Operation(sort, function, _strictly(function), counts)


def _both(left: Value, right: Value) -> Array:
    """And: no as soon as one of them is no."""
    return np.where((left == 0.0) | (right == 0.0), 0.0, left * right)


def _either(left: Value, right: Value) -> Array:
    """Or: yes as soon as one of them is yes."""
    return np.where((left == 1.0) | (right == 1.0), 1.0, left + right)


def _chosen(test: Value, one: Value, other: Value) -> Array:
    """Take the value chosen: a missing one that is not chosen does no harm."""
    return np.where(test == 1.0, one, np.where(test == 0.0, other, np.nan))


def _folded(function: Callable[..., Any]) -> Callable[..., Any]:
    """Apply a function of two values to several, from the left."""
    return lambda *values: reduce(function, values)


def _power(base: Value, exponent: Value) -> Array:
    """Raise as numpy does: a negative base never turns complex, and squares stay quick."""
    raised: Array = np.asarray(base) ** exponent
    return raised


COMPARISONS: Mapping[str, Operation] = {
    sign: _numeric(Sort.COMPARISON, function)
    for sign, function in {
        "<": np.less,
        "<=": np.less_equal,
        ">": np.greater,
        ">=": np.greater_equal,
        "==": np.equal,
        "!=": np.not_equal,
    }.items()
}
"""Comparisons by their sign."""

OPERATORS: Mapping[str, Operation] = {
    "+": _numeric(Sort.ALIKE, np.add),
    "-": _numeric(Sort.ALIKE, np.subtract),
    "*": _numeric(Sort.PRODUCT, np.multiply),
    "/": _numeric(Sort.QUOTIENT, np.true_divide),
    "//": _numeric(Sort.SHARE, np.floor_divide),
    "%": _numeric(Sort.ALIKE, np.remainder),
    "**": _numeric(Sort.POWER, _power),
    "neg": _numeric(Sort.ALIKE, np.negative),
    "pos": _numeric(Sort.ALIKE, np.positive),
    "not": Operation(Sort.LOGIC, np.logical_not, lambda each: 1.0 - each),
    "and": Operation(Sort.LOGIC, _folded(np.logical_and), _folded(_both)),
    "or": Operation(Sort.LOGIC, _folded(np.logical_or), _folded(_either)),
    "if": Operation(Sort.CHOICE, np.where, _chosen),
}
"""Everything else that is written with signs and words."""

FUNCTIONS: Mapping[str, Operation] = {
    "abs": _numeric(Sort.ALIKE, np.abs),
    "min": _numeric(Sort.ALIKE, _folded(np.minimum), (2, 8)),
    "max": _numeric(Sort.ALIKE, _folded(np.maximum), (2, 8)),
    "hypot": _numeric(Sort.ALIKE, np.hypot, (2, 2)),
    "sqrt": _numeric(Sort.ROOT, np.sqrt),
    "exp": _numeric(Sort.PURE, np.exp),
    "log": _numeric(Sort.PURE, np.log),
    "log10": _numeric(Sort.PURE, np.log10),
    "floor": _numeric(Sort.PURE, np.floor),
    "ceil": _numeric(Sort.PURE, np.ceil),
    "sin": _numeric(Sort.FROM_ANGLE, np.sin),
    "cos": _numeric(Sort.FROM_ANGLE, np.cos),
    "tan": _numeric(Sort.FROM_ANGLE, np.tan),
    "asin": _numeric(Sort.PURE_TO_ANGLE, np.arcsin),
    "acos": _numeric(Sort.PURE_TO_ANGLE, np.arccos),
    "atan": _numeric(Sort.PURE_TO_ANGLE, np.arctan),
    "atan2": _numeric(Sort.TO_ANGLE, np.arctan2, (2, 2)),
}
"""Functions by name."""

CONSTANTS: Mapping[str, float] = {"pi": np.pi, "rad": 1.0}
"""Named numbers; `rad` is the angle of one radian, by which an arc becomes a length."""
