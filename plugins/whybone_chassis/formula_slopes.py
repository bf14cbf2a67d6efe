"""Derivatives of a formula by its inputs, exactly, by the rules of differentiation part by part."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from whybone_chassis.answers import Reals
from whybone_chassis.formula_dimensions import operation_of
from whybone_chassis.formula_grammar import Name, Node, Number
from whybone_chassis.formula_operations import CONSTANTS

__all__ = ["slopes_of"]

Slopes = dict[str, Reals]
"""Input → derivative; an input that is not there has none but zero."""
_Rule = Callable[[Reals, Sequence[Reals]], Sequence[Reals]]
"""From the value of a part and those of its arguments to its derivative by each argument."""

_KINK = np.nan


def slopes_of(node: Node, values: Mapping[str, Reals]) -> tuple[Reals, Slopes]:
    """Compute a formula and its derivatives.

    Parameters
    ----------
    node : Node
        A formula whose dimensions fit.
    values : mapping of str to ndarray, shape (n,)
        Its inputs in working units; flags as 1 and 0.

    Returns
    -------
    value : ndarray, shape (n,)
        NaN where there is none.
    slopes : dict of str to ndarray, shape (n,)
        By every input that is used; NaN at kinks and jumps, and where there is no value.
    """
    if isinstance(node, Number):
        return _all_rows(float(node.exact), values), {}
    if isinstance(node, Name):
        if node.key in CONSTANTS and node.key not in values:
            return _all_rows(CONSTANTS[node.key], values), {}
        return values[node.key], {node.key: _all_rows(1.0, values)}
    parts = [slopes_of(each, values) for each in node.args]
    args = [value for value, _ in parts]
    value = np.asarray(operation_of(node.operation).careful(*args), dtype=np.float64)
    if node.operation == "if":
        return value, _of_choice(args[0], [slopes for _, slopes in parts])
    partials = _RULES[node.operation](value, args)
    found: Slopes = {}
    for (_, slopes), partial in zip(parts, partials, strict=True):
        for key, slope in slopes.items():
            found[key] = found.get(key, 0.0) + partial * slope
    return value, {key: np.where(np.isfinite(value), each, np.nan) for key, each in found.items()}


def _all_rows(number: float, values: Mapping[str, Reals]) -> Reals:
    return np.full(len(next(iter(values.values()))), number)


def _of_choice(test: Reals, slopes: Sequence[Slopes]) -> Slopes:
    """Take the slope of the branch that is chosen; a test that is on its edge has NaN for one."""
    edge, one, other = slopes
    zero = np.zeros(len(test))
    return {
        key: np.where(test == 1.0, one.get(key, zero), other.get(key, zero)) + edge.get(key, zero)
        for key in {**edge, **one, **other}
    }


def _power(value: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    base, exponent = args
    return exponent * base ** (exponent - 1.0), np.log(base) * value


def _extreme(value: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    """Of min and max: the one that is taken; there is none where two of them are."""
    taken = np.sum([each == value for each in args], axis=0)
    return [np.where(each == value, np.where(taken == 1, 1.0, _KINK), 0.0) for each in args]


def _stepped(value: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    """Of floor and ceil: flat between whole numbers."""
    return (np.where(args[0] == value, _KINK, 0.0),)


def _whole_share(value: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    flat = np.where(args[0] == value * args[1], _KINK, 0.0)
    return flat, flat


def _remainder(value: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    jump = value == 0.0
    times = np.floor(args[0] / args[1])
    return np.where(jump, _KINK, 1.0), np.where(jump, _KINK, -times)


def _compared(_: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    """Of comparisons: they switch where both sides are equal."""
    edge = np.where(args[0] == args[1], _KINK, 0.0)
    return edge, edge


def _logic(value: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    """Of and, or, not: they hand on whether something switches, which the slopes carry as NaN."""
    return [np.zeros(len(value)) for _ in args]


def _angle(_: Reals, args: Sequence[Reals]) -> Sequence[Reals]:
    y, x = args
    square = np.where((y == 0.0) & (x < 0.0), _KINK, x * x + y * y)  # the jump from −180° to 180°
    return x / square, -y / square


_RULES: Mapping[str, _Rule] = {
    "+": lambda v, a: (np.ones(len(v)), np.ones(len(v))),  # noqa: ARG005 - one form for all rules
    "-": lambda v, a: (np.ones(len(v)), -np.ones(len(v))),  # noqa: ARG005 - as above
    "*": lambda _, a: (a[1], a[0]),
    "/": lambda v, a: (1.0 / a[1], -v / a[1]),
    "//": _whole_share,
    "%": _remainder,
    "**": _power,
    "neg": lambda v, a: (-np.ones(len(v)),),  # noqa: ARG005 - as above
    "pos": lambda v, a: (np.ones(len(v)),),  # noqa: ARG005 - as above
    "not": _logic,
    "and": _logic,
    "or": _logic,
    **dict.fromkeys(("<", "<=", ">", ">=", "==", "!="), _compared),
    "abs": lambda _, a: (np.where(a[0] == 0.0, _KINK, np.sign(a[0])),),
    "min": _extreme,
    "max": _extreme,
    "hypot": lambda v, a: (a[0] / v, a[1] / v),
    "sqrt": lambda v, a: (0.5 / v,),  # noqa: ARG005 - as above
    "exp": lambda v, a: (v,),  # noqa: ARG005 - as above
    "log": lambda _, a: (1.0 / a[0],),
    "log10": lambda _, a: (1.0 / (a[0] * np.log(10.0)),),
    "floor": _stepped,
    "ceil": _stepped,
    "sin": lambda _, a: (np.cos(a[0]),),
    "cos": lambda _, a: (-np.sin(a[0]),),
    "tan": lambda v, a: (1.0 + v * v,),  # noqa: ARG005 - as above
    "asin": lambda _, a: (1.0 / np.sqrt((1.0 - a[0]) * (1.0 + a[0])),),
    "acos": lambda _, a: (-1.0 / np.sqrt((1.0 - a[0]) * (1.0 + a[0])),),
    "atan": lambda _, a: (1.0 / (1.0 + a[0] * a[0]),),
    "atan2": _angle,
}
"""Operation → its derivatives, where it has a value."""
