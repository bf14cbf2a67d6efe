"""Pictures show hostile text as text: titles, names, units and labels, wherever they stand."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

import pytest
from rich.cells import cell_len

from tests.tui.driving import press, seen, settled
from tests.unit.services.pictured import drawn_session
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.services.actions import amend_item
from tracker.services.item import item_page
from tracker.services.pictures.dependency import dependency
from tracker.services.pictures.dependency_views import DependencyView
from tracker.services.pictures.neighbourhood import neighbourhood
from tracker.services.pictures.timeline import GateMark, Month, TimelineView
from tracker.services.pictures.views import BandView, PictureView
from tracker.tui.app import WhyboneApp
from tracker.tui.face import Face
from tracker.tui.layout.gallery import Exhibit, gallery_lines
from tracker.tui.layout.matrix import MatrixLook, matrix_lines
from tracker.tui.layout.neighbours import middle_lines, side_lines
from tracker.tui.layout.paper import Line
from tracker.tui.layout.sketch import Sketch, Spot, sketch_lines
from tracker.tui.layout.tiles import grid_for
from tracker.tui.layout.timeline import TimelineLook, months_of, timeline_lines

HOSTILE = [
    "[@click=app.quit]x[/]",
    "[red]R-12[/red] [N/mm]",
    "right \u202e to left \u2066 isolate",
    "zero \u200b\u200d\ufeff width",
    "line \u2028 and \u2029 separators",
    "escape \x1b[31m \x1b]0;title\x07 and \x9b2J",
    "日本語 wide",
    "combining e\u0301\u0302\u0303",
    "\t tabs \r\n and \x00 nul",
    "x" * 5000,
]
FACES = [Face(), Face(ascii_only=True)]


def assert_safe(lines: list[Line], width: int, face: Face) -> None:
    text = "".join(line.text for line in lines)
    bad = {char for char in text if unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs")}
    assert not bad
    assert all(cell_len(line.text) <= width for line in lines)
    assert not face.ascii_only or text.isascii()


def picture(evil: str, kind: FigureKind) -> PictureView:
    series = Series(title=evil, x=(0.0, 1.0), y=(0.0, 1.0), labels=(evil, f"{evil}2"))
    figure = Figure(
        key=evil, title=evil, kind=kind, series=(series,), across=Axis(evil, evil),
        up=Axis(evil, evil),
    )  # fmt: skip
    band = BandView(judge=evil, axis="up", lower=0.2, upper=0.8, verdict="met")
    return PictureView(check=evil, title=evil, figure=figure, across=0.5, up=0.5, bands=(band,))


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("evil", HOSTILE, ids=range(len(HOSTILE)))
def test_pictures(evil: str, face: Face) -> None:
    both = [picture(evil, FigureKind.CURVE), picture(evil, FigureKind.SKETCH)]
    exhibits = [Exhibit(each, each, 0.5) for each in both]
    grid = grid_for(2, 150, 40)
    assert_safe(gallery_lines(exhibits, 0, grid, face), 150, face)
    sketch = Sketch(both[1].figure, spots=(Spot(0.5, 0.5, evil, chosen=True),))
    assert_safe(sketch_lines(sketch, 70, 20, face), 70, face)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("evil", HOSTILE, ids=range(len(HOSTILE)))
def test_matrix_and_timeline(evil: str, face: Face) -> None:
    view = dependency(drawn_session())
    items = tuple(replace(each, key=evil, title=evil, reads=(evil,)) for each in view.items)
    cells = tuple(replace(each, quantities=(evil, evil)) for each in view.cells)
    hostile = DependencyView(
        revision=1, of="decision", items=items, blocks=view.blocks, cells=cells
    )
    assert_safe(matrix_lines(MatrixLook(hostile, 1, 0), 80, 20, face), 80, face)
    month = Month(month="2031-01", authors=((evil, 3), (f"{evil}2", 1)), first=1, last=4)
    gates = (GateMark(key=evil, title=evil, date="2031-02-01"),)
    times = TimelineView(revision=4, read=4, months=(month,), gates=gates)
    look = TimelineLook(times, months_of(times), 0)
    assert_safe(timeline_lines(look, 80, 20, face), 80, face)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("evil", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("width", [24, 60])
def test_neighbours(evil: str, face: Face, width: int) -> None:
    session = drawn_session()
    nodes = neighbourhood(session, "C-RAMP", 2).above
    hostile = [
        replace(
            each,
            link=replace(each.link, key=evil, title=evil, role=evil, text=evil),
            shifted=True,
            again=True,
        )
        for each in nodes
    ]
    sides = side_lines(evil, hostile, width, face, cut=True)
    assert_safe([sides.line(at) for at in range(len(sides))], width, face)
    page = replace(item_page(session, "R-FORCE"), title=evil, key=evil, shifted=True)
    middle = middle_lines(page, (evil,), 2, width, face)
    assert_safe([middle.line(at) for at in range(len(middle))], width, face)


@pytest.mark.parametrize("ascii_only", [False, True])
async def test_no_screen_of_pictures_lets_it_through(ascii_only: bool) -> None:
    evil = " ".join(each for each in HOSTILE[:5])
    session = drawn_session(author=evil)
    for key, field in (
        ("way", "title"), ("top", "title"), ("C-RAMP", "title"), ("R-FORCE", "statement"),
        ("D-TOP", "question"), ("D-RAMP", "question"), ("G1", "title"),
    ):  # fmt: skip
        amend_item(session, key, {field: evil}, evil)
    app = WhyboneApp(lambda: session, ascii_only=ascii_only, pace=0.0)
    async with app.run_test(size=(100, 40)) as pilot:
        await settled(pilot)
        for key, letter in (("C-RAMP", "C"), ("top", "V"), ("R-FORCE", "N"), ("", "X"), ("", "L")):
            if key:
                app.open_item(key)
                await settled(pilot)
            await press(pilot, letter)
            shown = seen(pilot)
            bad = {char for char in shown if unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp")}
            assert not bad - {"\n"}
            assert not ascii_only or shown.isascii()
            for strip in app.screen._compositor.render_strips(app.size):
                for segment in strip:
                    assert segment.style is None or "@click" not in segment.style.meta
            await press(pilot, "h")
        assert app.is_running
