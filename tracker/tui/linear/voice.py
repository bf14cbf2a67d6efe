"""Lines in and out: no cursor is moved, nothing is coloured, nothing comes back to change."""

from __future__ import annotations

import re
from typing import TextIO

from tracker.services.wording import visible
from tracker.tui.face import Face

__all__ = ["WIDTH", "SpokenFace", "Voice"]

WIDTH = 4_000
"""Cells a page is laid out for: whoever reads it breaks the lines as it suits."""

_COLUMNS = re.compile(r" {2,}")


class SpokenFace(Face):
    """Words alone: signs and bars say nothing to the ear."""

    spoken = True

    def symbol(self, word: str) -> str:  # noqa: ARG002 - as the face that draws
        """Return nothing: the word says it."""
        return ""

    def sign(self, word: str) -> str:
        """Return the word."""
        return word

    def clip(self, text: str, width: int) -> str:  # noqa: ARG002 - as the face that draws
        """Return the text as one line, all of it."""
        return self.line(text)


class Voice:
    """Reads what is typed and writes lines.

    Parameters
    ----------
    source : TextIO
        Where lines are read from.
    sink : TextIO
        Where lines are written to.
    face : SpokenFace
        Makes texts safe.
    """

    def __init__(self, source: TextIO, sink: TextIO, face: SpokenFace) -> None:
        self._source = source
        self._sink = sink
        self.face = face

    def say(self, text: str = "") -> None:
        """Write a text as one line, its columns two blanks apart."""
        self._sink.write(_COLUMNS.sub("  ", self.face.line(text)).rstrip() + "\n")
        self._sink.flush()

    def ask(self, what: str) -> str | None:
        """Ask for a line; None where nothing comes any more."""
        self._sink.write(f"{self.face.line(what)}> ")
        self._sink.flush()
        typed = self._source.readline()
        if not self._source.isatty():
            self._sink.write(self.face.line(typed.rstrip("\r\n")) + "\n")
        return visible(typed).strip() if typed else None
