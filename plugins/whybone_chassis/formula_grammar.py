"""From the text of a formula to a small tree: a whitelist over Python's own grammar.

The text is hostile. Its length, its characters, the nesting and number of its parts and the size
of its numbers are bounded before and while it is read; nothing of it is ever executed.
"""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from whybone_chassis.formula_operations import FUNCTIONS

__all__ = ["LONGEST", "Apply", "FormulaError", "Name", "Node", "Number", "parse"]

LONGEST = 500
"""Characters of a formula at most."""

_DEEPEST = 60
_MOST_PARTS = 200
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
        """Read a part; depth is how many others it stands in."""
        self._parts += 1
        if depth > _DEEPEST:
            raise FormulaError(f"it is nested deeper than {_DEEPEST}")
        if self._parts > _MOST_PARTS:
            raise FormulaError(f"it has more than {_MOST_PARTS} parts")
        if isinstance(node, ast.Constant):
            return _number(node)
        if isinstance(node, ast.Name):
            return Name(node.id, node.col_offset)
        if isinstance(node, ast.Compare):
            return self._compare(node, depth)
        operation, args = _taken_apart(node)
        return self._apply(node, operation, args, depth)

    def _apply(self, at: ast.expr, operation: str, args: list[ast.expr], depth: int) -> Apply:
        read = tuple(self.read(each, depth + 1) for each in args)
        return Apply(operation, read, at.col_offset)

    def _compare(self, node: ast.Compare, depth: int) -> Node:
        """Take a chained comparison apart: a < b < c is a < b and b < c."""
        sides = [self.read(each, depth + 1) for each in (node.left, *node.comparators)]
        pairs = tuple(
            Apply(_sign(sign, node), pair, node.col_offset)
            for sign, pair in zip(node.ops, pairwise(sides), strict=True)
        )
        return pairs[0] if len(pairs) == 1 else Apply("and", pairs, node.col_offset)


def _taken_apart(node: ast.expr) -> tuple[str, list[ast.expr]]:
    """Return the operation of a part and what it is applied to."""
    match node:
        case ast.BinOp(left=left, op=sign, right=right):
            return _sign(sign, node), [left, right]
        case ast.UnaryOp(op=sign, operand=operand):
            return _sign(sign, node), [operand]
        case ast.BoolOp(op=sign, values=values):
            return _sign(sign, node), values
        case ast.IfExp(test=test, body=body, orelse=other):
            return "if", [test, body, other]
        case ast.Call(func=ast.Name(id=key), args=args, keywords=[]):
            _look_up(key, len(args), node)
            return key, args
    raise _refusal(node)


def _look_up(key: str, count: int, node: ast.expr) -> None:
    if key not in FUNCTIONS:
        raise FormulaError(
            f"character {node.col_offset + 1}: no function {key!r}; there are "
            + ", ".join(FUNCTIONS)
        )
    least, most = FUNCTIONS[key].counts
    if not least <= count <= most:
        wanted = str(least) if least == most else f"{least} to {most}"
        raise FormulaError(f"{key} takes {wanted} values, not {count}")


def _number(node: ast.Constant) -> Number:
    value = node.value
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise _refusal(node)
    if abs(value) > _LARGEST:
        raise FormulaError(f"character {node.col_offset + 1}: the number is beyond {_LARGEST:g}")
    # repr is the shortest text of a float: 0.1 is taken as one tenth.
    return Number(Fraction(repr(value)))


def _sign(sign: ast.AST, node: ast.expr) -> str:
    if type(sign) not in _SIGNS:
        raise _refusal(node)
    return _SIGNS[type(sign)]


def _refusal(node: ast.expr) -> FormulaError:
    what = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(node).__name__).lower()
    return FormulaError(
        f"character {node.col_offset + 1}: {what} does not belong into a formula; write "
        "arithmetic, comparisons, a if c else b, and calls of " + ", ".join(FUNCTIONS)
    )
