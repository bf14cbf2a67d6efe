"""Batches for the author's kit: built from example rows, and answers taken apart row by row."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tracker.contract.check import (
    Array,
    Check,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    Table,
)
from tracker.model.values import CellKind

__all__ = ["Answer", "BrokenPromise", "Row", "Subject", "ask", "table"]

Row = Mapping[str, Any]
"""Port → number, point, flag or choice text. An optional port may be left out of all rows."""

_DTYPES = {
    Kind.REAL: np.float64,
    Kind.INTEGER: np.int64,
    Kind.CHOICE: np.int64,
    Kind.FLAG: np.bool_,
    Kind.POINT: np.float64,
}
_CELL_DTYPES = {CellKind.REAL: np.float64, CellKind.INTEGER: np.int64, CellKind.FLAG: np.bool_}


class BrokenPromise(AssertionError):  # noqa: N818  a test author reads it as what it is
    """A check does not do what the contract asks of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A check under test and the cases to test it with.

    Parameters
    ----------
    check : Check
        The check.
    rows : sequence of Row, or callable
        Good example rows, or a function that draws one from a random generator. All rows name the
        same ports.
    config : mapping of str to str
        Configuration to test under.
    tables : mapping of str to sequence of rows
        Table ports: rows of cells in the order of the port's columns.
    degenerate : sequence of Row
        What to change in a good row (or which table to put in) so that it has no sensible answer:
        each must be answered with a reason.
    scalings : sequence of mapping of str to float
        Changes of scale the physics is indifferent to: unit symbol → factor, for every symbol in
        the port units. `{"mm": 2.0, "deg": 1.0}` doubles every length: an output in `deg/mm` must
        then halve. Symbols of one dimension take one factor; where a constant of nature enters
        (standard gravity), choose factors that leave it alone.
    seed : int
        Seed of the random generator.
    """

    check: Check
    rows: Sequence[Row] | Callable[[np.random.Generator], Row]
    config: Config = field(default_factory=dict)
    tables: Mapping[str, Sequence[Sequence[Any]]] = field(default_factory=dict)
    degenerate: Sequence[Row] = ()
    scalings: Sequence[Mapping[str, float]] = ()
    seed: int = 20_250_101

    def manifest(self) -> Manifest:
        """Return the manifest under the configuration."""
        return self.check.manifest(self.config)

    def draw(self, count: int) -> list[Row]:
        """Return rows: drawn, or the given ones over and over; one where all inputs are tables."""
        if callable(self.rows):
            generator = np.random.default_rng(self.seed)
            rows = [self.rows(generator) for _ in range(count)]
        else:
            rows = [self.rows[number % len(self.rows)] for number in range(count)]
        alone = all(isinstance(each, Table) for each in self.batch(rows[:1]).values())
        return rows[:1] if alone else rows

    def batch(self, rows: Sequence[Row]) -> dict[str, Any]:
        """Put rows into the form a check receives: read-only arrays and tables."""
        ports = {port.key: port for port in self.manifest().inputs}
        named = [key for key in ports if key in rows[0]]
        strangers = sorted({*rows[0], *self.tables} - ports.keys())
        if strangers:
            raise BrokenPromise(f"the example names ports there are not: {', '.join(strangers)}")
        made: dict[str, Any] = {
            key: _array(ports[key], [row[key] for row in rows]) for key in named
        }
        for key, cells in self.tables.items():
            made[key] = table(ports[key], cells)
        for key, port in ports.items():
            if key not in made and port.default is not None:
                made[key] = _array(port, [port.default] * len(rows))
            elif key not in made and not port.optional:
                raise BrokenPromise(f"the example lacks the input {key!r}")
        return made


def _array(port: Port, values: list[Any]) -> Array:
    if port.kind is Kind.CHOICE:
        values = [port.choices.index(value) for value in values]
    array: Array = np.array(values, dtype=_DTYPES[port.kind])
    array.flags.writeable = False
    return array


def table(port: Port, rows: Sequence[Sequence[Any]]) -> Table:
    """Build a table from rows of cells in the order of the port's columns.

    Parameters
    ----------
    port : Port
        A table port.
    rows : sequence of sequences
        Cells in the port's units.
    """
    columns: dict[str, Array | tuple[str, ...]] = {}
    for place, column in enumerate(port.columns):
        cells = [row[place] for row in rows]
        if column.kind is CellKind.TEXT:
            columns[column.name] = tuple(cells)
        else:
            array: Array = np.array(cells, dtype=_CELL_DTYPES[column.kind])
            array.flags.writeable = False
            columns[column.name] = array
    return Table(columns, len(rows))


@dataclass(frozen=True, slots=True)
class Answer:
    """What a check answered, per output port.

    Parameters
    ----------
    values : mapping of str to ndarray
        Port → values.
    reasons : mapping of str to list of str
        Port → per row why there is no value; empty where there is one.
    """

    values: Mapping[str, Array]
    reasons: Mapping[str, list[str]]

    def cell(self, port: str, row: int) -> bytes | str:
        """Return the bits of a value, or the reason why there is none: equal means identical."""
        return self.reasons[port][row] or self.values[port][row].tobytes()

    def row(self, row: int) -> dict[str, bytes | str]:
        """Return all cells of a row."""
        return {port: self.cell(port, row) for port in self.reasons}


def ask(subject: Subject, inputs: Inputs) -> Answer:
    """Run a check and hold its answer against its manifest.

    Raises
    ------
    BrokenPromise
        It raised, or its answer has a wrong port, shape, type or value.
    """
    manifest = subject.manifest()
    count = _count(inputs)
    try:
        outputs = subject.check.compute(inputs, subject.config)
    except Exception as error:
        raise BrokenPromise(
            f"compute raised {type(error).__name__} on {count} rows: {error}"
        ) from error
    reasons = _reasons(manifest, outputs, count)
    for port in manifest.outputs:
        _fits(port, outputs.values, reasons[port.key], count)
    strangers = sorted(set(outputs.values) - reasons.keys())
    if strangers:
        raise BrokenPromise(f"it returned outputs that are not declared: {', '.join(strangers)}")
    return Answer(outputs.values, reasons)


def _count(inputs: Inputs) -> int:
    return next((len(each) for each in inputs.values() if not isinstance(each, Table)), 1)


def _reasons(manifest: Manifest, outputs: Outputs, count: int) -> dict[str, list[str]]:
    """Return per port and row why there is no value; the first reason given counts."""
    if not isinstance(outputs, Outputs):
        raise BrokenPromise(f"compute returned a {type(outputs).__name__}, not Outputs")
    optional = {port.key: port.optional for port in manifest.outputs}
    reasons = {key: [""] * count for key in optional}
    said = [(each.ports or tuple(optional), each.rows, each.reason) for each in outputs.problems]
    for absence in outputs.absences:
        if not optional.get(absence.port, False):
            raise BrokenPromise(f"output {absence.port!r} is absent but not declared optional")
        said.append(((absence.port,), absence.rows, absence.reason))
    for ports, rows, reason in said:
        if rows.shape != (count,) or rows.dtype != np.bool_:
            raise BrokenPromise(f"the rows of {reason!r} are not {count} flags")
        if not reason.strip():
            raise BrokenPromise("a problem or absence gives no reason")
        for port in ports:
            if port not in reasons:
                raise BrokenPromise(f"{reason!r} names {port!r}, which is no output")
            for row in np.flatnonzero(rows).tolist():
                reasons[port][row] = reasons[port][row] or reason
    return reasons


def _fits(port: Port, values: Mapping[str, Array], reasons: list[str], count: int) -> None:
    """Hold the values of one output against its port."""
    if all(reasons):
        return
    shape = (count, 3) if port.kind is Kind.POINT else (count,)
    array = values.get(port.key)
    if not isinstance(array, np.ndarray) or array.shape != shape:
        found = getattr(array, "shape", type(array).__name__)
        raise BrokenPromise(f"output {port.key!r} should have the shape {shape}, not {found}")
    if array.dtype != _DTYPES[port.kind]:
        wanted = np.dtype(_DTYPES[port.kind])
        raise BrokenPromise(f"output {port.key!r} should be {wanted}, not {array.dtype}")
    told = np.array([not reason for reason in reasons])
    if not np.isfinite(array[told]).all():
        raise BrokenPromise(f"output {port.key!r} is not finite and no problem says why")
    if (
        port.kind is Kind.CHOICE
        and not ((array[told] >= 0) & (array[told] < len(port.choices))).all()
    ):
        raise BrokenPromise(f"output {port.key!r} has a code beyond its choices")
