"""Holding the garbage collector off where very much is made at once."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["collector_held"]


@contextmanager
def collector_held() -> Iterator[None]:
    """Hold the garbage collector off for the length of a `with` block.

    A programme and its graph hold no rings of references worth looking for, and while they are
    built the collector would walk what is there already again and again.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()
