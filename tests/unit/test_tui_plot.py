"""Curves drawn in cells: to scale, told apart, with bands, the present point and a cursor."""

from __future__ import annotations

import math

import pytest
from rich.cells import cell_len

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.services.pictures.views import BandView, PictureView
from tracker.tui.face import Face
from tracker.tui.layout.canvas import Canvas
from tracker.tui.layout.curves import Plot, runs_up, stops, value_at, worth_closer
from tracker.tui.layout.plot import plot_lines, value_under
from tracker.tui.layout.scale import scale_of

WIDE, PLAIN = Face(), Face(ascii_only=True)
EVIL = "[@click=app.quit]x[/] \u202e\u200b\u2028 日本語 \x1b[31m"


def figure(*series: Series, across: str = "speed", up: str = "gain") -> Figure:
    return Figure(
        key="f", title="A figure", kind=FigureKind.CURVE, series=series,
        across=Axis(across, "km/h"), up=Axis(up, "g"),
    )  # fmt: skip


def picture(*series: Series, bands: tuple[BandView, ...] = (), **at: float | None) -> PictureView:
    return PictureView(
        check="C", title="Check", figure=figure(*series), bands=bands,
        across=at.get("across"), up=at.get("up"),
    )  # fmt: skip


LINE = Series(title="line", x=tuple(map(float, range(101))), y=tuple(map(float, range(101))))
FLAT = Series(title="flat", x=(0.0, 100.0), y=(50.0, 50.0))


def band(lower: float | None, upper: float | None, axis: str = "up") -> BandView:
    return BandView(judge="REQ", axis=axis, lower=lower, upper=upper, verdict="met")


# --- scales


@pytest.mark.parametrize(
    ("values", "most", "ticks", "labels"),
    [
        ((0.0, 100.0), 5, (0.0, 50.0, 100.0), ["0", "50", "100"]),
        (
            (0.0, 100.0),
            6,
            (0.0, 20.0, 40.0, 60.0, 80.0, 100.0),
            ["0", "20", "40", "60", "80", "100"],
        ),
        ((-0.3, 0.4), 4, (-0.2, 0.0, 0.2, 0.4), ["−0.2", "0.0", "0.2", "0.4"]),
        ((3.0, 3.0), 4, (2.0, 3.0, 4.0), ["2", "3", "4"]),
        ((), 3, (0.0, 0.5, 1.0), ["0.0", "0.5", "1.0"]),
    ],
)
def test_ticks_are_round_and_as_many_as_fit(
    values: tuple[float, ...], most: int, ticks: tuple[float, ...], labels: list[str]
) -> None:
    scale = scale_of(values, most)
    assert scale.ticks == pytest.approx(ticks)
    assert [scale.label(each) for each in scale.ticks] == labels
    assert len(scale.ticks) <= most


def test_values_that_are_not_finite_make_no_scale_and_large_ones_have_an_exponent() -> None:
    assert scale_of((1.0, math.nan, math.inf, 2.0), 3).ticks == (1.0, 1.5, 2.0)
    huge = scale_of((0.0, 3e7), 4)
    assert huge.label(2e7) == "2e+07"
    assert huge.fine(1.23456e7) == "1.2346e+07"
    assert scale_of((0.0, 1e-7), 3).label(5e-8) == "5e−08"
    assert scale_of((0.0, 1.0), 3).fine(1 / 3) == "0.333"


# --- the canvas


def drawn(canvas: Canvas) -> list[str]:
    return [line.text for line in canvas.lines()]


def test_dots_are_braille_patterns_in_their_places() -> None:
    """ISO/IEC 10646, 2800-28FF: dots 1 to 8 are bits 0 to 7, columns of 1-2-3-7 and 4-5-6-8."""
    for place, bit in (
        ((0, 0), 0),
        ((0, 1), 1),
        ((0, 2), 2),
        ((1, 0), 3),
        ((1, 3), 7),
        ((0, 3), 6),
    ):
        canvas = Canvas(1, 1, WIDE)
        canvas.dot(*place)
        assert drawn(canvas) == [chr(0x2800 + (1 << bit))]


def test_a_line_has_no_gaps_and_stays_on_the_canvas() -> None:
    canvas = Canvas(10, 5, PLAIN)
    canvas.polyline([(-20.0, -10.0), (30.0, 15.0)], mark="*")
    assert all(abs(line.index("*") - 2 * row) <= 1 for row, line in enumerate(drawn(canvas)))
    assert all("* *" not in line for line in drawn(canvas))
    canvas = Canvas(10, 5, PLAIN)
    canvas.polyline([(0.0, 9.0), (9.0, 9.0)])
    canvas.polyline([(math.nan, 0.0), (3.0, 3.0)])
    canvas.polyline([(20.0, 0.0), (20.0, 4.0)])
    assert drawn(canvas) == [" " * 10] * 5


def test_strokes_follow_the_slope_without_braille() -> None:
    for end, char in (((9.0, 0.0), "-"), ((0.0, 4.0), "|"), ((8.0, 4.0), "\\"), ((9.0, 1.0), "-")):
        canvas = Canvas(10, 5, PLAIN)
        canvas.polyline([(0.0, 0.0), end])
        assert drawn(canvas)[0][0] == char
    canvas = Canvas(10, 5, PLAIN)
    canvas.polyline([(0.0, 4.0), (8.0, 0.0)])
    assert drawn(canvas)[4][0] == "/"


def test_texts_lie_on_drawings_and_wide_characters_take_two_cells() -> None:
    canvas = Canvas(6, 1, WIDE)
    canvas.polyline([(0.0, 0.0), (11.0, 0.0)], "key")
    canvas.write(1, 0, "日", "strong")
    canvas.write(5, 0, "本")  # no room for its second half
    (line,) = canvas.lines()
    assert cell_len(line.text) == 6
    assert line.text[1] == "日"
    assert "本" not in line.text
    assert canvas.taken(2, 0, 1)
    assert canvas.taken(4, 0, 3)
    assert not canvas.taken(4, 0, 2)


# --- curves


@pytest.mark.parametrize("face", [WIDE, PLAIN])
@pytest.mark.parametrize("size", [(30, 8), (60, 17), (80, 24), (157, 46)])
def test_a_plot_fills_its_place_and_no_more(face: Face, size: tuple[int, int]) -> None:
    width, height = size
    what = picture(LINE, FLAT, bands=(band(20.0, 60.0),), across=50.0, up=50.0)
    lines = plot_lines(Plot(what, cursor=30.0), width, height, face)
    assert len(lines) <= max(height, 10)
    assert all(cell_len(line.text) <= width for line in lines)
    assert not face.ascii_only or all(line.text.isascii() for line in lines)


def plain_rows(what: PictureView, **look: object) -> list[str]:
    return [line.text for line in plot_lines(Plot(what, **look), 66, 25, PLAIN)]  # type: ignore[arg-type] # a plot's own


def test_curves_are_to_scale_and_keep_their_letters() -> None:
    rows = plain_rows(picture(LINE, FLAT))
    body = [row for row in rows if "|" in row or "+" in row[:5]]
    steps = [row.rindex("a") for row in body if "a" in row[5:]]
    assert steps == sorted(steps, reverse=True)  # it rises to the right
    (level,) = [row for row in body if row.count("b") > 30]
    assert body.index(level) in (8, 9)  # half way up
    assert "a  line   b  flat" in rows[0]
    assert "gain [g]" in rows[1]
    assert rows[-2].endswith("speed [km/h]")


def test_the_band_is_shaded_and_its_bounds_are_named() -> None:
    rows = plain_rows(picture(LINE, bands=(band(40.0, 60.0),)))
    shaded = [at for at, row in enumerate(rows) if row.count(".") > 20]
    assert len(shaded) in (2, 3, 4)
    assert any("REQ upper" in row for row in rows)
    assert any("REQ lower" in row for row in rows)
    sideways = plain_rows(picture(LINE, bands=(band(40.0, None, "across"),)))
    assert sum(row.count(".") > 20 for row in sideways) > 10
    assert "REQ lower" in "".join(sideways)
    far = plain_rows(picture(LINE, bands=(band(None, 900.0),)))
    assert not any("REQ" in row for row in far)
    missed = plain_rows(picture(LINE, bands=(band(None, -900.0),)))
    assert not any(row.count(".") > 20 for row in missed)


def test_the_present_point_is_marked_where_it_is() -> None:
    def at(rows: list[str]) -> tuple[int, int]:
        (found,) = [(y, row.index("@")) for y, row in enumerate(rows[1:]) if "@" in row]
        return found

    both = at(plain_rows(picture(LINE, across=50.0, up=50.0)))
    assert at(plain_rows(picture(LINE, across=50.0))) == both  # it is on the curve
    assert at(plain_rows(picture(LINE, across=50.0, up=80.0)))[0] < both[0]
    nowhere = plain_rows(picture(LINE, across=500.0))  # beyond the curve
    assert not any("@" in row for row in nowhere[1:])
    unknown = plain_rows(picture(LINE, up=50.0))
    assert not any("@" in row for row in unknown[1:])


def test_values_are_read_at_the_cursor() -> None:
    assert plain_rows(picture(LINE, FLAT), cursor=30.0)[-1] == "at 30.0 km/h:  a 30.0   b 50.0  g"
    assert plain_rows(picture(LINE), cursor=-5.0)[-1].endswith("no curve is here")
    assert plain_rows(picture(LINE))[-1] == ""


def test_what_is_stored_is_drawn_behind_a_trial_and_told() -> None:
    moved = Series(title="line", x=LINE.x, y=tuple(each + 10 for each in LINE.y))
    rows = plain_rows(picture(moved, across=50.0, up=60.0), before=figure(LINE), cursor=30.0)
    assert rows[-1] == "at 30.0 km/h:  a 40.0 (was 30.0)  g"
    assert "@  tried" in rows[0]
    assert "as stored" in rows[0]
    fewer = plain_rows(picture(moved, FLAT), before=figure(LINE), cursor=30.0)
    assert "b 50.0  g" in fewer[-1]


def test_curves_may_run_up() -> None:
    uneven = Series(title="toe", x=(0.3, 0.1, -0.2), y=(-10.0, 0.0, 10.0))
    assert runs_up(figure(uneven))
    assert not runs_up(figure(LINE))
    turning = Series(title="arc", x=(0.0, 1.0, 0.0), y=(0.0, 1.0, 2.0))
    assert runs_up(figure(turning))
    assert not runs_up(figure(Series(title="hill", x=(0.0, 1.0, 2.0), y=(0.0, 1.0, 0.0))))
    what = picture(uneven, up=0.0, bands=(band(-0.1, 0.2, "across"),))
    rows = plain_rows(what, cursor=5.0)
    assert rows[-1] == "at 5.00 g:  a -0.050  km/h"
    assert any("@" in row for row in rows[1:])
    assert stops(figure(uneven)) == [-10.0, 0.0, 10.0]


def test_the_cursor_stops_where_the_longest_curve_is_known() -> None:
    assert stops(figure(FLAT, LINE)) == list(LINE.x)
    assert stops(figure()) == []


def test_values_between_points_are_on_a_straight_line() -> None:
    assert value_at(FLAT, 70.0, up=False) == 50.0
    assert value_at(LINE, 0.0, up=False) == 0.0
    assert value_at(LINE, 100.5, up=False) is None
    assert value_at(Series(title="point", x=(1.0,), y=(2.0,)), 1.0, up=False) is None
    assert value_at(Series(title="step", x=(1.0, 1.0), y=(2.0, 3.0)), 1.0, up=False) == 2.0


def test_a_curve_that_dwarfs_the_first_is_left_out_of_the_scale_on_demand() -> None:
    steep = Series(title="steep", x=(0.0, 100.0), y=(0.0, 5000.0))
    small = picture(LINE, steep, bands=(band(20.0, 60.0),))
    assert worth_closer(small)
    assert not worth_closer(picture(LINE, FLAT, bands=(band(20.0, 60.0),)))
    assert not worth_closer(picture(LINE, steep))
    assert not worth_closer(picture(LINE, bands=(band(20.0, 60.0),)))
    near, far = (plain_rows(small, close=close) for close in (True, False))
    assert any(row.strip().startswith("20+") for row in near)
    assert any("4000" in row for row in far)


def test_the_cursor_goes_to_the_cell_pointed_at() -> None:
    what = Plot(picture(LINE))
    rows = [line.text for line in plot_lines(what, 66, 25, PLAIN)]
    left = rows[5].index("|")
    assert value_under(what, (66, 25), (left + 1, 5), PLAIN) == pytest.approx(0.8, abs=1)
    assert value_under(what, (66, 25), (65, 5), PLAIN) == pytest.approx(99.2, abs=1)
    assert value_under(what, (66, 25), (0, 5), PLAIN) is None
    assert value_under(what, (66, 25), (30, 0), PLAIN) is None
    up = Plot(picture(Series(title="toe", x=(0.3, 0.1, -0.2), y=(-10.0, 0.0, 10.0))))
    assert value_under(up, (66, 25), (30, 2), PLAIN) == pytest.approx(10.0, abs=1)


def test_a_single_point_is_its_letter_and_nothing_is_an_empty_frame() -> None:
    rows = plain_rows(picture(LINE, Series(title="trim", x=(50.0,), y=(10.0,))))
    assert sum("b" in row[6:] for row in rows[2:-3]) == 1
    assert plot_lines(Plot(picture()), 40, 12, WIDE)


def test_what_a_strangers_check_draws_amiss_does_no_harm() -> None:
    short = Series(title="short", x=(0.0, 1.0, 2.0), y=(0.0, 1.0))
    holed = Series(title="holed", x=(0.0, math.nan, 2.0), y=(0.0, 1.0, math.inf))
    lost = Series(title="lost", x=(math.nan,), y=(math.inf,))
    rows = plain_rows(picture(LINE, short, holed, lost, across=math.inf, up=1.0), cursor=0.5)
    assert "b 0.5" in rows[-1]
    assert "c" not in rows[-1].partition(":")[2]
    assert not any("@" in row for row in rows[1:])


def test_twenty_curves_do_not_run_out_of_letters() -> None:
    many = [Series(title=f"curve {at}", x=(0.0, 1.0), y=(0.0, float(at))) for at in range(30)]
    rows = plot_lines(Plot(picture(*many), cursor=0.5), 120, 40, WIDE)
    assert all(cell_len(line.text) <= 120 for line in rows)


@pytest.mark.parametrize("face", [WIDE, PLAIN])
def test_hostile_names_stay_text(face: Face) -> None:
    series = Series(title=EVIL, x=(0.0, 1.0), y=(0.0, 1.0))
    what = PictureView(
        check=EVIL, title=EVIL, across=0.5, up=0.5,
        figure=Figure(key=EVIL, title=EVIL, kind=FigureKind.CURVE, series=(series,),
                      across=Axis(EVIL, EVIL), up=Axis(EVIL, EVIL)),
        bands=(BandView(judge=EVIL, axis="up", lower=0.2, upper=0.8, verdict="met"),
               BandView(judge=EVIL, axis="across", lower=0.2, upper=None, verdict="met")),
    )  # fmt: skip
    text = "".join(line.text for line in plot_lines(Plot(what, cursor=0.5), 90, 24, face))
    assert not set(text) & set("\u202e\u200b\u2028\x1b")
    assert not face.ascii_only or text.isascii()
