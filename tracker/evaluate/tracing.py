"""What checks computed before, recalled instead of computed again.

A trace belongs to a check's code, version and configuration, to every bit it is given and to every
output it is asked for; records, keys and programmes play no part in it. A check that raised leaves
no trace: memory or a file may have been missing, and the next attempt may go well.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from typing import Any, Protocol

import numpy as np

from tracker.contract.check import Table
from tracker.evaluate.binding import Emit
from tracker.evaluate.graph import Node
from tracker.evaluate.plugin import Loaded
from tracker.evaluate.running import FAILED, Values, call, gathered
from tracker.evaluate.slots import Absent, Slot, Unknown, frozen
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Quantity

__all__ = ["Run", "Traces", "decoded", "encoded", "keep_present", "recalling", "trace_key"]

Run = Callable[[Node, list[Slot], list[str]], tuple[Unknown | None, Values]]
"""Runs a check, as `tracker.evaluate.running.call` does."""


class Traces(Protocol):
    """Keeps traces for later. It may forget any of them, and it never raises."""

    def recall(self, key: bytes) -> bytes | None:
        """Return what was kept under a key, to the bit, or nothing."""
        ...

    def keep(self, key: bytes, body: bytes) -> None:
        """Take in a trace; nothing is written before `flush`."""
        ...

    def flush(self) -> None:
        """Write what was taken in."""
        ...

    def close(self) -> None:
        """Release what is held open; the next `recall` opens it again."""
        ...


def recalling(traces: Traces, programme: Programme, recalled: list[str]) -> Run:
    """Return a way to run checks that recalls what it can and keeps what it computes.

    Parameters
    ----------
    recalled : list of str
        Gets the ids of the checks whose outputs were recalled.
    """

    def run(node: Node, slots: list[Slot], ran: list[str]) -> tuple[Unknown | None, Values]:
        key = trace_key(programme, node, slots)
        if key is None:
            return call(node, slots, ran)
        body = traces.recall(key)
        values = None if body is None else decoded(node, body)
        if values is not None:
            recalled.append(node.id)
            return _first_unknown(values), values
        block, values = call(node, slots, ran)
        _keep(traces, key, block, values)
        return block, values

    return run


def keep_present(
    traces: Traces, programme: Programme, node: Node, slots: list[Slot], block: Unknown | None
) -> None:
    """Keep what a check gave for its present inputs, where there is something to keep."""
    key = trace_key(programme, node, slots)
    if key is not None:
        _keep(traces, key, block, [(emit.slot, slots[emit.slot]) for emit in node.emits])


def _keep(traces: Traces, key: bytes, block: Unknown | None, values: Values) -> None:
    if block is None or not block.reason.startswith(FAILED):
        traces.keep(key, encoded(values))


def _first_unknown(values: Values) -> Unknown | None:
    return next((value for _, value in values if isinstance(value, Unknown)), None)


# -- what a trace belongs to -----------------------------------------------------------------------


def trace_key(programme: Programme, node: Node, slots: list[Slot]) -> bytes | None:
    """Return what identifies a run of a check.

    Returns
    -------
    bytes of length 32, or None
        None where there is no run to speak of, or nobody knows which code would run.
    """
    loaded = node.loaded
    if loaded is None or not loaded.code:
        return None
    inputs, block = gathered(node, slots)
    if block is not None:
        return None
    digest = sha256()
    for part in (*_identity(programme, node, loaded), *_input_parts(inputs)):
        digest.update(b"%d:" % len(part))  # no two lists of parts read the same
        digest.update(part)
    return digest.digest()


def _identity(programme: Programme, node: Node, loaded: Loaded) -> Iterator[bytes]:
    manifest, info = loaded.manifest, programme.info
    words = (loaded.code, manifest.key, manifest.version, info.currency if info else "")
    yield repr((*words, sorted(loaded.config.items()))).encode()
    bound = programme.at(node.id, CheckUse).outputs
    for emit in node.emits:
        quantity = programme.at(bound[emit.port], Quantity) if emit.port in bound else None
        yield _output_part(loaded, emit, quantity)


def _output_part(loaded: Loaded, emit: Emit, quantity: Quantity | None) -> bytes:
    """Describe an output and what becomes of it on its way into the slot."""
    unit = loaded.units[emit.port]
    into = None
    if quantity is not None:
        into = (quantity.kind.value, quantity.unit.scale, quantity.unit.offset)
    form = (emit.port, emit.optional, emit.dtype.str, emit.shape, emit.codes)
    return repr((*form, unit.scale, unit.offset, into)).encode()


def _input_parts(inputs: dict[str, Any]) -> Iterator[bytes]:
    for port in sorted(inputs):
        value = inputs[port]
        if isinstance(value, Table):
            yield repr((port, value.rows)).encode()
            for name, cells in value.columns.items():
                yield from _cells(name, cells)
        else:
            yield from _cells(port, value)


def _cells(name: str, cells: Any) -> Iterable[bytes]:  # noqa: ANN401 - an array or a tuple of texts
    if isinstance(cells, tuple):
        return (repr((name, cells)).encode(),)
    return (repr((name, cells.dtype.str, cells.shape)).encode(), cells.tobytes())


# -- what a trace says -----------------------------------------------------------------------------


def encoded(values: Values) -> bytes:
    """Write the values of one run, in the order of the check's outputs."""
    return json.dumps([_written(value) for _, value in values]).encode()


def _written(value: Slot) -> list[str]:
    if isinstance(value, Unknown):  # the cause is the check itself: its inputs were all there
        return ["unknown", value.reason]
    if isinstance(value, Absent):
        return ["absent", value.reason]
    assert isinstance(value, np.ndarray)  # noqa: S101 - no output is a table
    return ["value", value.tobytes().hex()]


def decoded(node: Node, body: bytes) -> Values | None:
    """Read the values of one run of a check back; None for what is none of it."""
    try:
        written = json.loads(body.decode())  # plain ASCII, as it was written
        pairs = list(zip(node.emits, written, strict=True))
        return [(emit.slot, _read(node.id, emit, *each)) for emit, each in pairs]
    except (ValueError, TypeError):
        return None


def _read(check_id: str, emit: Emit, sort: str, text: str) -> Slot:
    if sort == "unknown":
        return Unknown(text, check_id)
    if sort == "absent" and emit.optional:
        return Absent(text)
    if sort != "value":
        raise ValueError(sort)
    return frozen(np.frombuffer(bytes.fromhex(text), emit.dtype).reshape(emit.shape).copy())
