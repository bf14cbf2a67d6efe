"""Sketches keep one scale on both axes, name points without overlap, and stand still when asked."""

from __future__ import annotations

import math

import pytest
from rich.cells import cell_len

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.tui.face import Face
from tracker.tui.layout.sketch import Sketch, Spot, extent_of, sketch_lines

WIDE, PLAIN = Face(), Face(ascii_only=True)


def figure(*series: Series) -> Figure:
    return Figure(
        key="s", title="A sketch", kind=FigureKind.SKETCH, series=series,
        across=Axis("forward", "mm", along="x"), up=Axis("up", "mm", along="z"),
    )  # fmt: skip


def outline(title: str, *points: tuple[float, float, str], closed: bool = False) -> Series:
    x, y, labels = zip(*points, strict=True)
    return Series(title=title, x=x, y=y, labels=labels, closed=closed)


SQUARE = outline("", (0, 0, ""), (100, 0, ""), (100, 100, ""), (0, 100, ""), closed=True)


def inked(rows: list[str]) -> tuple[int, int]:
    """Width and height of what is drawn in the body of a sketch, in cells."""
    body = [row[row.index("|") + 1 :] for row in rows if "|" in row[:8] or "+" in row[:8]]
    cells = [
        (at, y) for y, row in enumerate(body) for at, char in enumerate(row) if char in "-|/\\"
    ]
    columns, lines = [at for at, _ in cells], [y for _, y in cells]
    return max(columns) - min(columns), max(lines) - min(lines)


@pytest.mark.parametrize("size", [(80, 24), (40, 24), (120, 20)])
def test_a_square_is_twice_as_many_cells_wide_as_high(size: tuple[int, int]) -> None:
    """Cells are taken to be twice as high as wide, as most terminals have them."""
    lines = sketch_lines(Sketch(figure(SQUARE)), *size, PLAIN)
    rows = [line.text.replace("+", "|") for line in lines[1:-3]]
    across, down = inked(rows)
    assert across == pytest.approx(2 * down, abs=2)


@pytest.mark.parametrize("face", [WIDE, PLAIN])
@pytest.mark.parametrize("size", [(24, 8), (44, 16), (80, 24), (150, 40)])
def test_it_fills_its_place_and_no_more(face: Face, size: tuple[int, int]) -> None:
    lines = sketch_lines(Sketch(figure(SQUARE)), *size, face)
    assert len(lines) <= max(size[1], 7)
    assert all(cell_len(line.text) <= size[0] for line in lines)
    assert not face.ascii_only or all(line.text.isascii() for line in lines)


def text_of(sketch: Sketch, size: tuple[int, int] = (80, 24)) -> str:
    return "\n".join(line.text for line in sketch_lines(sketch, *size, WIDE))


def test_names_that_are_nobody_elses_stand_at_their_points_else_the_title_does() -> None:
    arms = figure(
        outline("Front arm", (0, 0, "inner"), (100, 0, "outer")),
        outline("Rear arm", (0, 50, "inner"), (100, 50, "outer")),
        outline("Axis", (50, -30, "foot"), (50, 80, "head")),
        outline("Wheel", (0, 0, ""), (100, 100, ""), closed=True),
    )
    text = text_of(Sketch(arms))
    for name in ("Front arm", "Rear arm", "foot", "head", "Wheel"):
        assert text.count(name) == 1
    assert "inner" not in text
    assert text.count("•") == 6


def test_names_never_overlap() -> None:
    crowd = figure(*(outline("", (at, 0, f"<the point {at}>"), (at, 1, "")) for at in range(30)))
    text = text_of(Sketch(crowd), (60, 12))
    shown = [at for at in range(30) if f"<the point {at}>" in text]
    assert 3 < len(shown) < 30  # the rest is left out
    assert text.count("<") == text.count(">") == len(shown)


def test_points_to_move_are_marked_and_the_chosen_one_is_named() -> None:
    spots = (Spot(50, 50, "first"), Spot(20, 80, "second", chosen=True))
    text = text_of(Sketch(figure(SQUARE), spots=spots))
    assert (text.count("◇"), text.count("◆")) == (1, 1)
    assert "second" in text
    assert "first" not in text


def test_a_given_extent_keeps_the_picture_still() -> None:
    moved = outline("", (0, 0, ""), (100, 0, ""), (100, 130, ""), (0, 100, ""), closed=True)
    still = (0.0, 100.0, 0.0, 100.0)
    one, other = (text_of(Sketch(figure(each), extent=still)) for each in (SQUARE, moved))
    assert one.splitlines()[-3:] == other.splitlines()[-3:]
    assert one != other


def test_what_is_stored_is_dotted_behind_a_trial() -> None:
    gone = outline("", (0, 50, ""), (100, 50, ""))
    with_it = text_of(Sketch(figure(SQUARE), before=figure(gone)))
    assert with_it != text_of(Sketch(figure(SQUARE)))


def test_nothing_finite_makes_an_empty_frame() -> None:
    empty = figure(Series(title="none", x=(math.nan,), y=(0.0,), labels=("here",)))
    assert extent_of(figure()) is None
    text = text_of(Sketch(empty))
    assert "•" not in text
    assert "forward [mm]" in text
    one = figure(Series(title="point", x=(5.0,), y=(5.0,), labels=("here",)))
    assert "here" in text_of(Sketch(one))
