"""Where the design stands in a figure and what it is held to, drawn and told."""

from __future__ import annotations

import math
from xml.etree import ElementTree as ET

import pytest

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.report.document import Band
from tracker.report.drawing import describe, draw
from tracker.report.marks import band_words, now_words, spelt_bands, with_marks
from tracker.report.shapes import ALLOWED, BOUND, PRESENT, Canvas, Label, Line
from tracker.report.svg import svg

MOST = Band(judge="R-1", axis="up", lower=None, upper=6.0, verdict="met")
LEAST = Band(judge="C-1.gap", axis="across", lower=2.5, upper=None, verdict="missed")


def figure(
    *, across: float | None = None, up: float | None = None, kind: FigureKind = FigureKind.CURVE
) -> Figure:
    return Figure(
        key="k",
        title="T",
        kind=kind,
        series=(Series(title="line", x=(0.0, 10.0), y=(0.0, 10.0)),),
        across=Axis("travel", "mm", now=across),
        up=Axis("toe", "deg", now=up),
    )


def lines(canvas: Canvas, ink: int) -> list[Line]:
    """Return the lines of an ink in the drawing, not in its legend."""
    found = [each for each in canvas.shapes if isinstance(each, Line) and each.ink == ink]
    return [each for each in found if each.points[0][1] < 313]


def words(canvas: Canvas) -> list[str]:
    return [each.text for each in canvas.shapes if isinstance(each, Label)]


def test_the_ground_between_the_bounds_is_shaded_to_the_edge_where_it_is_open() -> None:
    canvas = draw(figure(), (MOST, LEAST))
    below, right = lines(canvas, ALLOWED)
    xs, ys = zip(*below.points, strict=True)
    assert (min(xs), max(xs)) == (74, 626)
    assert (max(ys), min(ys)) == pytest.approx((312, 132))  # 0 to 6 of 10 on 300 from below
    xs, ys = zip(*right.points, strict=True)
    assert (min(xs), max(xs)) == (74 + 552 / 4, 626)
    assert (max(ys), min(ys)) == (312, 12)
    upper, lower = lines(canvas, BOUND)
    assert [y for _, y in upper.points] == pytest.approx([132, 132])
    assert [x for x, _ in lower.points] == [74 + 552 / 4] * 2
    assert {"R-1 most", "C-1.gap least"} <= set(words(canvas))


def test_the_present_is_a_cross_with_a_ring_where_both_axes_tell() -> None:
    canvas = draw(figure(across=5.0, up=2.0))
    assert [each.points for each in lines(canvas, PRESENT)] == [
        ((350, 312), (350, 12)),
        ((74, 252), (626, 252)),
        ((350, 252),),
    ]
    assert words(canvas).count("now") == 1
    (down,) = lines(draw(figure(across=5.0)), PRESENT)
    assert down.points[0][0] == 350
    (along,) = lines(draw(figure(up=2.0)), PRESENT)
    assert along.points[0][1] == 252
    assert lines(draw(figure()), PRESENT) == []


def test_what_lies_outside_a_sketch_is_told_and_not_drawn() -> None:
    far = figure(across=99.0, up=-3.0, kind=FigureKind.SKETCH)
    away = Band(judge="R-9", axis="up", lower=20.0, upper=30.0, verdict="missed")
    canvas = draw(far, (away,))
    assert lines(canvas, PRESENT) == lines(canvas, BOUND) == []
    assert "allowed by R-9: 20 to 30 deg (missed)" in words(canvas)
    assert "now: travel 99 mm, toe −3 deg" in words(canvas)


def test_an_axis_reaches_to_the_present_and_to_bounds_that_are_near() -> None:
    axis, near = Axis("toe", now=12.0), [MOST]
    assert with_marks((0.0, 10.0, math.nan), axis, near) == [0.0, 10.0, 12.0, 6.0]
    far = [Band(judge="R", axis="up", lower=-12.5, upper=24.0, verdict="met")]
    assert with_marks((0.0, 10.0), axis, far) == [0.0, 10.0, 12.0, 24.0]
    assert with_marks((), Axis("toe"), far) == []


@pytest.mark.parametrize(
    ("lower", "upper", "said"),
    [
        (1.1, 1.5, "allowed by R: 1.1 to 1.5 deg (tight)"),
        (-2.0, None, "allowed by R: at least −2 deg (tight)"),
        (None, 550000.0, "allowed by R: at most 550000 deg (tight)"),
        (None, None, "allowed by R: anything deg (tight)"),
    ],
)
def test_a_band_is_told_in_words(lower: float | None, upper: float | None, said: str) -> None:
    band = Band(judge="R", axis="up", lower=lower, upper=upper, verdict="tight")
    assert band_words(figure(), band) == said
    assert describe(figure(), (band,)).endswith(f"A{said[1:]}.")


def test_the_present_is_told_in_words() -> None:
    assert now_words(figure()) == ""
    assert now_words(figure(across=1.5)) == "now: travel 1.5 mm"
    told = describe(figure(across=0.0, up=-0.25))
    assert told.endswith("line: 0 to 10, rising. Now: travel 0 mm, toe −0.25 deg.")


def test_bands_are_spelt_and_the_shapes_have_their_looks() -> None:
    (band,) = spelt_bands((MOST,), str.lower)
    assert (band.judge, band.upper) == ("r-1", 6.0)
    root = ET.fromstring(svg(draw(figure(across=5.0, up=2.0), (MOST,)), "t", "d", "f", "F"))  # noqa: S314 - our own
    rings = [each for each in root.iter() if each.tag.endswith("circle")]
    assert [each.get("fill") for each in rings] == ["none", "none"]  # the place, and the legend
    dashes = {each.get("stroke-dasharray") for each in root.iter()}
    assert "1 2.5" in dashes


def test_short_entries_of_a_legend_stand_in_two_columns() -> None:
    def legend(*titles: str) -> list[tuple[float, float]]:
        series = tuple(Series(title=each, x=(0.0, 1.0), y=(0.0, 1.0)) for each in titles)
        shapes = draw(Figure(key="k", title="T", kind=FigureKind.CURVE, series=series)).shapes
        return [(each.x, each.y) for each in shapes if isinstance(each, Label)][-len(titles) :]

    (first, top), (second, beside), (third, below) = legend("one", "two", "three")
    assert (first, second, third) == (116, 399, 116)
    assert (top, beside, below) == (top, top, top + 15)
    (one, top), (two, below) = legend("one", "a long name that wants a line of its own")
    assert (one, two) == (116, 116)
    assert below == top + 15
