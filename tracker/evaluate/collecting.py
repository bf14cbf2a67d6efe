"""Holding the garbage collector off while very much is made that lasts."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["collector_held"]


@contextmanager
def collector_held() -> Iterator[None]:
    """Hold the garbage collector off while a programme or its graph is built.

    Nearly all that is made then lasts, and collecting meanwhile walks it again and again, which
    takes as long as the building. Freezing and thawing afterwards moves it to the oldest
    generation without a walk; it can be collected from there as ever.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
        gc.freeze()
        gc.unfreeze()
    finally:
        if collecting:
            gc.enable()
