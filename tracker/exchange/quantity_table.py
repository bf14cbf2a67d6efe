"""A table of quantities into documents, one quantity to a row."""

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
from tracker.model.records import Quantity, kind_of
from tracker.model.units import ONE, conversion
from tracker.model.values import Kind
from tracker.services.building import about
from tracker.services.session import Reading

__all__ = ["QUANTITIES"]

_NUMBERS = ("value", "tolerance", "low", "high")
_CREATED = (Kind.REAL, Kind.INTEGER, Kind.FLAG, Kind.POINT)
_PLAIN = (Kind.CHOICE, Kind.FLAG)


def _documents(rows: Sequence[Row], reading: Reading) -> Documents:
    return collected(rows, partial(_quantity, reading))


def _quantity(reading: Reading, row: Row) -> Iterator[Document]:
    key = row.cells["key"]
    held = reading.programme.find(key)
    if held is not None and not isinstance(held, Quantity):
        raise row.wrong("key", f"{key} is a {kind_of(held)}", "Give the quantity another key")
    _check_type(row, held)
    _check_units(reading, row, held)
    document: Document = {"kind": "quantity", "key": key} | row.filled(("title", "source"))
    document |= {name: row.cells[name].lower() for name in row.filled(("type", "basis"))}
    document |= dated(row)
    document |= {name: row.typed(name) for name in row.filled(_NUMBERS)}
    if held is None:
        document["unit"] = "" if row.unit("value") == PURE else row.unit("value")
    yield document


def _check_type(row: Row, held: Quantity | None) -> None:
    said = row.cells.get("type", "").lower()
    if held is not None and said not in ("", held.kind):
        message = f"{held.key} is of type {held.kind}, not {said[:40]}"
        raise row.wrong("type", message, "Leave it empty, or give the quantity another key")
    kind = held.kind.value if held else said or Kind.REAL
    if held is None and kind not in _CREATED:
        message = f"{row.cells['key'][:80]} is new and cannot be made as {kind[:40]} here"
        raise row.wrong("type", message, f"New ones are {', '.join(_CREATED)}; add others first")
    if kind in _PLAIN and row.unit("value"):
        raise row.wrong(_said_in(row, "value"), f"a {kind} has no unit", "Leave it out")


def _check_units(reading: Reading, row: Row, held: Quantity | None) -> None:
    """Refuse a unit that cannot be read, or that measures something else than the quantity."""
    for name in ("unit", *_NUMBERS):
        if row.cells.get(name) and (text := row.unit(name)):
            with about(row.place, row.label(_said_in(row, name))):
                unit = ONE if text == PURE else reading.tools.units.read(text)
                if held is not None:
                    conversion(unit, held.unit)


def _said_in(row: Row, name: str) -> str:
    return "unit" if row.cells.get("unit") else name


QUANTITIES = TableKind(
    columns=(
        "key", "title", "type", "unit", "value", "tolerance", "low", "high", "basis", "source",
        "dated",
    ),
    required=("key",),
    numbers=frozenset(_NUMBERS),
    measured=frozenset(_NUMBERS),
    telling=frozenset(_NUMBERS),
    long=frozenset(),
    aliases={"nominal": "value", "tol": "tolerance", **SHARED_ALIASES},
    documents=_documents,
)  # fmt: skip
"""A table of quantities; a key that exists gets what its row states."""
