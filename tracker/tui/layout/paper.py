"""Pages as lines of toned spans: laid out by pure functions, painted by one widget."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from rich.cells import set_cell_size

from tracker.services.views import ListLine
from tracker.tui.face import Face

__all__ = ["TONES", "Cell", "Fixed", "Line", "Lines", "Make", "Paper", "Rows", "Span", "tone_of"]

TONES = ("head", "quiet", "key", "strong", "good", "near", "bad", "open", "moved")
"""Names of the ways a span can look."""

_TONE_OF = {
    "met": "good", "stands": "good", "current": "good",
    "tight": "near", "strained": "near",
    "missed": "bad", "broken": "bad", "failed": "bad", "unbound": "bad",
    "unknown": "open", "unproven": "open", "waiting": "open",
    "shifted": "moved",
}  # fmt: skip


def tone_of(word: str) -> str:
    """Return the tone of a verdict, standing or state."""
    return _TONE_OF.get(word, "")


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of text in one tone.

    Parameters
    ----------
    text : str
        Safe to paint.
    tone : str
        One of `TONES`, or empty.
    """

    text: str
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a page.

    Parameters
    ----------
    spans : tuple of Span
        From left to right.
    target : str
        What choosing the line opens; empty where there is nothing to choose.
    """

    spans: tuple[Span, ...] = ()
    target: str = ""

    @property
    def text(self) -> str:
        """The line without its tones."""
        return "".join(span.text for span in self.spans)


class Lines(Protocol):
    """A page laid out for one width."""

    def __len__(self) -> int: ...

    def line(self, index: int) -> Line:
        """Return one line."""
        ...

    def place_of(self, target: str) -> int | None:
        """Return the line that opens a target."""
        ...


Make = Callable[[int], Lines]
"""Lays a page out for a width."""


class Fixed:
    """Lines that are all laid out.

    Parameters
    ----------
    lines : sequence of Line
        The page.
    """

    def __init__(self, lines: Sequence[Line] = ()) -> None:
        self._lines = lines

    def __len__(self) -> int:
        return len(self._lines)

    def line(self, index: int) -> Line:
        """Return one line."""
        return self._lines[index]

    def place_of(self, target: str) -> int | None:
        """Return the first line that opens a target."""
        return next((at for at, line in enumerate(self._lines) if line.target == target), None)


class Rows:
    """Lines laid out only when they are looked at: one or more for each row of a long list.

    Parameters
    ----------
    keys : sequence of str
        What each row opens.
    lay : callable
        Lays out the lines of the row at an index, `per_row` of them.
    per_row : int
        Lines to a row.
    """

    def __init__(
        self, keys: Sequence[str], lay: Callable[[int], Sequence[Line]], per_row: int = 1
    ) -> None:
        self._keys = keys
        self._lay = lay
        self._per_row = per_row

    def __len__(self) -> int:
        return len(self._keys) * self._per_row

    def line(self, index: int) -> Line:
        """Return one line."""
        row, part = divmod(index, self._per_row)
        return self._lay(row)[part]

    def place_of(self, target: str) -> int | None:
        """Return the first line of the row that opens a target."""
        try:
            return self._keys.index(target) * self._per_row
        except ValueError:
            return None


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of a row: text clipped and padded to a width.

    Parameters
    ----------
    text : str
        Any text.
    width : int
        In terminal cells.
    tone : str
        One of `TONES`, or empty.
    """

    text: str
    width: int
    tone: str = ""


class Paper:
    """Collects the lines of a page.

    Parameters
    ----------
    width : int
        Cells to a line.
    face : Face
        Makes texts safe.
    """

    def __init__(self, width: int, face: Face) -> None:
        self.width = width
        self.face = face
        self.lines: list[Line] = []

    def gap(self) -> None:
        """Leave a line free, unless the page begins here or one is free already."""
        if self.lines and self.lines[-1].spans:
            self.lines.append(Line())

    def head(self, text: str) -> None:
        """Begin a section."""
        self.gap()
        self.lines.append(Line((Span(self.face.clip(text, self.width), "head"),)))

    def text(self, text: str, tone: str = "", *, indent: int = 0, target: str = "") -> None:
        """Add a text over as many lines as it needs; only the first of them can be chosen."""
        for piece in self.face.wrap(text, self.width - indent):
            self.lines.append(Line((Span(" " * indent + piece, tone),), target))
            target = ""

    def labelled(self, label: str, text: str, room: int, tone: str = "") -> None:
        """Add a text behind a label, wrapped beside it."""
        head = set_cell_size(self.face.clip(label, room - 2), room)
        for piece in self.face.wrap(text, self.width - room):
            self.lines.append(Line((Span(head, "quiet"), Span(piece, tone))))
            head = " " * room

    def row(self, *cells: Cell, target: str = "") -> None:
        """Add one line of columns."""
        self.lines.append(row(self.face, *cells, target=target))

    def done(self) -> Fixed:
        """Return the page."""
        return Fixed(self.lines)


def row(face: Face, *cells: Cell, target: str = "") -> Line:
    """Lay out one line of columns."""
    spans = []
    for cell in cells:
        if face.spoken:
            spans.append(Span(f"{face.line(cell.text)}  ", cell.tone))
            continue
        shown = face.clip(cell.text, cell.width)
        spans.append(Span(set_cell_size(shown, cell.width), cell.tone))
    return Line(tuple(spans), target)


SIGN_WIDTH = 12
_KEY_WIDTH = 16


def list_row(face: Face, line: ListLine, width: int, *, signed: bool = False) -> Line:
    """Lay out a row of a list: sign, key, title, and as much of the rest as there is room.

    `signed` tells that other rows of the list have a sign: keys then stand under each other.
    """
    sign = SIGN_WIDTH if signed or line.sign else 0
    rest = width - sign - _KEY_WIDTH
    title = rest * 9 // 20
    shifted = face.sign("shifted") + " " if line.shifted else ""
    return row(
        face,
        Cell(face.sign(line.sign), sign, tone_of(line.sign)),
        Cell(line.key, _KEY_WIDTH - 1, "key"),
        Cell("", 1),
        Cell(line.title, title - 1),
        Cell("", 1),
        Cell(shifted, len(shifted), "moved"),
        Cell(line.text, rest - title - len(shifted), "quiet"),
        target=line.key,
    )
