"""Many values of many lines, in passes of a bounded size."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["passes"]

L = TypeVar("L")

_MOST = 8192  # values sent through the graph in one pass


def passes(
    asked: list[tuple[L, NDArray[np.float64]]],
) -> Iterator[list[tuple[L, NDArray[np.float64]]]]:
    """Split what is asked of lines into passes; a line's values stay together.

    Parameters
    ----------
    asked : list of tuple
        Line, and values to look at.
    """
    chunk: list[tuple[L, NDArray[np.float64]]] = []
    size = 0
    for line, values in asked:
        if chunk and size + len(values) > _MOST:
            yield chunk
            chunk, size = [], 0
        chunk.append((line, values))
        size += len(values)
    yield chunk
