"""Computing a formula over a batch: a straight list of operations, each part once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, cast

import numpy as np

from tracker.contract.check import Array
from whybone_chassis.answers import Reals
from whybone_chassis.formula_dimensions import constant_of, operation_of
from whybone_chassis.formula_grammar import Apply, FormulaError, Name, Node
from whybone_chassis.formula_operations import CONSTANTS, Operation

__all__ = ["Program", "compiled"]

_BLOCK = 16_384  # rows at a time, so that what is in between stays in the cache


@dataclass(frozen=True, slots=True)
class Program:
    """A formula made ready to compute.

    Parameters
    ----------
    inputs : tuple of str
        Inputs that fill the first registers.
    constants : tuple of float
        Numbers that fill the next.
    steps : tuple
        Operations and the registers they read; each fills the next register.
    result : int
        Register the result is in.
    """

    inputs: tuple[str, ...]
    constants: tuple[float, ...]
    steps: tuple[tuple[Operation, tuple[int, ...]], ...]
    result: int

    def run(self, inputs: Mapping[str, Array], rows: int) -> Reals:
        """Compute a batch.

        Parameters
        ----------
        inputs : mapping of str to ndarray, shape (rows,)
            Finite numbers and flags; what comes of others is not told.
        rows : int
            Size of the batch.

        Returns
        -------
        ndarray, shape (rows,)
            NaN where the formula has no finite value or hangs on one that is missing; flags as 1
            and 0.
        """
        result = np.empty(rows)
        for start in range(0, rows, _BLOCK):
            block = slice(start, start + _BLOCK)
            result[block] = self._block([inputs[key][block] for key in self.inputs])
        return result

    def _block(self, values: Sequence[Array]) -> Any:  # noqa: ANN401  an array, or a number for all rows
        """Compute some rows; with care only where one of them needs it.

        The processor tells of every division by zero, overflow and invalid operation. Both ways
        compute the same numbers, so a row never depends on its neighbours.
        """
        try:
            with np.errstate(divide="raise", over="raise", invalid="raise", under="ignore"):
                return self._walk(values, lambda operation: operation.quick)
        except FloatingPointError:
            with np.errstate(all="ignore"):  # what is lost becomes NaN
                return self._walk(values, lambda operation: operation.careful)

    def _walk(self, values: Sequence[Array], way: Callable[[Operation], Callable[..., Any]]) -> Any:  # noqa: ANN401  as above
        registers: list[Any] = [*values, *self.constants]
        for operation, args in self.steps:
            registers.append(way(operation)(*(registers[each] for each in args)))
        return registers[self.result]


@dataclass(slots=True)
class _Compiler:
    inputs: tuple[str, ...]
    constants: list[float] = field(default_factory=list)
    steps: list[tuple[Operation, tuple[int, ...]]] = field(default_factory=list)
    seen: dict[tuple[object, ...], int] = field(default_factory=dict)

    def collect(self, node: Node) -> None:
        """Gather the constants, so that registers can be numbered."""
        value = self._constant(node)
        if value is not None and value not in self.constants:
            self.constants.append(value)
        elif value is None and isinstance(node, Apply):
            for each in node.args:
                self.collect(each)

    def place(self, node: Node) -> int:
        """Return the register a part ends up in."""
        value = self._constant(node)
        if value is not None:
            return len(self.inputs) + self.constants.index(value)
        if isinstance(node, Apply):
            return self._step(node)
        return self.inputs.index(cast("Name", node).key)  # a number is a constant

    def _step(self, node: Apply) -> int:
        """Add an operation, unless the same one is there already."""
        args = tuple(self.place(each) for each in node.args)
        key = (node.operation, *args)
        if key not in self.seen:
            self.steps.append((operation_of(node.operation), args))
            self.seen[key] = len(self.inputs) + len(self.constants) + len(self.steps) - 1
        return self.seen[key]

    def _constant(self, node: Node) -> float | None:
        if isinstance(node, Name):
            return None if node.key in self.inputs else CONSTANTS[node.key]
        exact = constant_of(node)
        if exact is None:
            return None
        try:
            return float(exact)
        except OverflowError as error:
            raise FormulaError("a part made of numbers alone is out of range") from error


def compiled(node: Node, inputs: tuple[str, ...]) -> Program:
    """Make a formula ready to compute.

    Parameters
    ----------
    node : Node
        A formula whose dimensions fit.
    inputs : tuple of str
        Its inputs; every other name is a constant.

    Raises
    ------
    FormulaError
        A part made of numbers alone is out of range.
    """
    compiler = _Compiler(inputs)
    compiler.collect(node)
    result = compiler.place(node)
    return Program(inputs, tuple(compiler.constants), tuple(compiler.steps), result)
