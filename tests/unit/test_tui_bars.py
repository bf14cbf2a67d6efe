"""Bars end where the number says, to an eighth of a cell where the terminal has the characters."""

from __future__ import annotations

import pytest

from tracker.tui.face import Face
from tracker.tui.layout.bars import margin_bar, share_bar

WIDE, PLAIN = Face(), Face(ascii_only=True)


@pytest.mark.parametrize(
    ("margin", "bar"),
    [
        (0.5, "      │██████      "),
        (0.5 + 1 / 24, "      │██████▌     "),
        (1 / 96, "      │▏           "),  # an eighth of a cell
        (1.0, "      │████████████"),
        (1.1, "      │███████████▸"),
        (1.03, "      │███████████▸"),
        (-0.25, "   ▓▓▓│            "),
        (-2.0, "◂▓▓▓▓▓│            "),
    ],
)
def test_margins_are_drawn_to_an_eighth(margin: float, bar: str) -> None:
    assert margin_bar(margin, WIDE) == bar


def test_shares_are_drawn_to_an_eighth_or_to_a_cell() -> None:
    assert share_bar(10.0, 10.0, 4, WIDE) == "████"
    assert share_bar(9.0, 16.0, 4, WIDE) == "██▎"
    assert share_bar(9.0, 16.0, 4, PLAIN) == "=="
