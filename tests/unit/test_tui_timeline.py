"""Months without a gap, bars as high as they are full, gates below their months."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from tracker.services.pictures.timeline import GateMark, Month, TimelineView
from tracker.tui.face import Face
from tracker.tui.layout.timeline import (
    TimelineLook,
    authors_of,
    month_under,
    months_of,
    timeline_lines,
)

WIDE, PLAIN = Face(), Face(ascii_only=True)
VIEW = TimelineView(
    revision=30,
    read=20,
    months=(
        Month(month="2030-11", authors=(("Ann", 8), ("Ben", 2)), first=1, last=10),
        Month(month="2031-02", authors=(("Ben", 5),), first=11, last=20),
    ),
    gates=(
        GateMark(key="G1", title="Concept", date="2031-01-15"),
        GateMark(key="G2", title="Design", date="2031-03-01"),
        GateMark(key="G3", title="Late", date="2031-03-20"),
        GateMark(key="G4", title="Later", date="2031-03-21"),
    ),
)
MONTHS = ["2030-11", "2030-12", "2031-01", "2031-02", "2031-03"]


def rows(at: int = 0, size: tuple[int, int] = (80, 18), view: TimelineView = VIEW) -> list[str]:
    look = TimelineLook(view, months_of(view), at)
    return [line.text for line in timeline_lines(look, *size, PLAIN)]


def test_months_have_no_gap_from_the_first_change_or_gate_to_the_last() -> None:
    assert months_of(VIEW) == MONTHS
    assert months_of(TimelineView(revision=0, read=0, months=(), gates=())) == []
    assert authors_of(VIEW) == [("Ann", 8), ("Ben", 7)]


def test_bars_are_as_high_as_months_are_full_and_filled_by_author() -> None:
    shown = rows(size=(80, 16))  # ten rows of bars: one for each change
    body = shown[1:11]
    first = "".join(row[5] for row in body)
    assert first == "=" * 2 + "#" * 8  # who made most is below
    fourth = "".join(row[5 + 3 * 6] for row in body)
    assert fourth.strip() == "=" * 5
    assert shown[0].startswith("# Ann 8   = Ben 7")
    assert "read 20 of 30" in shown[0]
    assert body[0].lstrip().startswith("10|")


def test_gates_stand_below_their_months() -> None:
    shown = rows(size=(80, 16))
    named = "\n".join(shown[-2:])
    assert shown[-2].index("^ G1") == 5 + 2 * 6
    assert "G2 2031-03-01 Design" in named
    assert "G4" not in named  # there is no line left for it
    assert any(row[5 + 2 * 6] == ":" for row in shown[1:11])


@pytest.mark.parametrize("face", [WIDE, PLAIN])
@pytest.mark.parametrize("size", [(20, 6), (80, 12), (158, 24)])
def test_it_fills_its_place_and_no_more(face: Face, size: tuple[int, int]) -> None:
    look = TimelineLook(VIEW, MONTHS, 2)
    lines = timeline_lines(look, *size, face)
    assert len(lines) <= max(size[1], 9)
    assert all(cell_len(line.text) <= size[0] for line in lines)
    assert not face.ascii_only or all(line.text.isascii() for line in lines)


def test_many_years_are_shown_around_the_cursor() -> None:
    months = tuple(
        Month(month=f"{year}-{month:02d}", authors=(("Ann", 1),), first=1, last=1)
        for year in range(2020, 2035)
        for month in range(1, 13)
    )
    view = TimelineView(revision=1, read=1, months=months, gates=VIEW.gates)
    every = months_of(view)
    for at in (0, 90, len(every) - 1):
        shown = rows(at, view=view)
        assert every[at][:4] in shown[-3] or at == 90
        look = TimelineLook(view, every, at)
        cursor = shown[-5].index("^")
        assert month_under(look, 80, cursor) == at
    assert month_under(TimelineLook(view, every, 0), 80, 2) is None
    assert month_under(TimelineLook(VIEW, MONTHS, 0), 80, 79) is None


def test_twelve_authors_have_their_own_marks_as_far_as_they_go() -> None:
    authors = tuple((f"Engineer number {at}", 13 - at) for at in range(12))
    view = TimelineView(
        revision=78, read=78, gates=(),
        months=(Month(month="2030-11", authors=authors, first=1, last=78),),
    )  # fmt: skip
    assert cell_len(rows(view=view)[0]) <= 80


def test_nothing_is_said_to_be_nothing() -> None:
    (line,) = rows(view=TimelineView(revision=0, read=0, months=(), gates=()))
    assert "empty" in line
