"""Laying out text."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tracker.cli.page import Cell, Page, width_of
from tracker.cli.terminal import Look

NARROW = Look(width=40)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]))


def _lines(page: Page) -> list[str]:
    return str(page).splitlines()


def test_columns_line_up() -> None:
    page = Page(Look())
    page.rows([["a", "long text", "x"], ["bcd", "t", "y"]])
    assert _lines(page) == ["  a    long text  x", "  bcd  t          y"]


def test_wide_signs_count_twice_and_marks_not_at_all() -> None:
    # East Asian Width (UAX #11): a wide character takes two columns; a combining mark takes none
    assert width_of("軸") == 2
    assert width_of("e\u0301") == 1
    assert width_of("Ω−→") == 3


def test_too_wide_rows_fold_into_their_last_cell() -> None:
    page = Page(NARROW)
    page.rows([["KEY", "a" * 20, "b" * 20], ["K", "", "c"]], fold=1)
    assert _lines(page) == [f"  KEY  {'a' * 20};", f"       {'b' * 20}", "  K    c"]


def test_a_last_cell_without_room_gets_lines_of_its_own() -> None:
    page = Page(NARROW)
    page.rows([["k" * 30, "several words that wrap around here"]])
    assert _lines(page) == [
        "  " + "k" * 30,
        "      several words that wrap around",
        "      here",
    ]


def test_a_word_longer_than_the_line_is_cut() -> None:
    page = Page(NARROW)
    page.text("a " + "軸" * 21)
    assert _lines(page) == ["a", "軸" * 20, "軸"]


def test_text_keeps_its_line_breaks() -> None:
    page = Page(Look())
    page.text("one\n\ttwo", indent=2)
    assert _lines(page) == ["  one", "      two"]


def test_line_breaks_in_a_cell_become_blanks() -> None:
    page = Page(Look())
    page.rows([["one\ntwo", Cell("three\tfour")]])
    assert _lines(page) == ["  one two  three four"]


def test_one_blank_line_at_most() -> None:
    page = Page(Look())
    page.blank()
    page.text("a")
    page.blank()
    page.heading("b", "aside")
    assert _lines(page) == ["a", "", "b  aside"]


@given(st.lists(st.lists(WORDS, min_size=3, max_size=3), max_size=4), st.integers(40, 100))
def test_nothing_is_wider_than_the_terminal_and_nothing_is_lost(
    rows: list[list[str]], width: int
) -> None:
    page = Page(Look(width=width))
    page.rows(rows, fold=0)
    text = str(page)
    assert all(width_of(line) <= width for line in text.split("\n"))
    shown = "".join(text.replace(";", "").split())
    for row in rows:
        for cell in row:
            assert "".join(cell.replace(";", "").split()) in shown


@given(WORDS, st.integers(40, 60))
def test_wrapping_loses_no_character(text: str, width: int) -> None:
    page = Page(Look(width=width))
    page.text(text)
    assert "".join(str(page).split()) == "".join(text.split())
    assert all(width_of(line) <= width for line in str(page).split("\n"))
