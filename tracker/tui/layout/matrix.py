"""The dependency matrix: numbered rows and columns, blocks shaded, one pair told in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rich.cells import set_cell_size

from tracker.services.pictures.dependency_views import DependencyView, LinkCell
from tracker.tui.face import Face
from tracker.tui.layout.paper import Line, Span, tone_of

__all__ = ["MatrixLook", "matrix_lines", "matrix_window", "pair_text"]

_CELL = 2
_MANY = 9
_TOLD = 4
_LEAST_NAME, _MOST_NAME = 14, 22
_SIGN = 2


@dataclass(frozen=True, slots=True)
class MatrixLook:
    """What to lay out.

    Parameters
    ----------
    row, column : int
        Where the cursor is.
    """

    view: DependencyView
    row: int
    column: int


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the matrix in view.

    Parameters
    ----------
    head : int
        Cells before the first column.
    """

    rows: range
    columns: range
    head: int


def matrix_window(look: MatrixLook, width: int, height: int) -> Window:
    """Return the part in view: the cursor is kept in its middle where there is more to see."""
    count = len(look.view.items)
    digits = len(str(count))
    name = min(max(width // 4, _LEAST_NAME), _MOST_NAME)
    head = digits + 1 + name + 1 + _SIGN
    tall = max(height - digits - 2 - _TOLD, 1)
    wide = max((width - head) // _CELL, 1)
    return Window(_part(look.row, count, tall), _part(look.column, count, wide), head)


def _part(at: int, count: int, room: int) -> range:
    start = min(max(at - room // 2, 0), max(count - room, 0))
    return range(start, min(start + room, count))


def matrix_lines(look: MatrixLook, width: int, height: int, face: Face) -> list[Line]:
    """Lay out the matrix with its headers and what is at the cursor."""
    view = look.view
    if not view.items:
        return [Line((Span(face.clip(f"No {view.of} to show.", width), "quiet"),))]
    window = matrix_window(look, width, height)
    cells = {(each.row, each.column): each for each in view.cells}
    lines = [_title(view, width, face), *_numbers(look, window)]
    lines += [_row(look, window, cells, row, face) for row in window.rows]
    lines += [Line()] * (height - _TOLD - len(lines))
    return [*lines, *_told(look, cells.get((look.row, look.column)), width, face)]


def _title(view: DependencyView, width: int, face: Face) -> Line:
    rings = [each for each in view.blocks if len(each.keys) > 1]
    text = (
        f"{len(view.items)} {view.of}s, {len(view.cells)} dependencies: a row needs what its "
        f"marked columns give; {len(rings)} block{'' if len(rings) == 1 else 's'} of more than one"
    )
    return Line((Span(face.clip(text, width), "head"),))


def _numbers(look: MatrixLook, window: Window) -> Iterator[Line]:
    """Write the columns' numbers, a digit below the other."""
    digits = len(str(len(look.view.items)))
    for place in range(digits):
        spans = [Span(" " * window.head)]
        for column in window.columns:
            digit = str(column + 1).rjust(digits)[place]
            spans.append(Span(f" {digit}", "strong" if column == look.column else "quiet"))
        yield Line(tuple(spans))


def _row(
    look: MatrixLook,
    window: Window,
    cells: dict[tuple[int, int], LinkCell],
    row: int,
    face: Face,
) -> Line:
    item = look.view.items[row]
    digits = len(str(len(look.view.items)))
    name = window.head - digits - 2 - _SIGN
    here = row == look.row
    spans = [
        Span(f"{row + 1:>{digits}} ", "strong" if here else "quiet"),
        Span(set_cell_size(face.clip(item.key, name), name) + " ", "head" if here else "key"),
        Span((face.symbol(item.sign) or " ")[:1].ljust(_SIGN), tone_of(item.sign)),
    ]
    for column in window.columns:
        text, tone = _cell(look, cells.get((row, column)), row, column, face)
        at_cursor = here and column == look.column
        lead = face.marker if at_cursor else _ground(look, row, column, face)
        spans += [Span(lead, "strong" if at_cursor else "quiet"), Span(text, tone)]
    return Line(tuple(spans))


def _ground(look: MatrixLook, row: int, column: int, face: Face) -> str:
    return ("." if face.ascii_only else "░") if _in_block(look, row, column) else " "


def _in_block(look: MatrixLook, row: int, column: int) -> bool:
    items = look.view.items
    together = items[row].block == items[column].block
    return together and len(look.view.blocks[items[row].block].keys) > 1


def _cell(
    look: MatrixLook, link: LinkCell | None, row: int, column: int, face: Face
) -> tuple[str, str]:
    """Return a cell: how many quantities pass, or that one only rests on the other."""
    if row == column:
        return ("#" if face.ascii_only else "■"), "quiet"
    if link is None:
        return _ground(look, row, column, face), "quiet"
    count = len(link.quantities)
    if not count:
        return "r", "moved"
    return (str(count) if count <= _MANY else "+"), "near" if column > row else "key"


def pair_text(view: DependencyView, row: int, column: int) -> str:
    """Say what one item needs of another."""
    item, source = view.items[row], view.items[column]
    if row == column:
        return f"{item.key}: {item.title}"
    link = next((each for each in view.cells if (each.row, each.column) == (row, column)), None)
    if link is None:
        return f"{item.key} needs nothing of {source.key}"
    parts = []
    if link.quantities:
        parts.append(f"{item.key} needs of {source.key}: {', '.join(link.quantities)}")
    if link.rests_on:
        parts.append(f"{item.key} rests on {source.key}")
    return "; ".join(parts)


def _told(look: MatrixLook, link: LinkCell | None, width: int, face: Face) -> list[Line]:
    view = look.view
    item, source = view.items[look.row], view.items[look.column]
    both = [each for each in source.reads if each in item.reads] if item is not source else []
    block = view.blocks[item.block]
    with_others = f", with {', '.join(each for each in block.keys if each != item.key)}"
    together = with_others if len(block.keys) > 1 else ""
    pair = face.wrap(pair_text(view, look.row, look.column), width)
    shared = face.wrap(f"both take in: {', '.join(both)}", width) if both else []
    lines = [(text, "strong" if link else "quiet") for text in pair]
    lines += [(text, "quiet") for text in (*shared, "")]
    lines[_TOLD - 2 :] = [
        (f"row {look.row + 1} {item.key}, level {item.level}{together}: {item.title}", "quiet"),
        (
            f"column {look.column + 1} {source.key}, level {source.level}: {source.title}",
            "quiet",
        ),
    ]
    return [Line((Span(face.clip(text, width), tone),)) for text, tone in lines]
