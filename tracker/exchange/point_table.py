"""A table of points into documents of quantities, one point to a row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from tracker.exchange.tables import (
    PURE,
    SHARED_ALIASES,
    Document,
    Documents,
    Row,
    TableKind,
    collected,
    dated,
)
from tracker.model.numbers import read_typed
from tracker.model.records import Quantity, kind_of
from tracker.model.units import Unit
from tracker.model.values import AXES, Kind
from tracker.services.building import about
from tracker.services.reading import read_real
from tracker.services.session import Reading

__all__ = ["POINTS"]


def _documents(rows: Sequence[Row], reading: Reading) -> Documents:
    return collected(rows, partial(_point, reading))


def _point(reading: Reading, row: Row) -> Iterator[Document]:
    key = row.cells["key"]
    held = reading.programme.find(key)
    if held is not None and not (isinstance(held, Quantity) and held.kind is Kind.POINT):
        kind = f"quantity of type {held.kind}" if isinstance(held, Quantity) else kind_of(held)
        raise row.wrong("key", f"{key} is a {kind}, not a point", "Give the point another key")
    for axis in AXES:
        if not row.cells[axis]:
            remedy = "A point has three coordinates: fill it in, or take the row out"
            raise row.wrong(axis, "the cell is empty", remedy)
        if row.unit(axis) == PURE:
            raise row.wrong(axis, "a coordinate is no pure number", "Say its unit, as in x [mm]")
    document: Document = {"kind": "quantity", "key": key, "type": "point"}
    document |= row.filled(("title", "source")) | dated(row)
    document |= {name: text.lower() for name, text in row.filled(["basis"]).items()}
    if isinstance(held, Quantity):
        yield {**document, "value": _value(reading, row, held.unit)}
        return
    unit = _own_unit(reading, row)
    document.setdefault("title", key)
    yield {**document, "unit": unit.text, "value": _value(reading, row, unit)}


def _own_unit(reading: Reading, row: Row) -> Unit:
    """Return the unit a new point is kept in: that of its first coordinate."""
    text = row.unit("x") or read_typed(row.cells["x"], **_at(row, "x")).unit_text
    if not text:
        remedy = "Write it into the header, as in x [mm]"
        raise row.wrong("x", "the point is new and its unit is not said", remedy)
    with about(row.place, row.label("x")):
        return reading.tools.units.read(text)


def _value(reading: Reading, row: Row, unit: Unit) -> object:
    """Return the point as typed where one unit says it all, else as numbers in its unit."""
    texts = {axis: row.typed(axis) for axis in AXES}
    numbers = [
        read_real(texts[axis], unit, reading.tools.units, **_at(row, axis))[0] for axis in AXES
    ]
    typed = [read_typed(text) for text in texts.values()]
    if len({each.unit_text for each in typed}) > 1:
        return numbers
    inside = ", ".join(each.number_text for each in typed)
    return f"[{inside}] {typed[0].unit_text}".rstrip()


def _at(row: Row, column: str) -> dict[str, str]:
    return {"item": row.place, "field": row.label(column)}


POINTS = TableKind(
    columns=("key", *AXES, "unit", "title", "basis", "source", "dated"),
    required=("key", *AXES),
    numbers=frozenset(AXES),
    measured=frozenset(AXES),
    telling=frozenset(AXES),
    long=frozenset(),
    aliases={"point": "key", **SHARED_ALIASES},
    documents=_documents,
)
"""A table of points: coordinates with a unit in the header, in a column or in the cells."""
