"""Which inputs a verdict depends on most: local derivatives, carried back through the graph.

Each check on the way is differentiated by itself: by what it knows of its derivatives, else by
central differences, extrapolated, with an estimate of their error. The chain rule puts them
together. All of it holds at the present values and close to them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

import numpy as np

from tracker.errors import BadValueError, CancelledError
from tracker.evaluate.binding import measure_of
from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.graph import Node
from tracker.evaluate.verdict import band_of
from tracker.explore.partials import Cell, Partial, partials
from tracker.explore.sources import Source, source_at
from tracker.model.records import CheckUse, Quantity, Ref, Requirement
from tracker.model.values import AXES, Kind

__all__ = ["Driver", "Swing", "drivers"]

Progress = Callable[[str], None]

_SHARE = 0.01  # of its size, where a source has neither tolerance nor range
_STEP = 0.001  # m, of what has no size of its own
_LENGTH = (("length", Fraction(1)),)


class Swing(StrEnum):
    """What a driver's effect is measured by.

    Its tolerance, else half its adjustable range. Where it has neither: 1 % of the size of a number
    that has one, 1 mm for a coordinate and for a length of zero (how far a point lies from the
    origin says nothing of how far it moves). Nothing for the rest: a zero, a direction, a
    temperature above some freezing point; their slopes stand by themselves.
    """

    TOLERANCE = "tolerance"
    RANGE = "range"
    SHARE = "1 % of its size"
    STEP = "default step"
    NOTHING = "neither tolerance nor range"


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
    swing : float or None
        Half-width the source moves by, in its unit; None where nothing tells.
    by : Swing
        Where that comes from.
    effect : float or None
        |slope| · swing: how far the judged value moves.
    share : float or None
        The effect as a share of the band's scale.
    """

    source: Source
    slope: float
    doubt: float
    analytic: bool
    swing: float | None
    by: Swing
    effect: float | None
    share: float | None


@dataclass(slots=True)
class _Back:
    """What is known of a cell: derivative of the judged value by it."""

    slope: float = 0.0
    doubt: float = 0.0
    analytic: bool = True


def drivers(
    engine: Engine,
    requirement_id: str,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> list[Driver]:
    """Return the sources a requirement's value depends on, the strongest first.

    Last come those whose effect is not known, for want of a slope or of something to measure by.

    Parameters
    ----------
    engine : Engine
        The present; only read.
    requirement_id : str
        Of a requirement on a number.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

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
    back = _carried_back(engine, slot, cancel, progress)
    width = band_of(requirement).width
    found = [_driver(engine, cell, held, width) for cell, held in _at_sources(engine, back)]
    return sorted(found, key=_rank)


def _rank(driver: Driver) -> tuple[bool, float]:
    known = driver.effect is not None and np.isfinite(driver.effect)
    return not known, -(driver.effect or 0.0) if known else 0.0


def _carried_back(
    engine: Engine, slot: int, cancel: Cancel | None, progress: Progress | None
) -> dict[Cell, _Back]:
    """Apply the chain rule from a slot back to everything it depends on."""
    back: dict[Cell, _Back] = defaultdict(_Back)
    back[_whole(engine, slot)] = _Back(1.0)
    touched, count = {cell[0] for cell in back}, 0
    for node in reversed(engine.graph.nodes):
        if not touched.intersection(node.outputs):
            continue
        if cancel is not None and cancel():
            raise CancelledError("stopped between two checks")
        if progress is not None:
            progress(
                f"{count} checks differentiated, now {engine.programme.at(node.id, CheckUse).key}"
            )
        count += 1
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
    effect = None if swing is None else abs(held.slope) * swing
    return Driver(
        source=source,
        slope=held.slope,
        doubt=held.doubt,
        analytic=held.analytic,
        swing=swing,
        by=by,
        effect=effect,
        share=None if width is None or effect is None else effect / width,
    )


def _swing(engine: Engine, source: Source) -> tuple[float | None, Swing]:
    record = engine.programme.get(source.id)
    tolerance = record.tolerance if isinstance(record, Quantity) else None
    if tolerance is not None and not source.part.startswith("["):
        return tolerance.half_width, Swing.TOLERANCE
    if source.low is not None and source.high is not None:
        return (source.high - source.low) / 2, Swing.RANGE
    coordinate = source.part in AXES
    if source.number and not coordinate and not source.unit.offset:
        return _SHARE * abs(source.number), Swing.SHARE
    if source.unit.dimension == _LENGTH:
        return _STEP / source.unit.scale, Swing.STEP
    return None, Swing.NOTHING
