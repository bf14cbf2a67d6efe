"""Record shapes: stored records of an older shape are brought to the present one when read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from tracker.errors import FileFormatError, StoreDamagedError
from tracker.model.codec import SHAPES, from_plain, to_plain
from tracker.model.records import Record
from tracker.store.canonical import canonical_text, parse

__all__ = ["UPCASTERS", "Upcaster", "in_present_shape", "read_record", "upcast"]

Plain = dict[str, Any]
Upcaster = Callable[[Plain], Plain]

UPCASTERS: Mapping[tuple[str, int], Upcaster] = {}
"""(kind, shape) → the step to the next shape. Every kind is at its first shape so far."""


def upcast(
    kind: str,
    shape: int,
    plain: Plain,
    *,
    steps: Mapping[tuple[str, int], Upcaster] = UPCASTERS,
    present: Mapping[str, int] = SHAPES,
) -> Plain:
    """Bring a record's JSON data to the present shape of its kind.

    Raises
    ------
    FileFormatError
        Unknown kind, or a shape this version does not know.
    """
    if kind not in present or not 1 <= shape <= present[kind]:
        raise FileFormatError(f"shape {shape} of {kind!r} is not known to this version")
    for each in range(shape, present[kind]):
        plain = steps[kind, each](plain)
    return plain


def read_record(kind: str, shape: int, text: str) -> Record:
    """Read a stored record.

    Raises
    ------
    StoreDamagedError
        It cannot be read.
    """
    try:
        return from_plain(kind, upcast(kind, shape, parse(text)))
    except (ValueError, ArithmeticError, FileFormatError) as error:
        raise StoreDamagedError(f"a stored {kind} cannot be read: {error}") from error


def in_present_shape(kind: str, shape: int, text: str) -> str:
    """Return a stored record's canonical text in the present shape of its kind.

    Raises
    ------
    StoreDamagedError
        It cannot be read.
    """
    if shape == SHAPES.get(kind):
        return text
    return canonical_text(to_plain(read_record(kind, shape, text)))
