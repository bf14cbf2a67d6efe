"""A printed document as data: sections of blocks, before any format.

Texts are plain text, never markup; each format escapes them and makes hidden characters visible.
Everything is frozen and ordered, so one document gives the same bytes in a format every time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from tracker.contract.figure import Figure

__all__ = [
    "Band",
    "Block",
    "Cell",
    "Column",
    "ColumnKind",
    "Document",
    "Drawing",
    "Facts",
    "Link",
    "Links",
    "Note",
    "Number",
    "Paragraph",
    "Section",
    "Sign",
    "Signatures",
    "Table",
    "Text",
    "anchor",
    "cell_text",
    "sections_of",
]

_UNSAFE = re.compile(r"[^A-Za-z0-9-]")


def anchor(*parts: str) -> str:
    """Return a stable name for a place in a document, of letters, digits, `-` and `_` alone.

    Different parts give different names: any other character becomes `_` and its number.
    """
    return "--".join(_UNSAFE.sub(lambda found: f"_{ord(found[0]):x}_", each) for each in parts)


@dataclass(frozen=True, slots=True)
class Text:
    """A cell of plain text."""

    text: str


@dataclass(frozen=True, slots=True)
class Number:
    """A cell with a number; the number and its unit are not parted at the end of a line.

    Parameters
    ----------
    text : str
        How it is shown, without its unit.
    unit : str
        Unit text; may be empty.
    """

    text: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Sign:
    """A cell with a verdict, standing or state: its word, beside which a format puts a symbol."""

    word: str


@dataclass(frozen=True, slots=True)
class Link:
    """A text that leads to a section; a plain text where the anchor is empty."""

    text: str
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Links:
    """A cell of links, shown with commas between them."""

    items: tuple[Link, ...]


Cell = Text | Number | Sign | Links


def cell_text(cell: Cell) -> str:
    """Return a cell as one plain text, without any symbol."""
    match cell:
        case Number():
            return f"{cell.text} {cell.unit}".rstrip()
        case Sign():
            return cell.word
        case Links():
            return ", ".join(each.text for each in cell.items)
        case _:
            return cell.text


class ColumnKind(StrEnum):
    """What a column holds; a number column also takes texts, where there is no number."""

    TEXT = "text"
    NUMBER = "number"
    SIGN = "sign"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    title : str
        Its head.
    kind : ColumnKind
        What it holds.
    share : float
        Width, as compared with the other columns.
    """

    title: str
    kind: ColumnKind = ColumnKind.TEXT
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Plain text; line breaks stay."""

    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Short fields: label and cell."""

    pairs: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; nothing is shown where it has no rows.

    Parameters
    ----------
    caption : str
        What it shows.
    columns : tuple of Column
        Its columns; the first one heads the row.
    rows : tuple of tuple of Cell
        One cell for each column.
    anchors : tuple of str
        Names of the rows, for links; empty where rows have none.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    anchors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What is allowed on an axis of a figure.

    Parameters
    ----------
    judge : str
        Key of the requirement or rule.
    axis : str
        `across` or `up`.
    lower, upper : float or None
        Bounds in the axis's unit; None is open.
    verdict : str
        What the present value is judged.
    """

    judge: str
    axis: str
    lower: float | None
    upper: float | None
    verdict: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure that is drawn, with what is allowed on its axes.

    Where the design stands is each axis's `now`. What is told in columns is a table instead.
    """

    figure: Figure
    bands: tuple[Band, ...] = ()


@dataclass(frozen=True, slots=True)
class Note:
    """A remark set apart; a caution is one that must not be missed."""

    text: str
    caution: bool = False


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign on, one for each role."""

    roles: tuple[str, ...]


Block = Paragraph | Facts | Table | Drawing | Note | Signatures


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section with its heading.

    Parameters
    ----------
    anchor : str
        Stable name, unique in the document, as `anchor` makes it.
    title : str
        Its heading.
    blocks : tuple of Block
        What stands under the heading.
    sections : tuple of Section
        Sections one level down, after the blocks.
    own_page : bool
        Whether it starts a page in print.
    listed : bool
        Whether the table of contents lists it.
    """

    anchor: str
    title: str
    blocks: tuple[Block, ...] = ()
    sections: tuple[Section, ...] = ()
    own_page: bool = False
    listed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A document.

    Parameters
    ----------
    title : str
        Its title.
    kind : str
        What kind of document it is, above the title.
    running : str
        What stands on every page: revision and hash.
    caution : str
        The caution, on every page.
    moment : str
        RFC 3339 moment the document speaks of; its date in every format.
    front : tuple of Block
        What stands on the cover, under the title.
    sections : tuple of Section
        The body.
    """

    title: str
    kind: str
    running: str
    caution: str
    moment: str
    front: tuple[Block, ...] = ()
    sections: tuple[Section, ...] = ()


def sections_of(document: Document) -> Iterator[tuple[int, Section]]:
    """Yield every section with its level, 1 for those of the document, in reading order."""
    pending = [(1, each) for each in reversed(document.sections)]
    while pending:
        level, section = pending.pop()
        yield level, section
        pending += [(level + 1, each) for each in reversed(section.sections)]
