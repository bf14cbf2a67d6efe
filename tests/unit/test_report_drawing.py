"""Figures as shapes: ticks, scales, bars, legends and what is said of them."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.report.document import Link, Links, Number, Sign, Text, anchor, cell_text
from tracker.report.drawing import describe, draw, spelt
from tracker.report.formats.style import DARK, LIGHT
from tracker.report.point_labels import spots
from tracker.report.scales import scale_of
from tracker.report.shapes import INKS, Label, Line
from tracker.report.svg import svg


def figure(kind: FigureKind, *series: Series) -> Figure:
    return Figure(
        key="k",
        title="T",
        kind=kind,
        series=series,
        across=Axis("travel", "mm"),
        up=Axis("toe"),
    )


# --- scales ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "ticks", "labels"),
    [
        ((0.0, 10.0), (0, 2, 4, 6, 8, 10), ("0", "2", "4", "6", "8", "10")),
        ((-1.0, 1.0), (-1, -0.5, 0, 0.5, 1), ("−1.0", "−0.5", "0.0", "0.5", "1.0")),
        ((0.0, 6e6), tuple(1e6 * each for each in range(7)), ("0", "1e+06", "2e+06", "3e+06",
                                                             "4e+06", "5e+06", "6e+06")),
        ((1e-7, 5e-7), (1e-7, 2e-7, 3e-7, 4e-7, 5e-7), ("1e−07", "2e−07", "3e−07", "4e−07",
                                                        "5e−07")),
    ],
)  # fmt: skip
def test_ticks_are_round_numbers(
    values: tuple[float, ...], ticks: tuple[float, ...], labels: tuple[str, ...]
) -> None:
    """Steps of 1, 2 or 5 times a power of ten: common practice, no source."""
    scale = scale_of(values, 0, 100)
    assert scale.ticks == pytest.approx(ticks)
    assert tuple(map(scale.label, scale.ticks)) == labels


@given(
    st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=5).filter(
        lambda each: max(each) - min(each) > 1e-6 or max(each) == min(each)
    )
)
def test_a_scale_holds_every_value(values: list[float]) -> None:
    scale = scale_of(values, 10, 110)
    for each in values:
        assert 10 - 1e-3 <= scale.at(each) <= 110 + 1e-3
    steps = {round(b - a, 12) for a, b in zip(scale.ticks, scale.ticks[1:], strict=False)}
    assert 2 <= len(scale.ticks) <= 12
    assert steps


def test_nothing_or_one_value_has_a_scale_too() -> None:
    assert scale_of((), 0, 1).ticks[0] == 0
    assert scale_of((math.nan, math.inf), 0, 1).at(0.5) == pytest.approx(0.5)
    one = scale_of((7.0,), 0, 1)
    assert one.low < 7 < one.high


# --- drawings -------------------------------------------------------------------------------------


def test_a_curve_breaks_where_it_has_no_value() -> None:
    line = Series(title="a", x=(0.0, 1.0, 2.0, 3.0, 4.0), y=(0.0, 1.0, math.nan, 1.0, 0.0))
    drawn = [each for each in draw(figure(FigureKind.CURVE, line)).shapes if isinstance(each, Line)]
    runs = [each.points for each in drawn if each.ink == 0]
    assert [len(each) for each in runs] == [2, 2, 2]  # two stretches, and the one in the legend
    assert runs[0][0][1] > runs[0][1][1]  # upwards on paper


def test_a_sketch_keeps_one_scale_and_closes_its_lines() -> None:
    square = Series(
        title="s", x=(0.0, 100.0, 100.0, 0.0), y=(0.0, 0.0, 100.0, 100.0),
        labels=("one", "", "", ""), closed=True,
    )  # fmt: skip
    canvas = draw(figure(FigureKind.SKETCH, square))
    (line,) = [each for each in canvas.shapes if isinstance(each, Line) and each.closed]
    (left, low), (right, _), (_, high), _ = line.points
    assert right - left == pytest.approx(low - high)
    assert [each.text for each in canvas.shapes if isinstance(each, Label)].count("one") == 1
    assert canvas.height < 500


def test_names_of_points_stand_clear_of_each_other_and_of_the_edge() -> None:
    points = [
        (100.0, 50.0, "one"),
        (101.0, 50.0, "two"),
        (102.0, 51.0, "three"),
        (630.0, 9.0, "edge"),
    ]
    found = {text: (x, y, side) for x, y, side, text in spots(points, 640.0)}
    assert found["one"] == (104.0, 46.0, "start")
    assert found["two"] == (105.0, 62.0, "start")
    assert found["three"][2] == "end"
    assert found["edge"] == (626.0, 5.0, "end")


def test_points_of_one_name_at_one_place_are_named_once_and_none_is_lost() -> None:
    crowd = [(100.0 + each % 3, 50.0, f"name {each}") for each in range(12)]
    assert [text for _, _, _, text in spots([*crowd, crowd[0]], 640.0)] == [
        text for _, _, text in crowd
    ]
    (long,) = spots([(5.0, 5.0, "x" * 300)], 640.0)
    assert long == (9.0, 1.0, "start", "x" * 300)


def test_bars_start_at_zero_and_tell_their_values() -> None:
    bars = (
        Series(title="up", y=(10.0, -5.0, math.nan), labels=("a", "b", "c")),
        Series(title="low", y=(2.0,), labels=("a",)),
    )
    canvas = draw(figure(FigureKind.BARS, *bars))
    boxes = [each for each in canvas.shapes if isinstance(each, Line) and each.filled]
    assert len(boxes) == 3
    zero = boxes[0].points[0][0]
    assert all(each.points[0][0] == zero for each in boxes)
    assert boxes[0].points[1][0] > zero > boxes[2].points[1][0]
    texts = [each.text for each in canvas.shapes if isinstance(each, Label)]
    assert {"10", "2", "−5", "a", "b", "c", "up", "low"} <= set(texts)


def test_long_names_are_broken_and_never_cut() -> None:
    name = "word " * 40 + "x" * 300
    bars = Series(title=name, y=(1.0,), labels=(name,))
    texts = [each.text for each in draw(figure(FigureKind.BARS, bars)).shapes
             if isinstance(each, Label)]  # fmt: skip
    whole = "".join(texts).replace(" ", "")
    assert whole.count(name.replace(" ", "")) == 2


@pytest.mark.parametrize(
    ("ys", "said"),
    [
        ((1.0, 2.0, 3.0), "a: 1 to 3, rising."),
        ((3.0, 2.0), "a: 2 to 3, falling."),
        ((1.0, -2.0, 3.0), "a: −2 to 3, both ways."),
        ((1.0,), "a: 1 to 1."),
        ((math.nan,), "a: nothing to show."),
    ],
)
def test_a_figure_is_told_in_words(ys: tuple[float, ...], said: str) -> None:
    line = Series(title="a", x=tuple(map(float, range(len(ys)))), y=ys)
    assert describe(figure(FigureKind.CURVE, line)) == f"Curve: toe over travel [mm]. {said}"
    assert describe(figure(FigureKind.BARS, line)).startswith("Bars: ")


def test_every_text_of_a_figure_is_spelt() -> None:
    line = Series(title="a", x=(0.0,), y=(0.0,), labels=("l",))
    found = spelt(figure(FigureKind.CURVE, line), str.upper)
    texts = [found.title, found.across.title, found.across.unit, found.up.title]
    assert texts == ["T", "TRAVEL", "MM", "TOE"]
    assert (found.series[0].title, found.series[0].labels) == ("A", ("L",))


def test_svg_is_well_formed_and_names_itself() -> None:
    nasty = "<script>&\"'</script>"
    line = Series(title=nasty, x=(0.0, 1.0), y=(0.0, 1.0), labels=(nasty, ""), closed=True)
    point = Series(title="p", x=(0.5,), y=(0.5,))
    source = svg(draw(figure(FigureKind.SKETCH, line, point)), nasty, nasty, "f1", "Font")
    root = ET.fromstring(source)  # noqa: S314 - our own
    space = "{http://www.w3.org/2000/svg}"
    names = {each.get("id") for each in root.iter()} - {None}
    assert set((root.get("aria-labelledby") or "").split()) == names == {"f1-t", "f1-d"}
    assert {each.tag.removeprefix(space) for each in root.iter()} <= {
        *("svg", "title", "desc", "polyline", "polygon", "circle", "text"),
    }
    assert root.find(f"{space}title").text == nasty  # type: ignore[union-attr] # it is there
    assert not any("style" in each.attrib for each in root.iter())


# --- colours --------------------------------------------------------------------------------------


def _contrast(one: str, two: str) -> float:
    """WCAG 2.2, "contrast ratio" and "relative luminance"."""

    def luminance(colour: str) -> float:
        parts = [int(each, 16) / 255 for each in re.findall("..", colour.removeprefix("#"))]
        linear = [
            each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_reckoned_as_published() -> None:
    assert _contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert _contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # WebAIM's example


@pytest.mark.parametrize("ink", INKS)
def test_series_stand_out_from_paper(ink: str) -> None:
    assert _contrast(ink, "#ffffff") >= 4.5


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
def test_text_stands_out_from_every_ground(scheme: dict[str, str]) -> None:
    for ink in ("ink", "quiet", "link", "good", "near", "bad", "open"):
        for ground in ("ground", "panel"):
            assert _contrast(scheme[ink], scheme[ground]) >= 4.5, (ink, ground)
    assert _contrast(scheme["ink"], scheme["caution"]) >= 4.5


# --- cells and anchors ----------------------------------------------------------------------------


def test_cells_as_text() -> None:
    assert cell_text(Text("a")) == "a"
    assert cell_text(Number("1.5", "mm")) == "1.5 mm"
    assert cell_text(Number("2")) == "2"
    assert cell_text(Sign("met")) == "met"
    assert cell_text(Links((Link("a", "x"), Link("b")))) == "a, b"


@given(st.lists(st.text(max_size=8), min_size=1, max_size=3), st.lists(st.text(max_size=8)))
def test_anchors_are_safe_and_tell_keys_apart(one: list[str], two: list[str]) -> None:
    assert re.fullmatch(r"[A-Za-z0-9_-]*", anchor(*one))
    if len(one) == len(two) == 1 and one != two:
        assert anchor(*one) != anchor(*two)
