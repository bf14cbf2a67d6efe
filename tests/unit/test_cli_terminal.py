"""What a terminal can show."""

from __future__ import annotations

import io
from collections.abc import Mapping

import pytest

from tracker.cli.terminal import COLOURS, Look, emit, look_of
from tracker.services.wording import SIGNS

LEVELS = (0, 95, 135, 175, 215, 255)
"""Steps of the 6×6×6 colour cube of xterm's 256-colour table (indices 16 to 231)."""


class _Stream(io.TextIOWrapper):
    def __init__(self, encoding: str, *, terminal: bool) -> None:
        super().__init__(io.BytesIO(), encoding=encoding)
        self._terminal = terminal

    def isatty(self) -> bool:
        return self._terminal


def _luminance(index: int) -> float:
    """Relative luminance (WCAG 2.1) of a colour of the cube."""
    red, rest = divmod(index - 16, 36)
    channels = [LEVELS[each] / 255 for each in (red, *divmod(rest, 6))]
    linear = [
        each / 12.92 if each <= 0.03928 else ((each + 0.055) / 1.055) ** 2.4 for each in channels
    ]
    return sum(weight * each for weight, each in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("word", COLOURS)
def test_colours_read_on_light_and_dark(word: str) -> None:
    # WCAG 2.1, contrast ratio; 3:1 is its bound for graphics and large text (criterion 1.4.11)
    luminance = _luminance(COLOURS[word])
    on_white, on_black = 1.05 / (luminance + 0.05), (luminance + 0.05) / 0.05
    assert min(on_white, on_black) >= 3.8


def test_every_sign_has_its_colour_and_its_word() -> None:
    assert set(COLOURS) == set(SIGNS)
    for word, (sign, plain) in SIGNS.items():
        assert Look().sign(word) == f"{sign} {word}"
        assert Look(ascii_only=True).sign(word) == f"{plain} {word}"
    assert Look().sign("leaning") == "leaning"


@pytest.mark.parametrize(
    ("terminal", "environ", "colour"),
    [
        (True, {"TERM": "xterm-256color"}, True),
        (True, {"TERM": "xterm", "COLORTERM": "truecolor"}, True),
        (True, {"TERM": "xterm"}, False),
        (True, {"TERM": "xterm-256color", "NO_COLOR": "1"}, False),
        (True, {"TERM": "xterm-256color", "NO_COLOR": ""}, True),  # no-color.org: not when empty
        (True, {"TERM": "dumb", "COLORTERM": "truecolor"}, False),
        (True, {}, False),
        (False, {"TERM": "xterm-256color"}, False),
    ],
)
def test_colour_only_where_it_is_wanted(
    terminal: bool, environ: Mapping[str, str], colour: bool
) -> None:
    look = look_of(_Stream("utf-8", terminal=terminal), environ)
    assert look.colour is colour
    assert (look.width is None) is not terminal


@pytest.mark.parametrize(
    ("encoding", "environ", "plain"),
    [
        ("utf-8", {}, False),
        ("UTF-16", {}, False),
        ("latin-1", {}, True),
        ("ascii", {}, True),
        ("utf-8", {"WHYBONE_ASCII": "1"}, True),
    ],
)
def test_ascii_where_it_is_needed(encoding: str, environ: Mapping[str, str], plain: bool) -> None:
    assert look_of(_Stream(encoding, terminal=False), environ).ascii_only is plain


def test_paint() -> None:
    assert Look(colour=True).paint("x", "met") == f"\x1b[38;5;{COLOURS['met']}mx\x1b[0m"
    assert Look(colour=True).paint("x", "bold") == "\x1b[1mx\x1b[0m"
    assert Look(colour=True).paint("x", "leaning") == "x"
    assert Look(colour=True).paint("", "met") == ""
    assert Look().paint("x", "met") == "x"


def test_emit_spells_out_what_a_stream_cannot_encode() -> None:
    stream = _Stream("latin-1", terminal=False)
    emit(stream, "ü −3 → ±1 Ω\n", Look(ascii_only=True))
    buffer = stream.buffer
    assert isinstance(buffer, io.BytesIO)
    assert buffer.getvalue() == b"\xfc -3 -> +/-1 \\u03a9\n"
