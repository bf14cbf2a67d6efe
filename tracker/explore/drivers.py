"""Which inputs a verdict depends on most: local derivatives, carried back through the graph.

Each check on the way is differentiated by itself: by what it knows of its derivatives, else by
central differences, extrapolated, with an estimate of their error. The chain rule puts them
together. All of it holds at the present values and close to them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from tracker.errors import BadValueError, CancelledError
from tracker.evaluate.binding import measure_of
from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.graph import Node
from tracker.evaluate.verdict import band_of
from tracker.explore.partials import Cell, Partial, partials
from tracker.explore.sources import Source, source_at
from tracker.model.records import Quantity, Ref, Requirement
from tracker.model.values import AXES, Kind

__all__ = ["Driver", "Swing", "drivers"]

_SHARE = 0.01  # of its size, where a source has neither tolerance nor range


class Swing(StrEnum):
    """What a driver's effect is measured by."""

    TOLERANCE = "tolerance"
    RANGE = "range"
    SHARE = "1 % of its size"


@dataclass(frozen=True, slots=True)
class Driver:
    """A source and what it does to a judged value.

    Parameters
    ----------
    source : Source
        What drives.
    slope : float
        Change of the judged value by change of the source, in their units; NaN where the value has
        no derivative here.
    doubt : float
        Estimate of the slope's error; 0 where every check on the way knows its derivatives.
    analytic : bool
        Whether it does.
    swing : float
        Half-width the source moves by, in its unit.
    by : Swing
        Where that comes from.
    effect : float
        |slope| · swing: how far the judged value moves.
    share : float or None
        The effect as a share of the band's scale.
    """

    source: Source
    slope: float
    doubt: float
    analytic: bool
    swing: float
    by: Swing
    effect: float
    share: float | None


@dataclass(slots=True)
class _Back:
    """What is known of a cell: derivative of the judged value by it."""

    slope: float = 0.0
    doubt: float = 0.0
    analytic: bool = True


def drivers(engine: Engine, requirement_id: str, cancel: Cancel | None = None) -> list[Driver]:
    """Return the sources a requirement's value depends on, the strongest first.

    Parameters
    ----------
    engine : Engine
        The present; only read.
    requirement_id : str
        Of a requirement on a number.
    cancel : callable, optional
        Asked between checks.

    Raises
    ------
    BadValueError
        It judges no number, or its value is unknown.
    CancelledError
        `cancel` asked to stop.
    """
    requirement = engine.programme.at(requirement_id, Requirement)
    slot = engine.graph.judges[engine.graph.judges_of[requirement_id][0]].slot
    ref = Ref(id=requirement.quantity, part=requirement.part)
    if measure_of(engine.programme, ref).kind not in (Kind.REAL, Kind.INTEGER):
        raise BadValueError("it judges no number", item=requirement.key)
    if not isinstance(engine.state.slots[slot], np.ndarray):
        raise BadValueError("its value is not known now", item=requirement.key)
    back = _carried_back(engine, slot, cancel)
    width = band_of(requirement).width
    found = [_driver(engine, cell, held, width) for cell, held in _at_sources(engine, back)]
    return sorted(found, key=lambda each: -np.nan_to_num(each.effect, nan=-1.0))


def _carried_back(engine: Engine, slot: int, cancel: Cancel | None) -> dict[Cell, _Back]:
    """Apply the chain rule from a slot back to everything it depends on."""
    back: dict[Cell, _Back] = defaultdict(_Back)
    back[_whole(engine, slot)] = _Back(1.0)
    touched = {cell[0] for cell in back}
    for node in reversed(engine.graph.nodes):
        if not touched.intersection(node.outputs):
            continue
        if cancel is not None and cancel():
            raise CancelledError("stopped between two checks")
        for (out, cell), partial in _partials_of(engine, node).items():
            held, into = back.get(out), back[_whole(engine, *cell)]
            if held is not None and (partial.slope != 0 or partial.doubt != 0):
                into.slope += held.slope * partial.slope
                into.doubt += abs(held.slope) * partial.doubt + held.doubt * abs(partial.slope)
                into.analytic &= held.analytic and partial.analytic
        touched |= {cell[0] for cell in back}
    return back


def _partials_of(engine: Engine, node: Node) -> dict[tuple[Cell, Cell], Partial]:
    def size_of(cell: Cell) -> float:
        return _size(engine, _whole(engine, *cell))

    return partials(engine, node, size_of)


def _whole(engine: Engine, slot: int, axis: int = 0) -> Cell:
    """Return the cell that a slot stands for: the slot of a component becomes its point's."""
    record_id, part = engine.graph.keys[slot]
    if part in AXES and isinstance(engine.programme.get(record_id), Quantity):
        return engine.graph.index[record_id, ""], AXES.index(part)
    return slot, axis


def _size(engine: Engine, cell: Cell) -> float:
    """Return the size that steps are measured against: never zero."""
    held = engine.state.slots[cell[0]]
    assert isinstance(held, np.ndarray)  # noqa: S101 - differentiated at a value
    record = engine.programme.get(engine.graph.keys[cell[0]][0])
    sizes = [float(np.abs(held).max())]
    if isinstance(record, Quantity) and record.tolerance:
        sizes.append(record.tolerance.half_width)
    return max(sizes) or 1.0


def _at_sources(engine: Engine, back: dict[Cell, _Back]) -> Iterator[tuple[Source, _Back]]:
    for (slot, axis), held in back.items():
        record_id, part = engine.graph.keys[slot]
        record = engine.programme.get(record_id)
        if slot not in engine.graph.writer:
            point = isinstance(record, Quantity) and record.kind is Kind.POINT
            yield source_at(engine, record_id, AXES[axis] if point else part), held


def _driver(engine: Engine, source: Source, held: _Back, width: float | None) -> Driver:
    swing, by = _swing(engine, source)
    effect = abs(held.slope) * swing
    return Driver(
        source=source,
        slope=held.slope,
        doubt=held.doubt,
        analytic=held.analytic,
        swing=swing,
        by=by,
        effect=effect,
        share=None if width is None else effect / width,
    )


def _swing(engine: Engine, source: Source) -> tuple[float, Swing]:
    record = engine.programme.get(source.id)
    tolerance = record.tolerance if isinstance(record, Quantity) else None
    if tolerance is not None and not source.part.startswith("["):
        return tolerance.half_width, Swing.TOLERANCE
    if source.low is not None and source.high is not None:
        return (source.high - source.low) / 2, Swing.RANGE
    slot = engine.graph.index[source.id, source.part if isinstance(record, Requirement) else ""]
    held = engine.state.slots[slot]
    whole = float(np.abs(held).max()) if isinstance(held, np.ndarray) else abs(source.number)
    return _SHARE * whole, Swing.SHARE
