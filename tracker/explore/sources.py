"""What can be moved by itself: a quantity, a component or cell of one, a bound of a requirement."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tracker.errors import BadValueError, BindingError, SourceError
from tracker.evaluate.binding import BOUND_PARTS, Measure, measure_of, part_measure
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Slot, value_of
from tracker.evaluate.sources import project
from tracker.model.records import Quantity, Ref, Requirement
from tracker.model.units import Unit
from tracker.model.values import AXES, Kind, Value

__all__ = ["Source", "adjustables", "bounds", "pickables", "source_at", "sources_at"]

_NUMBERS = (Kind.REAL, Kind.INTEGER)


@dataclass(frozen=True, slots=True)
class Source:
    """Something that can be moved by itself.

    Parameters
    ----------
    id, part : str
        Record and part: empty, `x`, `[row].column`, `lower` …
    kind : Kind
        Of what moves: real, integer, choice or flag.
    unit : Unit
        Its unit.
    value : Value
        The present value.
    low, high : float or None
        Where it may move; None is open.
    choices : tuple of str
        Of a choice.
    """

    id: str
    part: str
    kind: Kind
    unit: Unit
    value: Value
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()

    @property
    def number(self) -> float:
        """The present value of a real or integer."""
        assert isinstance(self.value, int | float)  # noqa: S101 - the caller asked for numbers
        return float(self.value)


def source_at(engine: Engine, record_id: str, part: str = "") -> Source:
    """Return what an address moves, with its present value.

    Raises
    ------
    SourceError
        A check computes it.
    BadValueError
        It has no value now, is a point or table as a whole, or nothing that has a value.
    BindingError
        There is no such part.
    """
    record = engine.programme.get(record_id)
    if isinstance(record, Requirement):
        return _bound(engine, record, part)
    if not isinstance(record, Quantity):
        key = record.key if record else record_id
        raise BadValueError("it holds no value that could move", item=key)
    measure = part_measure(record, part)
    _refuse_computed(engine, record)
    if measure.kind in (Kind.POINT, Kind.TABLE):
        remedy = "Name a component, KEY.x" if measure.kind is Kind.POINT else "Name a cell"
        raise BadValueError(f"a {measure.kind} does not move whole", item=record.key, remedy=remedy)
    return _of_quantity(engine, record, part, measure)


def _refuse_computed(engine: Engine, quantity: Quantity) -> None:
    graph = engine.graph
    writer = engine.programme.get(graph.writer.get(graph.index[quantity.id, ""], ""))
    if writer is not None:
        raise SourceError(
            f"it is computed by check {writer.key}", item=quantity.key, remedy="Ask for its inputs"
        )


def _of_quantity(engine: Engine, quantity: Quantity, part: str, measure: Measure) -> Source:
    value = value_of(_held(engine, quantity, part), measure.kind, measure.choices)
    if value is None:
        raise BadValueError("it has no value now", item=quantity.key, field=part)
    low, high = _range_of(quantity, part) if measure.kind in _NUMBERS else (None, None)
    return Source(
        id=quantity.id,
        part=part,
        kind=measure.kind,
        unit=measure.unit,
        value=value,
        low=low,
        high=high,
        choices=measure.choices,
    )


def _range_of(quantity: Quantity, part: str) -> tuple[float | None, float | None]:
    """Return the range of a component itself, else that of its quantity; cells have none."""
    if part in quantity.part_ranges:
        own = quantity.part_ranges[part]
        return own.low, own.high
    return (quantity.low, quantity.high) if not part or part in AXES else (None, None)


def _held(engine: Engine, quantity: Quantity, part: str) -> Slot:
    slot = engine.graph.index[quantity.id, ""]
    held = engine.state.slots[slot]
    return project(engine.programme, engine.graph, slot, part, held) if part else held


def _bound(engine: Engine, requirement: Requirement, part: str) -> Source:
    if part not in BOUND_PARTS:
        raise BindingError(
            "a requirement moves by its bounds",
            item=requirement.key,
            remedy="Name one: " + ", ".join(f"{requirement.key}.{each}" for each in BOUND_PARTS),
        )
    if part == "guard":
        return Source(requirement.id, part, Kind.REAL, Unit(""), requirement.guard, 0.0, None)
    bound = getattr(requirement, part)
    if bound is None:
        raise BadValueError(f"it has no {part} bound", item=requirement.key, field=part)
    ref = Ref(id=requirement.quantity, part=requirement.part)
    unit = measure_of(engine.programme, ref).unit
    below = requirement.lower.value if part == "upper" and requirement.lower else None
    above = requirement.upper.value if part == "lower" and requirement.upper else None
    return Source(requirement.id, part, Kind.REAL, unit, bound.value + 0.0, below, above)


def sources_at(engine: Engine, record_id: str, part: str = "") -> list[Source]:
    """Return what an address moves: the components of a point, the bounds of a requirement.

    Raises
    ------
    InputError
        As for `source_at`.
    """
    record = engine.programme.get(record_id)
    if not part and isinstance(record, Requirement):
        return list(_bounds_of(engine, record))
    if not part and isinstance(record, Quantity) and record.kind is Kind.POINT:
        return [source_at(engine, record_id, axis) for axis in AXES]
    return [source_at(engine, record_id, part)]


def _bounds_of(engine: Engine, requirement: Requirement) -> Iterator[Source]:
    for part in ("lower", "upper"):
        if getattr(requirement, part) is not None:
            yield source_at(engine, requirement.id, part)


def adjustables(engine: Engine) -> list[Source]:
    """Return every source with an adjustable range and a value: what may be moved on purpose.

    The range of a point as a whole is meant for those of its components that have no range of their
    own and now lie within it.
    """
    found: list[Source] = []
    for quantity in engine.programme.of(Quantity):
        slot = engine.graph.index[quantity.id, ""]
        ranged = quantity.low is not None or quantity.high is not None or quantity.part_ranges
        held = value_of(engine.state.slots[slot], quantity.kind, quantity.choices)
        movable = quantity.kind in (*_NUMBERS, Kind.POINT)
        if ranged and movable and held is not None and slot not in engine.graph.writer:
            every = sources_at(engine, quantity.id)
            found += [each for each in every if each.part in quantity.part_ranges or _ranged(each)]
    return found


def pickables(engine: Engine) -> list[Source]:
    """Return every choice and flag that has a value and that no check computes."""
    found: list[Source] = []
    for quantity in engine.programme.of(Quantity):
        slot = engine.graph.index[quantity.id, ""]
        held = value_of(engine.state.slots[slot], quantity.kind, quantity.choices)
        picked = quantity.kind in (Kind.CHOICE, Kind.FLAG)
        if picked and held is not None and slot not in engine.graph.writer:
            found.append(source_at(engine, quantity.id))
    return found


def _ranged(source: Source) -> bool:
    """Tell whether a quantity's range is meant for a source: of a point, for what it holds now."""
    if source.low is None and source.high is None:
        return False
    above = source.low is None or source.number >= source.low
    below = source.high is None or source.number <= source.high
    return not source.part or (above and below)


def bounds(engine: Engine) -> list[Source]:
    """Return the lower and upper bounds of every requirement."""
    every = engine.programme.of(Requirement)
    return [source for requirement in every for source in _bounds_of(engine, requirement)]
