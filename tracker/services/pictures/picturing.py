"""Looking rather than reading: the curves and sketches that have to do with an item.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.pictures.picturing import pictures

    session = open_session("programme.db")
    for each in pictures(session, "SENS-1").pictures:
        print(each.figure.title, each.up, each.bands)
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

import numpy as np

from tracker.contract.figure import Axis, Figure, FigureKind
from tracker.evaluate.graph import Node
from tracker.evaluate.running import gathered
from tracker.evaluate.verdict import UNJUDGED, band_of
from tracker.model.records import CheckUse, Decision, Quantity, Record, Requirement
from tracker.model.units import Unit, conversion
from tracker.services.finding import found
from tracker.services.pictures.views import BandView, PicturesView, PictureView
from tracker.services.present import check_line, finding_view
from tracker.services.runs import figures_of
from tracker.services.session import Reading
from tracker.services.wording import CAUTION, visible

__all__ = ["checks_of", "pictures", "pictures_of"]

_DRAWN = (FigureKind.CURVE, FigureKind.SKETCH)


def pictures(reading: Reading, key: str) -> PicturesView:
    """Return the curves and sketches of the checks that have to do with an item.

    Those of a check are its own, those of a decision are its checks', those of a quantity or of
    the requirement on one are the check's that computes it, or else the checks' that take it in;
    figures with the quantity on an axis come first.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = found(reading, key)
    uses = list(checks_of(reading, record))
    shown = [each for use in uses for each in pictures_of(reading, use)]
    quantity = _quantity(reading, record)
    if quantity is not None:
        on_axis = {(use.key, port) for use in uses for port in _ports(use, quantity)}
        shown.sort(key=lambda each: not _shows(each, on_axis))
    return PicturesView(
        revision=reading.head.revision,
        key=record.key,
        pictures=tuple(shown),
        why_none="" if shown else _why_none(reading, uses),
        caution=CAUTION,
    )


def _quantity(reading: Reading, record: Record) -> Quantity | None:
    if isinstance(record, Requirement):
        record = reading.programme.at(record.quantity, Quantity)
    return record if isinstance(record, Quantity) else None


def checks_of(reading: Reading, record: Record) -> Iterator[CheckUse]:
    """Yield the checks that have to do with an item."""
    graph = reading.engine.graph
    quantity = _quantity(reading, record)
    ids: Iterable[str] = ()
    if isinstance(record, CheckUse):
        ids = (record.id,)
    elif isinstance(record, Decision):
        ids = graph.carried.get(record.id, ())
    elif quantity is not None:
        slot = graph.index[quantity.id, ""]
        writer = graph.writer.get(slot)
        slots = (slot, *(part for part, _ in graph.parts.get(slot, ())))
        readers = sorted({place for each in slots for place in graph.readers[each]})
        ids = (writer,) if writer else (graph.nodes[place].id for place in readers)
    for each in ids:
        yield reading.programme.at(each, CheckUse)


def _ports(use: CheckUse, quantity: Quantity) -> Iterator[str]:
    yield from (port for port, ref in use.inputs.items() if ref.id == quantity.id)
    yield from (port for port, each in use.outputs.items() if each == quantity.id)


def _shows(picture: PictureView, on_axis: set[tuple[str, str]]) -> bool:
    axes = (picture.figure.across, picture.figure.up)
    return any((picture.check, axis.port) in on_axis for axis in axes)


def _why_none(reading: Reading, uses: list[CheckUse]) -> str:
    if not uses:
        return "no check computes it or takes it in"
    lines = [check_line(reading, use) for use in uses]
    stuck = [f"{each.key} is {each.state}: {each.message}" for each in lines if each.message]
    return "; ".join(stuck) or "draws nothing: " + ", ".join(each.key for each in lines)


def pictures_of(
    reading: Reading, use: CheckUse, kinds: Collection[FigureKind] = _DRAWN
) -> tuple[PictureView, ...]:
    """Return a bound check's own figures of some kinds; nothing when it cannot run."""
    figures = [each for each in figures_of(reading, use) if each.kind in kinds]
    if not figures:
        return ()
    graph = reading.engine.graph
    node = graph.nodes[graph.position[use.id]]
    return tuple(_picture(reading, use, node, each) for each in figures)


def _picture(reading: Reading, use: CheckUse, node: Node, figure: Figure) -> PictureView:
    return PictureView(
        check=use.key,
        title=visible(use.title),
        figure=figure,
        across=_stands(reading, node, figure.across),
        up=_stands(reading, node, figure.up),
        bands=(
            *_bands(reading, node, figure.across, "across"),
            *_bands(reading, node, figure.up, "up"),
        ),
    )


def _stands(reading: Reading, node: Node, axis: Axis) -> float | None:
    """Return where the present design is on an axis, in the port's unit."""
    if not axis.port:
        return axis.now
    inputs, _ = gathered(node, reading.engine.state.slots)
    value = inputs.get(axis.port)
    if value is not None:
        number = _number(value)
        return axis.now if number is None else number
    return next(_emitted(reading, node, axis.port), axis.now)


def _number(value: object) -> float | None:
    """Return a single number as it is; None for anything else."""
    single = isinstance(value, np.ndarray) and value.shape == (1,) and value.dtype == np.float64
    return float(value[0]) if single else None  # type: ignore[index] # an array, then


def _emitted(reading: Reading, node: Node, port: str) -> Iterator[float]:
    """Yield what a check gave at an output port, in the port's unit, if that is a number."""
    for emit in node.emits:
        number = _number(reading.engine.state.slots[emit.slot])
        if emit.port == port and number is not None:
            to = conversion(_unit_at(reading, emit.slot), _port_unit(node, port))
            yield number if to is None else to(number)


def _port_unit(node: Node, port: str) -> Unit:
    assert node.loaded is not None  # noqa: S101 - it has drawn a figure
    return node.loaded.units[port]


def _unit_at(reading: Reading, slot: int) -> Unit:
    """Return the unit of a slot: its quantity's, or of an unbound output the port's own."""
    record_id, part = reading.engine.graph.keys[slot]
    record = reading.programme.get(record_id)
    if isinstance(record, Quantity):
        return record.unit
    graph = reading.engine.graph
    return _port_unit(graph.nodes[graph.position[record_id]], part.removeprefix("port:"))


def _bands(reading: Reading, node: Node, axis: Axis, name: str) -> Iterator[BandView]:
    """Return the bands on the quantity an axis shows, in the axis's unit."""
    graph = reading.engine.graph
    slots = [each.slot for each in node.emits if each.port == axis.port]
    slots += [each.slot for each in node.gathers if each.port == axis.port]
    for place in dict.fromkeys(place for slot in slots for place in graph.judged_by[slot]):
        judge = graph.judges[place]
        requirement = reading.programme.get(judge.id)
        if judge.rule is not None:
            band = judge.rule.band
        else:
            assert isinstance(requirement, Requirement)  # noqa: S101 - what is no rule is one
            band = band_of(requirement)
        if band.allowed:
            continue
        band = band.convert(conversion(judge.measure.unit, _port_unit(node, axis.port)))
        finding = reading.engine.state.findings[place]
        judgement = UNJUDGED if finding is None else finding.judgement
        yield BandView(
            judge=finding_view(reading, place).judge,
            axis=name,
            lower=band.lower,
            upper=band.upper,
            verdict=judgement.verdict.value,
        )
