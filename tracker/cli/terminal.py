"""What the terminal can show: width, colours, signs; and the way text gets to a stream.

Colours come from the fixed part of the 256-colour cube, so no palette of a terminal changes them;
each keeps a contrast of at least 3.8 to 1 on white and on black.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TextIO

from tracker.services.wording import SIGNS

__all__ = ["COLOURS", "ClosedOutputError", "Look", "emit", "look_of"]

COLOURS: Mapping[str, int] = {
    "met": 30,
    "tight": 130,
    "missed": 161,
    "unknown": 97,
    "stands": 30,
    "strained": 130,
    "broken": 161,
    "unproven": 97,
    "shifted": 32,
    "current": 30,
    "waiting": 97,
    "failed": 161,
    "unbound": 161,
}
"""Word → number in the 256-colour table."""

_PLAIN_SIGNS = str.maketrans(
    {
        "−": "-",
        "→": "->",
        "±": "+/-",
        "—": "-",
        "·": ".",
        "×": "x",
        "…": "...",
        "“": '"',
        "”": '"',
    }
)
_NARROWEST = 40


class ClosedOutputError(OSError):
    """What we write to is full or gone."""


@dataclass(frozen=True, slots=True)
class Look:
    """What may be used to show something.

    Parameters
    ----------
    width : int or None
        Columns to wrap to; None in a pipe: nothing is wrapped.
    colour : bool
        Whether colours and bold may be used.
    ascii_only : bool
        Whether our own signs must be ASCII.
    """

    width: int | None = None
    colour: bool = False
    ascii_only: bool = False

    def sign(self, word: str) -> str:
        """Return a verdict or standing as sign and word."""
        signs = SIGNS.get(word)
        return word if signs is None else f"{signs[1 if self.ascii_only else 0]} {word}"

    def paint(self, text: str, word: str) -> str:
        """Colour a text as its verdict or standing; `bold` makes it bold."""
        if not self.colour or not text:
            return text
        if word == "bold":
            return f"\x1b[1m{text}\x1b[0m"
        colour = COLOURS.get(word)
        return text if colour is None else f"\x1b[38;5;{colour}m{text}\x1b[0m"


def look_of(stream: TextIO, environ: Mapping[str, str] = os.environ) -> Look:
    """Find out what a stream can show.

    Honours NO_COLOR, TERM=dumb, WHYBONE_ASCII and the stream's encoding.
    """
    on_terminal = stream.isatty()
    term = environ.get("TERM", "")
    many = "256" in term or bool(environ.get("COLORTERM"))
    encoding = (stream.encoding or "ascii").lower().replace("-", "").replace("_", "")
    width = shutil.get_terminal_size().columns if on_terminal else None
    return Look(
        width=None if width is None else max(width, _NARROWEST),
        colour=on_terminal and many and term != "dumb" and not environ.get("NO_COLOR"),
        ascii_only=bool(environ.get("WHYBONE_ASCII")) or not encoding.startswith("utf"),
    )


def emit(stream: TextIO, text: str, look: Look) -> None:
    """Write a text that is ready to show; what the stream cannot encode is spelt out.

    Raises
    ------
    ClosedOutputError
        The stream does not take it.
    """
    if look.ascii_only:
        text = text.translate(_PLAIN_SIGNS)
    encoding = stream.encoding or "ascii"
    try:
        stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
        stream.flush()
    except OSError as error:
        raise ClosedOutputError(error.errno, error.strerror) from error
