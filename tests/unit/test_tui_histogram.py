"""The histogram shows where the samples are, where the band ends, and nothing it should not."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from tracker.services.explore_views import SummaryView
from tracker.tui.face import Face
from tracker.tui.layout.histogram import Histogram, histogram_lines, histogram_of

WIDE, PLAIN = Face(), Face(ascii_only=True)
BELL = Histogram(
    edges=(0.0, 1.0, 2.0, 3.0, 4.0),
    counts=(10, 40, 40, 10),
    unit="mm",
    lower=1.0,
    upper=3.5,
    low=0.2,
    high=3.8,
    mean=2.0,
    missed=0.15,
)


@pytest.mark.parametrize("face", [WIDE, PLAIN])
@pytest.mark.parametrize("width", [20, 41, 76, 160])
@pytest.mark.parametrize("height", [1, 6, 12])
def test_it_fills_its_place_and_no_more(face: Face, width: int, height: int) -> None:
    lines = histogram_lines(BELL, width, height, face)
    assert len(lines) == max(height, 6)
    assert all(cell_len(line.text) <= width for line in lines)
    assert all(cell_len(line.text) == width for line in lines[:-1])
    assert not face.ascii_only or all(line.text.isascii() for line in lines)


def test_bars_are_as_high_as_their_bins_are_full() -> None:
    lines = [each.text for each in histogram_lines(BELL, 80, 11, WIDE)]
    filled = [sum(line[at] in "█▓" for line in lines[:8]) for at in range(80)]
    assert filled[30] == filled[50] == 8  # the fullest bins reach the top
    assert filled[5] == 2  # a quarter as full


def test_bins_outside_the_band_differ_without_colour() -> None:
    for face, inside, outside in ((WIDE, "█", "▓"), (PLAIN, "#", "x")):
        bottom = histogram_lines(BELL, 80, 11, face)[7].text
        assert bottom[5] == outside
        assert bottom[30] == inside
        assert bottom[20] == bottom[70] == ("|" if face.ascii_only else "│")  # the bounds
        assert bottom[75] == outside


def test_the_axis_has_round_values_with_the_unit_and_the_rest_is_told() -> None:
    *_, labels, told = (each.text for each in histogram_lines(BELL, 80, 11, WIDE))
    *ticks, unit = labels.split()
    assert unit == "mm"
    assert [float(each) for each in ticks] == [0.0, 1.0, 2.0, 3.0]  # 4 would stand under the unit
    assert "missed by 15 %" in told
    assert "lower 1.000 · upper 3.500 · mean 2.000" in told


def test_a_bound_far_from_all_samples_is_told_and_not_drawn() -> None:
    far = Histogram(edges=(0.0, 1.0), counts=(5,), upper=50.0)
    lines = histogram_lines(far, 60, 8, WIDE)
    assert "upper 50.00" in lines[-1].text
    assert "beyond the picture" in lines[-1].text
    assert not any("│" in line.text for line in lines[:-3])


def test_one_narrow_bin_still_shows() -> None:
    rounding = Histogram(edges=(1.0, 1.0000000000000002), counts=(100,))
    lines = histogram_lines(rounding, 40, 8, WIDE)
    assert "█" in lines[4].text


def test_no_samples_are_said_to_be_none() -> None:
    (line,) = histogram_lines(Histogram(edges=(0.0, 1.0), counts=(0,)), 40, 8, WIDE)
    assert line.text == "no sample has a value"


def test_it_is_made_from_a_judged_number_of_a_spread() -> None:
    summary = SummaryView(
        judge="REQ", subject="q", required="at most 3 mm", unit="mm", missed=0.1, unknown=0.0,
        mean=2.0, deviation=0.5, low=1.0, high=3.0, edges=(0.0, 4.0), counts=(7,), owners=(),
        upper=3.0,
    )  # fmt: skip
    made = histogram_of(summary)
    assert (made.upper, made.lower, made.missed, made.counts) == (3.0, None, 0.1, (7,))
