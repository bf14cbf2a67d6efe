"""A corner of the vehicle as a sketch whose points can be moved, with the curves that follow.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.pictures.corner import corner, try_corner

    session = open_session("programme.db")
    for each in corner(session, "D-TIE-ROD").points:
        print(each.key, each.at, each.address or each.why_not)
    view, ripple = try_corner(session, "D-TIE-ROD", {"tie_rod_inner": "[-165, 400, 258]"})
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tracker.contract.check import DrawsFigures
from tracker.contract.figure import Figure, FigureKind
from tracker.evaluate.engine import Cancel
from tracker.evaluate.running import gathered
from tracker.model.records import CheckUse, Decision, DecisionState, Quantity
from tracker.model.units import conversion
from tracker.model.values import Kind
from tracker.services.change_views import Ripple
from tracker.services.edits import source_of
from tracker.services.finding import found
from tracker.services.intake import Document
from tracker.services.pictures.picturing import checks_of, pictures, pictures_of
from tracker.services.pictures.views import CornerView, PicturesView, PointView
from tracker.services.ripple import ripple_view
from tracker.services.runs import figures_of
from tracker.services.session import Reading
from tracker.services.trying import trial_entries
from tracker.services.wording import CAUTION, visible

__all__ = ["corner", "try_corner", "try_pictures"]

_NOTHING = "no check that takes its points draws the vehicle"


def corner(reading: Reading, key: str, show: Sequence[str] = ()) -> CornerView:
    """Return the sketch of a corner that has to do with an item.

    It is drawn by the check that shares most points with the item: with a check what it takes in,
    with a decision or a requirement what its checks do, with a quantity itself.

    Parameters
    ----------
    show : sequence of str
        Keys of checks whose curves are wanted too.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = found(reading, key)
    points = {each for use in checks_of(reading, record) for each in _points(reading, use)}
    if isinstance(record, Quantity):
        points = {record.id} if record.kind is Kind.POINT else points
    use, sketches = _drawn_by(reading, points, record.id)
    return CornerView(
        revision=reading.head.revision,
        check="" if use is None else use.key,
        title="" if use is None else visible(use.title),
        points=() if use is None else tuple(_views(reading, use)),
        sketches=sketches,
        followers=() if use is None else tuple(_followers(reading, use)),
        curves=tuple(
            each
            for one in show
            for each in pictures_of(reading, reading.programme.named(one, CheckUse))
            if each.figure.kind is FigureKind.CURVE
        ),
        why_none=_NOTHING if use is None else "",
        caution=CAUTION,
    )


def _points(reading: Reading, use: CheckUse) -> Iterator[str]:
    """Yield the ids of the point quantities a check takes in."""
    for ref in use.inputs.values():
        record = reading.programme.get(ref.id)
        if isinstance(record, Quantity) and record.kind is Kind.POINT and not ref.part:
            yield record.id


def _drawn_by(
    reading: Reading, points: set[str], itself: str
) -> tuple[CheckUse | None, tuple[Figure, ...]]:
    """Return the check that draws the vehicle around most of the points, and its views."""
    shared = [
        (use.id == itself, len(points & set(_points(reading, use))), use)
        for use in reading.programme.of(CheckUse)
        if _draws(reading, use)
    ]
    for _, count, use in sorted(shared, key=lambda each: (not each[0], -each[1])):
        views = tuple(each for each in figures_of(reading, use) if _of_vehicle(each))
        if count and views:
            return use, views
    return None, ()


def _draws(reading: Reading, use: CheckUse) -> bool:
    graph = reading.engine.graph
    loaded = graph.nodes[graph.position[use.id]].loaded
    return loaded is not None and isinstance(loaded.check, DrawsFigures)


def _of_vehicle(figure: Figure) -> bool:
    return figure.kind is FigureKind.SKETCH and bool(figure.across.along and figure.up.along)


def _followers(reading: Reading, drawn: CheckUse) -> Iterator[tuple[str, str]]:
    """Yield the checks that depend on the points; first those of decisions that can move one."""
    graph = reading.engine.graph
    points = set(_points(reading, drawn))
    owners = {
        graph.owner.get(each)
        for each in points
        if _movable(reading, reading.programme.at(each, Quantity))[0]
    }
    uses = (use for use in reading.programme.of(CheckUse) if points & set(_points(reading, use)))
    for use in sorted(uses, key=lambda each: each.decision not in owners):
        if _draws(reading, use):
            yield use.key, visible(use.title)


def _views(reading: Reading, use: CheckUse) -> Iterator[PointView]:
    """Show the points a check takes in, in the order of its ports."""
    engine = reading.engine
    node = engine.graph.nodes[engine.graph.position[use.id]]
    assert node.loaded is not None  # noqa: S101 - it has drawn a sketch
    values, _ = gathered(node, engine.state.slots)
    for port in node.loaded.inputs:
        ref = use.inputs.get(port)
        record = reading.programme.get(ref.id) if ref is not None and not ref.part else None
        if not isinstance(record, Quantity) or record.kind is not Kind.POINT:
            continue
        to = conversion(node.loaded.units[port], record.unit)
        x, y, z = values[port][0].tolist()
        own = (x, y, z) if to is None else (to(x), to(y), to(z))
        address, why_not = _movable(reading, record)
        yield PointView(
            key=record.key,
            title=visible(record.title),
            at=(x, y, z),
            address=address,
            own=own,
            unit=record.unit.text,
            scale=1.0 if to is None else to.span(1.0),
            why_not=why_not,
        )


def _movable(reading: Reading, quantity: Quantity) -> tuple[str, str]:
    """Return what to set to move a point, or why it cannot be moved."""
    source = source_of(reading, quantity)
    if source is None:
        return quantity.key, ""
    if isinstance(source, CheckUse):
        return "", f"check {source.key} computes it: move what that takes in"
    assert isinstance(source, Decision)  # noqa: S101 - what is no check is a decision
    applied = source.applied
    if source.state is not DecisionState.LEANING or applied is None:
        return "", f"decision {source.key} is {source.state}: reopen it first"
    return f"{source.key}/{applied.key}.{quantity.key}", ""


def try_corner(
    reading: Reading,
    key: str,
    edits: Mapping[str, object],
    documents: Sequence[Document] = (),
    show: Sequence[str] = (),
    cancel: Cancel | None = None,
) -> tuple[CornerView, Ripple]:
    """Return the sketch under a trial, with what the trial does; nothing is stored.

    Raises
    ------
    InputError
        The trial does not hold.
    CancelledError
        `cancel` asked to stop.
    """
    entries = trial_entries(reading, edits, documents)
    with reading.trying(entries, cancel) as report:
        return corner(reading, key, show), ripple_view(reading, report, entries)


def try_pictures(
    reading: Reading,
    key: str,
    edits: Mapping[str, object],
    documents: Sequence[Document] = (),
    cancel: Cancel | None = None,
) -> PicturesView:
    """Return the pictures of an item under a trial; nothing is stored.

    Raises
    ------
    InputError
        The trial does not hold.
    CancelledError
        `cancel` asked to stop.
    """
    with reading.trying(trial_entries(reading, edits, documents), cancel):
        return pictures(reading, key)
