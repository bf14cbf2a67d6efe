"""How far a long run has got, on standard error; and how it ends with Ctrl+C."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["progressing"]

_CLEAR = "\r\x1b[K"


@contextmanager
def progressing() -> Iterator[Callable[[str], None]]:
    """Show progress on a terminal for the length of a `with` block.

    Yields
    ------
    callable
        To be told in words how far it got. Off a terminal nothing is shown, but after Ctrl+C the
        last words are.
    """
    shown = sys.stderr.isatty() and os.environ.get("TERM", "") != "dumb"
    last = "nothing was looked at yet"

    def tell(words: str) -> None:
        nonlocal last
        last = words
        if shown:
            sys.stderr.write(f"{_CLEAR}{words}")
            sys.stderr.flush()

    try:
        yield tell
    except KeyboardInterrupt:
        clear = _CLEAR if shown else ""
        sys.stderr.write(f"{clear}whybone: got as far as: {last}. The programme is untouched\n")
        raise
    if shown:
        sys.stderr.write(_CLEAR)
        sys.stderr.flush()
