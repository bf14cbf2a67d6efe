"""What can be said of a formula wherever it has a value: which way it follows its inputs.

Signs decide it: a product rises with a factor where the other one is never negative. They come from
the inputs stated as positive, from squares, roots and sizes, and from numbers, by interval
arithmetic. Where that leaves a doubt, nothing is said. Numbers out of range are left aside.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from whybone_chassis.formula_grammar import Apply, Name, Node, Number
from whybone_chassis.formula_operations import CONSTANTS

__all__ = ["POSITIVE", "Span", "trends_of"]

Span = tuple[float, float]
"""Least and largest value."""
POSITIVE: Span = (float(np.finfo(np.float64).tiny), np.inf)
"""Where positive numbers lie."""
Trend = int | None
Trends = dict[str, Trend]

_ALL: Span = (-np.inf, np.inf)
_FLAG: Span = (0.0, 1.0)
_HUGE = 700.0  # exp of it is still a number


@dataclass(slots=True)
class _Part:
    """What is known of a part.

    Parameters
    ----------
    span : Span
        Its values lie within.
    trends : dict of str to Trend
        Inputs it depends on: 1 never falls with it, −1 never rises, 0 stays, None not known.
    blocked : set of str
        Inputs of which nothing may be said: with others they decide whether there is a value.
    gaps : bool
        Whether it may have no value though all its inputs have one.
    """

    span: Span = _ALL
    trends: Trends = field(default_factory=dict)
    blocked: set[str] = field(default_factory=set)
    gaps: bool = False


def trends_of(node: Node, spans: Mapping[str, Span]) -> Trends:
    """Tell how a formula follows its inputs.

    Parameters
    ----------
    node : Node
        A formula whose dimensions fit.
    spans : mapping of str to Span
        Its inputs, and where their values lie.

    Returns
    -------
    dict of str to int or None
        As `DeclaresTrends.monotone`: over the inputs with a trend, rows between two rows with a
        value have a value too.
    """
    part = _known(node, spans)
    return {key: None if key in part.blocked else each for key, each in part.trends.items()}


def _known(node: Node, spans: Mapping[str, Span]) -> _Part:
    if isinstance(node, Number):
        return _Part((float(node.exact),) * 2)
    if isinstance(node, Name):
        if node.key in spans:
            return _Part(spans[node.key], {node.key: 1})
        return _Part((CONSTANTS[node.key],) * 2)
    args = [_known(each, spans) for each in node.args]
    part = _Part(
        blocked=set().union(*(each.blocked for each in args)),
        gaps=any(each.gaps for each in args),
    )
    _RULES.get(node.operation, _unclear)(part, args, node)
    return part


def _sign(span: Span) -> Trend:
    """Return 1 for never negative, −1 for never positive, 0 for zero, None for either."""
    low, high = span
    if low >= 0.0:
        return 0 if high == 0.0 else 1
    return -1 if high <= 0.0 else None


def _times(trend: Trend, sign: Trend) -> Trend:
    if trend == 0 or sign == 0:
        return 0
    return None if trend is None or sign is None else trend * sign


def _joined(one: Trend, other: Trend) -> Trend:
    if one is None or other is None or one * other < 0:
        return None
    return one or other


def _put_together(args: Sequence[_Part], signs: Sequence[Trend]) -> Trends:
    """Join the trends of the arguments, each with the sign it counts by."""
    found: Trends = {}
    for part, sign in zip(args, signs, strict=True):
        for key, trend in part.trends.items():
            found[key] = _joined(found.get(key, 0), _times(trend, sign))
    return found


def _needs(part: _Part, arg: _Part, low: float, high: float, but: float | None = None) -> None:
    """Ask a value to lie between two others, and perhaps not to be one of them.

    Where one input alone decides that and the value follows it one way, it decides by an interval;
    several inputs together need not.
    """
    inside = arg.span[0] >= low and arg.span[1] <= high
    if inside and but not in arg.span:
        return
    part.gaps = True
    if len(arg.trends) > 1 or None in arg.trends.values():
        part.blocked |= arg.trends.keys()


def _unclear(part: _Part, args: Sequence[_Part], _: Apply) -> None:
    """Say nothing."""
    part.trends = {key: None for each in args for key in each.trends}


def _blocking(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    """Say nothing, not even where there is a value."""
    _unclear(part, args, node)
    part.blocked |= part.trends.keys()
    part.gaps = True


def _sum(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    one, other = args
    low, high = other.span if node.operation == "+" else (-other.span[1], -other.span[0])
    part.span = (one.span[0] + low, one.span[1] + high)
    part.trends = _put_together(args, (1, 1 if node.operation == "+" else -1))


def _product(part: _Part, args: Sequence[_Part], _: Apply) -> None:
    one, other = args
    part.span = _multiplied(one.span, other.span)
    part.trends = _put_together(args, (_sign(other.span), _sign(one.span)))


def _multiplied(one: Span, other: Span) -> Span:
    ends = [0.0 if 0.0 in (a, b) else a * b for a in one for b in other]
    return min(ends), max(ends)


def _quotient(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    one, other = args
    sign = _sign(other.span)
    if not sign:
        part.gaps = True
        part.blocked |= other.trends.keys()
        part.trends = _put_together(args, (None, None))
        return
    _needs(part, other, *((0.0, np.inf) if sign > 0 else (-np.inf, 0.0)), but=0.0)
    part.span = _multiplied(one.span, _inverse(other.span))
    if node.operation == "//":
        part.span = (float(np.floor(part.span[0])), float(np.floor(part.span[1])))
    part.trends = _put_together(args, (sign, _times(_sign(one.span), -1)))


def _inverse(span: Span) -> Span:
    """Return where 1 over a value of one sign lies."""
    low, high = span
    if low < 0.0:
        return (-np.inf if high == 0.0 else 1.0 / high), 1.0 / low + 0.0
    return 1.0 / high + 0.0, (np.inf if low == 0.0 else 1.0 / low)


def _power(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    base, exponent = args
    number, sign = exponent.span[0], _sign(base.span)
    if exponent.trends or number != exponent.span[1] or number == 0.0:
        _blocking(part, args, node)
    elif number.is_integer() and number > 0.0:
        part.span, part.trends = _whole_power(base, number)
    elif number.is_integer() and sign != 1:  # a gap in the middle
        _blocking(part, args, node)
    else:
        _needs(part, base, 0.0, np.inf, but=0.0 if number < 0.0 else None)
        part.span = (0.0, np.inf)
        part.trends = _put_together([base], [1 if number > 0.0 else -1])


def _whole_power(base: _Part, number: float) -> tuple[Span, Trends]:
    low, high = (_raised(each, number) for each in base.span)
    if number % 2.0:
        return (low, high), dict(base.trends)
    sign = _sign(base.span)
    return (0.0 if sign is None else min(low, high), max(low, high)), _put_together([base], [sign])


def _raised(base: float, number: float) -> float:
    with np.errstate(over="ignore"):
        return float(np.float64(base) ** number)


def _size(part: _Part, args: Sequence[_Part], _: Apply) -> None:
    """Of abs and hypot: they follow the size of what they are given."""
    signs = [_sign(each.span) for each in args]
    part.span = (0.0, np.inf)
    part.trends = _put_together(args, signs)


def _through(
    *,
    by: int = 1,
    span: Callable[[Span], Span] = lambda _: _ALL,
    low: float = -np.inf,
    high: float = np.inf,
    but: float | None = None,
) -> Callable[[_Part, Sequence[_Part], Apply], None]:
    """Return the rule of a function that rises (by 1) or falls (by −1) between two values."""

    def rule(part: _Part, args: Sequence[_Part], _: Apply) -> None:
        _needs(part, args[0], low, high, but)
        part.span = span(args[0].span)
        part.trends = _put_together(args, [by])

    return rule


def _extreme(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    pick = min if node.operation == "min" else max
    part.span = (pick(each.span[0] for each in args), pick(each.span[1] for each in args))
    part.trends = _put_together(args, [1] * len(args))


def _compared(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    part.span = _FLAG
    less = node.operation[0] == "<"
    part.trends = _put_together(args, (-1, 1) if less else (1, -1))


def _logic(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    part.span = _FLAG
    part.trends = _put_together(args, [-1 if node.operation == "not" else 1] * len(args))
    if part.gaps:  # one side may tell without the other
        part.blocked |= part.trends.keys()


def _choice(part: _Part, args: Sequence[_Part], node: Apply) -> None:
    _, one, other = args
    part.span = (min(one.span[0], other.span[0]), max(one.span[1], other.span[1]))
    part.trends = _put_together(args, (None, 1, 1))
    if part.gaps:  # what is not chosen may lack a value
        _blocking(part, args, node)


def _whole(function: Callable[[float], float]) -> Callable[[Span], Span]:
    return lambda span: (float(function(span[0])), float(function(span[1])))


_RULES: Mapping[str, Callable[[_Part, Sequence[_Part], Apply], None]] = {
    "+": _sum,
    "-": _sum,
    "*": _product,
    "/": _quotient,
    "//": _quotient,
    "%": _blocking,
    "**": _power,
    "neg": _through(by=-1, span=lambda span: (-span[1], -span[0])),
    "pos": _through(span=lambda span: span),
    "not": _logic,
    "and": _logic,
    "or": _logic,
    "if": _choice,
    **dict.fromkeys(("<", "<=", ">", ">="), _compared),
    "abs": _size,
    "hypot": _size,
    "min": _extreme,
    "max": _extreme,
    "sqrt": _through(span=lambda span: (0.0, max(span[1], 0.0) ** 0.5), low=0.0),
    "exp": _through(span=lambda _: (0.0, np.inf), high=_HUGE),
    "log": _through(low=0.0, but=0.0),
    "log10": _through(low=0.0, but=0.0),
    "floor": _through(span=_whole(np.floor)),
    "ceil": _through(span=_whole(np.ceil)),
    "tan": _blocking,
    "asin": _through(low=-1.0, high=1.0),
    "acos": _through(by=-1, low=-1.0, high=1.0),
    "atan": _through(),
}
"""Operation → what is known of it; of those that are not there nothing is, but that they answer."""
