"""Partial derivatives of one check's outputs by its inputs, in the units of the slots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import GivesDerivatives
from tracker.evaluate.binding import Emit, Gather
from tracker.evaluate.columns import KNOWN, Column
from tracker.evaluate.engine import Engine
from tracker.evaluate.graph import Node
from tracker.evaluate.running import gathered
from tracker.evaluate.sweep import run_rows
from tracker.evaluate.sweep_results import Results
from tracker.model.values import AXES

__all__ = ["Cell", "Partial", "partials"]

Cell = tuple[int, int]
"""A slot and a component of it; 0 where it has none."""

Reals = NDArray[np.float64]
_STEPS = np.array([1e-2, 1e-3, 1e-4])  # shares of an input's size
_OFFSETS = np.array([-1.0, -0.5, 0.5, 1.0])
_EPS = float(np.finfo(np.float64).eps)


@dataclass(frozen=True, slots=True)
class Partial:
    """A derivative.

    Parameters
    ----------
    slope : float
        NaN where there is none.
    doubt : float
        Estimate of its error; 0 when analytic.
    analytic : bool
        Whether the check gave it.
    """

    slope: float
    doubt: float = 0.0
    analytic: bool = False


def partials(
    engine: Engine, node: Node, size_of: Callable[[Cell], float]
) -> dict[tuple[Cell, Cell], Partial]:
    """Differentiate a check at the present.

    Parameters
    ----------
    engine : Engine
        The present.
    node : Node
        A check that gives all its outputs.
    size_of : callable
        Cell → size of the input, which the steps are measured against.

    Returns
    -------
    dict of (Cell, Cell) to Partial
        (output, input) → derivative, of all reals and components of points.
    """
    given = _analytic(engine, node)
    inputs = [
        (gather, (gather.slot, axis))
        for gather in node.gathers
        for axis in range(_width(engine, gather.slot))
    ]
    wanted = [
        (gather, cell)
        for gather, cell in inputs
        if any((out, cell) not in given for emit in node.emits for out in _cells(emit))
    ]
    return {**_differences(engine, node, wanted, size_of), **given}


def _width(engine: Engine, slot: int) -> int:
    """Return how many reals a slot holds."""
    held = engine.state.slots[slot]
    real = isinstance(held, np.ndarray) and held.dtype == np.float64
    return len(np.ravel(held)) if real else 0  # type: ignore[arg-type] # an array


def _cells(emit: Emit) -> list[Cell]:
    real = emit.dtype == np.float64
    return [(emit.slot, axis) for axis in range(int(np.prod(emit.shape)) if real else 0)]


def _analytic(engine: Engine, node: Node) -> dict[tuple[Cell, Cell], Partial]:
    """Return what the check itself knows, carried over to the units of the slots."""
    loaded = node.loaded
    assert loaded is not None  # noqa: S101 - the check ran
    if not isinstance(loaded.check, GivesDerivatives):
        return {}
    inputs, block = gathered(node, engine.state.slots)
    assert block is None  # noqa: S101 - as above
    outs = {emit.port: emit for emit in node.emits}
    gathers: dict[str, list[Gather]] = {}
    for gather in node.gathers:
        if _width(engine, gather.slot):  # whole numbers have no small change
            gathers.setdefault(gather.port, []).append(gather)
    found: dict[tuple[Cell, Cell], Partial] = {}
    for (output, name), slope in loaded.check.derivatives(inputs, loaded.config).items():
        (out, out_axis), (port, axis) = _named(output), _named(name)
        for gather in gathers.get(port, ()):
            if out in outs:
                emit = outs[out]
                slots = float(slope[0]) * _scale(emit.convert) * _scale(gather.convert)
                pair = ((emit.slot, out_axis), (gather.slot, axis))
                found[pair] = Partial(slots, analytic=True)
    return found


def _named(name: str) -> tuple[str, int]:
    port, _, axis = name.partition(".")
    return port, AXES.index(axis) if axis else 0


def _scale(convert: Callable[[Any], Any] | None) -> float:
    """Return the factor of a conversion, which is affine."""
    if convert is None:
        return 1.0
    one, zero = convert(np.ones(1)), convert(np.zeros(1))
    return float((one - zero)[0])


def _differences(
    engine: Engine,
    node: Node,
    wanted: list[tuple[Gather, Cell]],
    size_of: Callable[[Cell], float],
) -> dict[tuple[Cell, Cell], Partial]:
    """Differentiate numerically, all inputs and steps in one batch."""
    each = len(_STEPS) * len(_OFFSETS)
    count = each * len(wanted) + 1
    if count == 1:
        return {}
    slots = engine.state.slots
    base = np.zeros(count, dtype=np.intp)
    inputs = {gather: Column.of([slots[gather.slot]]).taken(base) for gather in node.gathers}
    for number, (gather, cell) in enumerate(wanted):
        moves = np.outer(_STEPS * size_of(cell), _OFFSETS).ravel()
        rows = slice(1 + number * each, 1 + (number + 1) * each)
        values = inputs[gather].values.copy()
        values.reshape(count, -1)[rows, cell[1]] += moves
        inputs[gather] = replace(inputs[gather], values=values)
    results = Results(node, count)
    with np.errstate(all="ignore"):
        run_rows(node, inputs, results)
    return {
        (out, cell): _slope(_column(results, out), number, size_of(cell))
        for number, (_, cell) in enumerate(wanted)
        for emit in node.emits
        for out in _cells(emit)
    }


def _column(results: Results, out: Cell) -> Reals:
    values = results.values[out[0]].reshape(results.count, -1)[:, out[1]].astype(np.float64)
    return np.where(results.status[out[0]] == KNOWN, values, np.nan)


def _slope(values: Reals, number: int, size: float) -> Partial:
    """Return the slope of the step that leaves the least doubt.

    Central differences of two widths, extrapolated; where one side has no value, one-sided ones.
    """
    each = len(_STEPS) * len(_OFFSETS)
    rows = values[1 + number * each : 1 + (number + 1) * each].reshape(len(_STEPS), -1)
    step, now = _STEPS * size, values[0]
    left, near_left, near_right, right = rows.T
    wide, narrow = (right - left) / (2 * step), (near_right - near_left) / step
    slopes = [(4 * narrow - wide) / 3]
    doubts = [np.maximum(np.abs(narrow - wide), _unlike_neighbours(slopes[0]))]
    for far, near, sign in ((right, near_right, 1.0), (left, near_left, -1.0)):
        curved = sign * (4 * near - 3 * now - far) / step
        slopes.append(curved)
        doubts.append(np.abs(curved - sign * (near - now) / (step / 2)))
    noise = 4 * _EPS * np.abs(now) / step
    doubt = np.array(doubts) + noise
    central = np.isfinite(doubt[0]).any()
    doubt, slope = (doubt[:1], np.array(slopes[:1])) if central else (doubt, np.array(slopes))
    if not np.isfinite(doubt).any():
        return Partial(float("nan"), float("nan"))
    best = np.unravel_index(np.nanargmin(doubt), doubt.shape)
    return Partial(float(slope[best]), float(doubt[best]))


def _unlike_neighbours(slopes: Reals) -> Reals:
    """Return how far each slope is from the nearer of those of the next steps.

    The two widths of one step may agree by chance.
    """
    apart = np.abs(np.diff(slopes))
    ahead, behind = np.append(apart, np.nan), np.insert(apart, 0, np.nan)
    return np.asarray(np.nan_to_num(np.fmin(ahead, behind), nan=0.0))
