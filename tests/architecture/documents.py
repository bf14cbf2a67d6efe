"""The documents of the project, taken apart: code blocks, commands, names in backticks."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.architecture.sources import ROOT

__all__ = ["DEVELOPERS", "DOCUMENTS", "README", "REFERENCE", "Block", "Line", "blocks", "names"]

README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
REFERENCE = ROOT / "plugins/whybone_chassis/REFERENCE.md"
DOCUMENTS = (README, DEVELOPERS, REFERENCE)

_FENCE = re.compile(r"^```(?P<info>[^\n]*)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)
_NAME = re.compile(r"`([^`\n]+)`")
_EXIT = re.compile(r"\s#\s*exit (?P<code>\d+)\s*$")


@dataclass(frozen=True, slots=True)
class Line:
    """A command line and the exit code the document promises."""

    words: tuple[str, ...]
    code: int


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block: its language, the file it is, and its text."""

    language: str
    file: str
    text: str

    @property
    def commands(self) -> Iterator[Line]:
        """The lines that run whybone."""
        for line in self.text.splitlines():
            if line.startswith("whybone "):
                promised = _EXIT.search(line)
                typed = shlex.split(line[: promised.start()] if promised else line)
                yield Line(tuple(typed[1:]), int(promised["code"]) if promised else 0)


def blocks(document: Path) -> list[Block]:
    """Return the fenced blocks of a document, in order."""
    found = []
    for match in _FENCE.finditer(document.read_text(encoding="utf-8")):
        language, _, file = match["info"].strip().partition(" ")
        found.append(Block(language, file, match["text"]))
    return found


def names(text: str) -> set[str]:
    """Return what stands in backticks outside of fenced blocks."""
    return set(_NAME.findall(_FENCE.sub("", text)))
