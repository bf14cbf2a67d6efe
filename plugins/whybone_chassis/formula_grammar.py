"""From the text of a formula to a small tree: a whitelist over Python's own grammar.

The text is hostile. Its length, its characters, the nesting and number of its parts and the size
of its numbers are bounded before and while it is read; nothing of it is ever executed.
"""

from __future__ import annotations

import ast
import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NoReturn

from whybone_chassis.formula_operations import COMPARISONS, FUNCTIONS, OPERATORS

__all__ = ["LONGEST", "Apply", "FormulaError", "Name", "Node", "Number", "parse"]

LONGEST = 500
"""Characters of a formula at most."""

_DEEPEST = 20
_MOST_PARTS = 200
_MOST_CHAINED = 8
_LARGEST = 1e30
_ALLOWED = re.compile(r"[A-Za-z0-9_ \t\r\n.,+\-*/%()<>=!]*")
_NUMBER = re.compile(r"(?<![A-Za-z0-9_.])(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NUMBER_START = re.compile(r"(?<![A-Za-z0-9_])[0-9.]")
_BEFORE_NUMBER = re.compile(r"[A-Za-z0-9_.]")
_SIGNS = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.FloorDiv: "//",
    ast.Mod: "%",
    ast.Pow: "**",
    ast.USub: "neg",
    ast.UAdd: "pos",
    ast.Not: "not",
    ast.And: "and",
    ast.Or: "or",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}


class FormulaError(ValueError):
    """A formula cannot be read, or does not fit its units; the message says where and why."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written."""

    exact: Fraction

    @property
    def value(self) -> float:
        """The float nearest to it."""
        return float(self.exact)


@dataclass(frozen=True, slots=True)
class Name:
    """An input or a named constant, and where it stands."""

    key: str
    at: int


@dataclass(frozen=True, slots=True)
class Apply:
    """An operation on some parts, and where it stands."""

    operation: str
    args: tuple[Node, ...]
    at: int


Node = Number | Name | Apply


def parse(text: str) -> Node:
    """Read a formula.

    Parameters
    ----------
    text : str
        Python arithmetic, comparisons, `and`, `or`, `not`, `a if c else b`, and calls of
        `FUNCTIONS`.

    Returns
    -------
    Node
        Its tree; chained comparisons taken apart.

    Raises
    ------
    FormulaError
        Anything else, or too much of it.
    """
    if not text.strip():
        raise FormulaError("the formula is empty")
    if len(text) > LONGEST:
        raise FormulaError(f"it is longer than {LONGEST} characters")
    _look_over(text)
    try:
        tree = ast.parse(text.strip(), mode="eval")
    except SyntaxError as error:
        raise FormulaError(f"it cannot be read: {error.msg} (character {error.offset})") from error
    except (ValueError, MemoryError, RecursionError) as error:
        raise FormulaError("it is nested too deep") from error
    return _Reader().read(tree.body, 0)


def _look_over(text: str) -> None:
    """Refuse characters and numbers Python might read in another way."""
    good = _ALLOWED.match(text)
    end = good.end() if good else 0
    if end < len(text):
        raise FormulaError(f"character {end + 1} does not belong into a formula")
    numbers = {found.start(): found.end() for found in _NUMBER.finditer(text)}
    for start in _NUMBER_START.finditer(text):
        inside = any(begin <= start.start() < stop for begin, stop in numbers.items())
        if not inside:
            raise FormulaError(f"character {start.start() + 1}: there is no number here")
    for stop in numbers.values():
        if _BEFORE_NUMBER.match(text, stop):
            raise FormulaError(f"character {stop + 1} does not belong into a number")


class _Reader:
    """Turns Python's tree into ours, counting."""

    def __init__(self) -> None:
        self._parts = 0

    def read(self, node: ast.expr, depth: int) -> Node:
        self._parts += 1
        if depth > _DEEPEST:
            raise FormulaError(f"it is nested deeper than {_DEEPEST}")
        if self._parts > _MOST_PARTS:
            raise FormulaError(f"it has more than {_MOST_PARTS} parts")
        match node:
            case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
                return _number(value, node)
            case ast.Name(id=key):
                return Name(key, node.col_offset)
            case ast.BinOp(left=left, op=sign, right=right):
                return self._apply(node, _sign(sign, node), [left, right], depth)
            case ast.UnaryOp(op=sign, operand=operand):
                return self._apply(node, _sign(sign, node), [operand], depth)
            case ast.BoolOp(op=sign, values=values):
                return self._folded(node, _sign(sign, node), values, depth)
            case ast.Compare(left=left, ops=signs, comparators=others):
                return self._compare(node, [left, *others], signs, depth)
            case ast.IfExp(test=test, body=body, orelse=other):
                return self._apply(node, "if", [test, body, other], depth)
            case ast.Call(func=ast.Name(id=key), args=args, keywords=[]):
                return self._call(node, key, args, depth)
        _refuse(node)

    def _apply(self, at: ast.expr, operation: str, args: list[ast.expr], depth: int) -> Apply:
        read = tuple(self.read(each, depth + 1) for each in args)
        return Apply(operation, read, at.col_offset)

    def _folded(self, at: ast.expr, operation: str, args: list[ast.expr], depth: int) -> Node:
        whole, *rest = (self.read(each, depth + 1) for each in args)
        for each in rest:
            whole = Apply(operation, (whole, each), at.col_offset)
        return whole

    def _compare(
        self, at: ast.expr, sides: list[ast.expr], signs: list[ast.cmpop], depth: int
    ) -> Node:
        if len(signs) > _MOST_CHAINED:
            raise FormulaError(f"it chains more than {_MOST_CHAINED} comparisons")
        read = [self.read(each, depth + 1) for each in sides]
        pairs: list[Node] = [
            Apply(_sign(sign, at), (left, right), at.col_offset)
            for sign, left, right in zip(signs, read, read[1:], strict=False)
        ]
        whole, *rest = pairs
        for each in rest:
            whole = Apply("and", (whole, each), at.col_offset)
        return whole

    def _call(self, at: ast.expr, key: str, args: list[ast.expr], depth: int) -> Apply:
        if key not in FUNCTIONS:
            raise FormulaError(
                f"character {at.col_offset + 1}: no function {key!r}; there are "
                + ", ".join(FUNCTIONS)
            )
        least, most = FUNCTIONS[key].counts
        if not least <= len(args) <= most:
            wanted = str(least) if least == most else f"{least} to {most}"
            raise FormulaError(f"{key} takes {wanted} values, not {len(args)}")
        return self._apply(at, key, args, depth)


def _number(value: float, node: ast.expr) -> Number:
    if not math.isfinite(value) or abs(value) > _LARGEST:
        raise FormulaError(f"character {node.col_offset + 1}: the number is beyond {_LARGEST:g}")
    # repr is the shortest text of the float: 0.1 is taken as one tenth.
    return Number(Fraction(repr(value)))


def _sign(sign: ast.AST, node: ast.expr) -> str:
    text = _SIGNS.get(type(sign), "")
    if text not in OPERATORS and text not in COMPARISONS:
        _refuse(node)
    return text


def _refuse(node: ast.expr) -> NoReturn:
    what = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(node).__name__).lower()
    raise FormulaError(
        f"character {node.col_offset + 1}: {what} does not belong into a formula; write "
        "arithmetic, comparisons, a if c else b, and calls of " + ", ".join(FUNCTIONS)
    )
