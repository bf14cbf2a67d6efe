"""The matrix keeps its headers, shades its blocks and says what is at the cursor."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from tracker.services.pictures.dependency_views import (
    BlockView,
    DependencyView,
    LinkCell,
    MatrixItem,
)
from tracker.tui.face import Face
from tracker.tui.layout.matrix import MatrixLook, matrix_lines, matrix_window, pair_text

WIDE, PLAIN = Face(), Face(ascii_only=True)


def item(key: str, block: int, level: int, *reads: str) -> MatrixItem:
    return MatrixItem(
        key=key, title=f"{key}?", sign="stands", block=block, level=level, reads=reads
    )


VIEW = DependencyView(
    revision=1,
    of="decision",
    items=(
        item("A", 0, 0, "load"),
        item("B", 1, 1, "load", "way"),
        item("C", 1, 1),
        item("D", 2, 2),
    ),
    blocks=(
        BlockView(level=0, keys=("A",)),
        BlockView(level=1, keys=("B", "C")),
        BlockView(level=2, keys=("D",)),
    ),
    cells=(
        LinkCell(row=1, column=0, quantities=("way",), rests_on=True),
        LinkCell(row=1, column=2, quantities=tuple(f"q{at}" for at in range(12)), rests_on=False),
        LinkCell(row=2, column=1, quantities=(), rests_on=True),
        LinkCell(row=3, column=2, quantities=("x", "y"), rests_on=False),
    ),
)


def rows(row: int = 0, column: int = 0, size: tuple[int, int] = (80, 20)) -> list[str]:
    lines = matrix_lines(MatrixLook(VIEW, row, column), *size, PLAIN)
    return [line.text for line in lines]


def test_cells_tell_how_much_passes_and_blocks_are_shaded() -> None:
    drawn = [each.rstrip() for each in rows(3, 0)[2:6]]
    assert drawn[0].endswith("#")
    assert drawn[1].endswith("1.#.+")
    assert drawn[2].endswith(".r.#")
    assert drawn[3].endswith("2 #")
    assert "1 block of more than one" in rows(size=(120, 20))[0]


@pytest.mark.parametrize("face", [WIDE, PLAIN])
@pytest.mark.parametrize("size", [(30, 8), (80, 20), (158, 46)])
def test_it_fills_its_place_and_no_more(face: Face, size: tuple[int, int]) -> None:
    lines = matrix_lines(MatrixLook(VIEW, 1, 2), *size, face)
    assert len(lines) <= max(size[1], 8)
    assert all(cell_len(line.text) <= size[0] for line in lines)
    assert not face.ascii_only or all(line.text.isascii() for line in lines)


def test_what_is_at_the_cursor_is_told() -> None:
    assert pair_text(VIEW, 1, 0) == "B needs of A: way; B rests on A"
    assert pair_text(VIEW, 0, 1) == "A needs nothing of B"
    assert pair_text(VIEW, 2, 2) == "C: C?"
    told = rows(1, 0)[-4:]
    assert told[0].startswith("B needs of A")
    assert told[1] == "both take in: load"
    assert told[2] == "row 2 B, level 1, with C: B?"
    assert told[3] == "column 1 A, level 0: A?"
    assert rows(1, 0)[3].count(">") == 1  # the cursor


def test_a_long_list_goes_on_below() -> None:
    told = rows(1, 2, (44, 20))[-4:-2]
    assert "q0" in told[0]
    assert told[1].startswith("q")


def test_the_window_follows_the_cursor_under_fixed_headers() -> None:
    items = tuple(item(f"D-{at}", at, 0) for at in range(200))
    view = DependencyView(
        revision=1, of="decision", items=items, cells=(),
        blocks=tuple(BlockView(level=0, keys=(each.key,)) for each in items),
    )  # fmt: skip
    for row, column in ((0, 0), (100, 3), (199, 199)):
        look = MatrixLook(view, row, column)
        window = matrix_window(look, 80, 20)
        assert row in window.rows
        assert column in window.columns
        lines = [line.text for line in matrix_lines(look, 80, 20, PLAIN)]
        assert len(lines) == 20
        at = window.head + 2 * (column - window.columns.start) + 1
        number = "".join(line[at] for line in lines[1:4]).strip()
        assert number == str(column + 1)
        assert f"D-{row} " in lines[4 + row - window.rows.start]


def test_nothing_is_said_to_be_nothing() -> None:
    empty = DependencyView(revision=1, of="check", items=(), blocks=(), cells=())
    (line,) = matrix_lines(MatrixLook(empty, 0, 0), 40, 10, WIDE)
    assert line.text == "No check to show."
