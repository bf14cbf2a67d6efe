"""What a formula measures: dimensions of its parts, and working units it is computed in."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from tracker.contract.units import Dimension, Unit
from whybone_chassis.formula_grammar import Apply, FormulaError, Name, Node, Number
from whybone_chassis.formula_operations import (
    COMPARISONS,
    CONSTANTS,
    FUNCTIONS,
    OPERATORS,
    Operation,
    Sort,
)

__all__ = ["ANGLE", "Sense", "WorkingUnits", "constant_of", "in_words", "sense_of"]

ANGLE: Dimension = (("angle", Fraction(1)),)
_PURE: Dimension = ()
_LARGEST_POWER = 12
_FINEST_POWER = 12  # largest denominator of an exponent
_SAME = 1e-12  # relative: scales this close differ by rounding only


@dataclass(frozen=True, slots=True)
class Sense:
    """What a part of a formula is.

    Parameters
    ----------
    dimension : Dimension or None
        Of a number; None for the literal 0, which is nothing in every unit.
    is_flag : bool
        Whether it is yes or no.
    """

    dimension: Dimension | None = None
    is_flag: bool = False


def sense_of(node: Node, names: Mapping[str, Sense]) -> Sense:
    """Work out what a formula gives.

    Parameters
    ----------
    node : Node
        The formula.
    names : mapping of str to Sense
        Its inputs.

    Raises
    ------
    FormulaError
        A name is unknown, or dimensions do not fit.
    """
    if isinstance(node, Number):
        return Sense(_PURE if node.exact else None)
    if isinstance(node, Name):
        return _named(node.key, node.at, names)
    senses = [sense_of(each, names) for each in node.args]
    return _applied(node, operation_of(node.operation), senses)


def operation_of(key: str) -> Operation:
    """Return an operation by its sign, word or name."""
    table = next(each for each in (OPERATORS, COMPARISONS, FUNCTIONS) if key in each)
    return table[key]


def _named(key: str, at: int, names: Mapping[str, Sense]) -> Sense:
    if key in names:
        return names[key]
    if key in CONSTANTS:
        return Sense(ANGLE if key == "rad" else _PURE)
    raise FormulaError(
        f"character {at + 1}: {key!r} is neither an input nor a constant; there are "
        + ", ".join([*names, *CONSTANTS])
    )


def _applied(node: Apply, operation: Operation, senses: list[Sense]) -> Sense:
    sort = operation.sort
    if sort is Sort.LOGIC:
        for each in senses:
            _flag(node, each)
        return Sense(_PURE, is_flag=True)
    if sort is Sort.CHOICE:
        _flag(node, senses[0])
        return _chosen(node, senses[1:])
    dimensions = [_number(node, each) for each in senses]
    if sort is Sort.COMPARISON:
        _alike(node, dimensions)
        return Sense(_PURE, is_flag=True)
    return Sense(_dimension(node, sort, dimensions))


def _chosen(node: Apply, senses: list[Sense]) -> Sense:
    if all(each.is_flag for each in senses):
        return Sense(_PURE, is_flag=True)
    return Sense(_alike(node, [_number(node, each) for each in senses]))


def _dimension(node: Apply, sort: Sort, dimensions: list[Dimension | None]) -> Dimension | None:
    match sort:
        case Sort.ALIKE | Sort.SHARE | Sort.TO_ANGLE:
            alike = _alike(node, dimensions)
            return {Sort.SHARE: _PURE, Sort.TO_ANGLE: ANGLE}.get(sort, alike)
        case Sort.PRODUCT | Sort.QUOTIENT:
            first, second = dimensions
            sign = 1 if sort is Sort.PRODUCT else -1
            return None if first is None or second is None else _product(first, second, sign)
        case Sort.POWER:
            return _raised(node, dimensions)
        case Sort.ROOT:
            only = dimensions[0]
            return None if only is None else _power(only, Fraction(1, 2))
    wanted = ANGLE if sort is Sort.FROM_ANGLE else _PURE
    if dimensions[0] not in {None, wanted}:
        raise _wrong(node, f"wants {in_words(wanted)}, not {in_words(dimensions[0])}")
    return ANGLE if sort is Sort.PURE_TO_ANGLE else _PURE


def _raised(node: Apply, dimensions: list[Dimension | None]) -> Dimension | None:
    """Return the dimension of a power; only a constant can raise what is no pure number."""
    base, exponent = dimensions
    if exponent not in {None, _PURE}:
        raise _wrong(node, f"wants a pure number as exponent, not {in_words(exponent)}")
    constant = constant_of(node.args[1])
    if constant is not None and abs(constant) > _LARGEST_POWER:
        raise _wrong(node, f"raises to more than {_LARGEST_POWER}")
    if not base:
        return base if constant is None or constant > 0 else _PURE
    if constant is None:
        raise _wrong(node, f"raises {in_words(base)} to a power that is no constant")
    near = constant.limit_denominator(_FINEST_POWER)
    if abs(near - constant) > Fraction(1, 10**9):
        raise _wrong(node, f"raises {in_words(base)} to a power that is no simple fraction")
    return _power(base, near)


_EXACT: Mapping[str, Callable[..., Fraction]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "**": operator.pow,
    "neg": operator.neg,
    "pos": operator.pos,
}


def constant_of(node: Node) -> Fraction | None:
    """Return the value of a part made of numbers alone, by + − * / ** and signs; else None.

    Powers are only worked out where they are whole and small.
    """
    if isinstance(node, Number):
        return node.exact
    if not isinstance(node, Apply) or node.operation not in _EXACT:
        return None
    values = [constant_of(each) for each in node.args]
    known = [each for each in values if each is not None]
    if len(known) < len(values):
        return None
    if node.operation == "**" and not (
        known[1].denominator == 1 and abs(known[1]) <= _LARGEST_POWER
    ):
        return None
    try:
        return _EXACT[node.operation](*known)
    except ZeroDivisionError:
        return None


def _alike(node: Apply, dimensions: list[Dimension | None]) -> Dimension | None:
    known = [each for each in dimensions if each is not None]
    for each in known[1:]:
        if each != known[0]:
            raise _wrong(node, f"mixes {in_words(known[0])} with {in_words(each)}")
    return known[0] if known else None


def _number(node: Apply, sense: Sense) -> Dimension | None:
    if sense.is_flag:
        raise _wrong(node, "wants a number, not yes or no; write a if c else b")
    return sense.dimension


def _flag(node: Apply, sense: Sense) -> None:
    if not sense.is_flag:
        raise _wrong(node, "wants yes or no: compare the number with something")


def _wrong(node: Apply, what: str) -> FormulaError:
    shown = {"neg": "-", "pos": "+"}.get(node.operation, node.operation)
    return FormulaError(f"character {node.at + 1}: {shown} {what}")


def _product(first: Dimension, second: Dimension, sign: int) -> Dimension:
    powers = dict(first)
    for name, power in second:
        powers[name] = powers.get(name, Fraction(0)) + sign * power
    return tuple(sorted((name, power) for name, power in powers.items() if power))


def _power(dimension: Dimension, exponent: Fraction) -> Dimension:
    return tuple((name, power * exponent) for name, power in dimension if exponent)


def in_words(dimension: Dimension | None) -> str:
    """Name a dimension for a message, e.g. `length·mass/time^2`."""
    if not dimension:
        return "a pure number"
    above = [_factor(name, power) for name, power in dimension if power > 0]
    below = [_factor(name, -power) for name, power in dimension if power < 0]
    return "·".join(above or ["1"]) + "".join(f"/{each}" for each in below)


def _factor(name: str, power: Fraction) -> str:
    return name if power == 1 else f"{name}^{power}"


@dataclass(frozen=True, slots=True)
class _Pivot:
    lead: str
    row: Mapping[str, Fraction]
    scale: float


class WorkingUnits:
    """Units a formula is computed in: as many of the user's own as go together.

    A formula whose dimensions fit gives the same in any coherent units. Computing in the user's
    spares conversions, so that 2.3 mm stay 2.3 mm. Angles are in rad, temperatures in K.

    Parameters
    ----------
    units : iterable of Unit
        The user's, the ones to keep first.
    """

    def __init__(self, units: Iterable[Unit]) -> None:
        self._pivots: list[_Pivot] = []
        for name in ("angle", "temperature"):
            self._pivots.append(_Pivot(name, {name: Fraction(1)}, 1.0))
        for unit in units:
            self._take(unit)

    def factor(self, unit: Unit) -> float:
        """Return what a number in a unit is multiplied by to be in working units."""
        _, scale = self._reduced(unit.dimension)
        factor = unit.scale / scale
        return 1.0 if abs(factor - 1.0) <= _SAME else factor

    def _take(self, unit: Unit) -> None:
        """Keep a unit as it is, unless those kept already fix its scale."""
        left, scale = self._reduced(unit.dimension)
        if not left:
            return
        lead = min(left)
        power = left[lead]
        row = {name: each / power for name, each in left.items()}
        self._pivots.append(_Pivot(lead, row, (unit.scale / scale) ** float(1 / power)))

    def _reduced(self, dimension: Dimension) -> tuple[dict[str, Fraction], float]:
        """Take the units kept out of a dimension; return what is left and the scale so far."""
        left, scale = dict(dimension), 1.0
        for pivot in self._pivots:
            times = left.get(pivot.lead, Fraction(0))
            if times:
                scale *= pivot.scale ** float(times)
                for name, power in pivot.row.items():
                    left[name] = left.get(name, Fraction(0)) - times * power
        return {name: power for name, power in left.items() if power}, scale
