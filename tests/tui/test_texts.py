"""Text on its way to the screen, margin bars, finding, what can be set."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.theme import Theme

from tests.tui.conftest import fixed_tools
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.errors import (
    BadValueError,
    InputError,
    ManyProblemsError,
    StoreWriteError,
    WhyboneError,
)
from tracker.services.actions import amend_item, withdraw
from tracker.services.item import item_page
from tracker.services.session import Session
from tracker.services.views import FindingView
from tracker.store.open import open_store
from tracker.tui.drafting import decision_document, option_count
from tracker.tui.face import Face, ascii_wanted
from tracker.tui.finding import Haystack
from tracker.tui.layout.bars import BAR_WIDTH, finding_bar, margin_bar, share_bar
from tracker.tui.layout.figures import figure_lines
from tracker.tui.layout.item import item_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.plain import plain
from tracker.tui.settable import Settable, settables, why_nothing
from tracker.tui.themes import (
    CONTRAST,
    DARK,
    GROUNDS,
    INKS,
    LIGHT,
    SIXTEEN,
    look,
    themes,
)
from tracker.tui.trial import Trial

PLAIN, ASCII = Face(), Face(ascii_only=True)


@pytest.mark.parametrize(
    ("environ", "encoding", "wanted"),
    [
        ({}, "utf-8", False),
        ({}, "UTF8", False),
        ({}, "latin-1", True),
        ({}, None, True),
        ({"WHYBONE_ASCII": "1"}, "utf-8", True),
        ({"WHYBONE_ASCII": "0"}, "utf-8", False),
    ],
)
def test_ascii_is_wanted_by_choice_or_by_encoding(
    environ: dict[str, str], encoding: str | None, *, wanted: bool
) -> None:
    assert ascii_wanted(environ, encoding) is wanted


def test_ascii_folds_what_it_can_and_spells_out_the_rest() -> None:
    assert ASCII.line("−1.5 °, Ré → 日") == "-1.5 deg, Re -> <U+65E5>"
    assert ASCII.sign("broken") == "[X] broken"
    assert PLAIN.sign("broken") == "⊠ broken"
    assert PLAIN.sign("") == ""


@given(st.text(max_size=300), st.integers(0, 60))
def test_clipped_text_fits(text: str, width: int) -> None:
    for face in (PLAIN, ASCII):
        assert cell_len(face.clip(text, width)) <= width


@given(st.text(max_size=300), st.integers(2, 60))
def test_wrapped_text_fits_and_loses_nothing(text: str, width: int) -> None:
    lines = PLAIN.wrap(text, width)
    assert all(cell_len(line) <= width for line in lines)
    whole = "".join(PLAIN.line(part) for part in text.split("\n"))
    assert "".join(lines).replace(" ", "") == whole.replace(" ", "")


@pytest.mark.parametrize(
    ("margin", "bar"),
    [
        (0.0, "      |            "),
        (0.25, "      |===         "),
        (1.0, "      |============"),
        (3.0, "      |===========>"),
        (-0.01, "     x|            "),
        (-0.25, "   xxx|            "),
        (-9.0, "<xxxxx|            "),
        (None, "      ?            "),
    ],
)
def test_margin_bars_read_without_colour(margin: float | None, bar: str) -> None:
    assert margin_bar(margin, ASCII) == bar
    assert cell_len(margin_bar(margin, PLAIN)) == BAR_WIDTH


def test_a_verdict_without_a_margin_has_no_bar() -> None:
    finding = FindingView(
        judge="R", rule=False, statement="", subject="q", required="yes", verdict="met",
        value=True, text="yes", unit="",
    )  # fmt: skip
    assert finding_bar(finding, PLAIN).isspace()
    assert "?" in finding_bar(replace(finding, verdict="unknown"), PLAIN)


def test_share_bars_and_what_they_cannot_draw() -> None:
    assert share_bar(5.0, 10.0, 8, ASCII) == "===="
    assert share_bar(5.0, 0.0, 8, ASCII) == ""
    assert share_bar(float("nan"), 10.0, 8, ASCII) == ""


def test_bars_and_listings_are_told_in_text() -> None:
    paper = Paper(80, ASCII)
    bars = Series(title="money", y=(10.0, 5.0), labels=("knuckle", "arm"))
    columns = Series(title="part", labels=("knuckle",)), Series(title="sets", labels=("2",))
    figure_lines(
        paper,
        (
            Figure(key="a", title="Cost", kind=FigureKind.BARS, series=(bars,), up=Axis("", "EUR")),
            Figure(key="b", title="Sets", kind=FigureKind.LISTING, series=columns),
            Figure(key="c", title="Curve", kind=FigureKind.CURVE, series=()),
        ),
    )
    text = "\n".join(line.text.rstrip() for line in paper.lines)
    assert "Cost [EUR]" in text
    lines = text.splitlines()
    arm = next(line for line in lines if line.startswith("arm"))
    knuckle = next(line for line in lines if line.startswith("knuckle  "))
    assert knuckle.count("=") == 2 * arm.count("=") > 0
    assert "part     sets" in text
    assert "Curve" not in text


def test_finding_ranks_keys_before_words_before_letters_in_order() -> None:
    hay = Haystack(
        [("front_rate", "rate of the front spring"), ("rate", "x"), ("D-9", "the rate of all"),
         ("rear_axle_tie", "y"), ("rates", "z")]
    )  # fmt: skip
    assert list(hay.matches("rate")) == [1, 4, 0, 2, 3]
    assert list(hay.matches("  ")) == [0, 1, 2, 3, 4]
    assert list(hay.matches("spring front")) == [0]
    assert list(hay.matches("zzz")) == []
    assert list(hay.matches("RATE")) == [1, 4, 0, 2, 3]
    assert len(hay) == 5


@given(
    st.lists(st.tuples(st.text("ab-1 ", max_size=6), st.text("ab c", max_size=9)), max_size=9),
    st.text("ab1 c-", max_size=5),
)
def test_typing_on_finds_what_typing_at_once_finds(
    entries: list[tuple[str, str]], typed: str
) -> None:
    slowly = Haystack(entries)
    for end in range(len(typed)):
        slowly.matches(typed[:end])
    assert list(slowly.matches(typed)) == list(Haystack(entries).matches(typed))


@pytest.fixture
def session(location: object) -> Session:
    return Session(open_store(str(location)), fixed_tools("x"), "Ada")


def now(session: Session, key: str) -> dict[str, str]:
    return {each.address: each.now for each in settables(item_page(session, key))}


def test_what_can_be_set_and_what_it_is_now(session: Session) -> None:
    assert now(session, "volume") == {"volume": "4000"}
    assert now(session, "rod_inner") == {
        "rod_inner": "[-165, 387, 258]",
        "rod_inner.x": "-165",
        "rod_inner.y": "387",
        "rod_inner.z": "258",
    }
    cells = now(session, "parts")
    assert cells["parts[knuckle].set_cost"] == "78000"
    assert cells["parts[upper_arm].fits_both_sides"] == "yes"
    assert len(cells) == 30
    assert now(session, "COST-1") == {
        "COST-1.upper": "400000", "COST-1.lower": "", "COST-1.target": "", "COST-1.guard": "0.2",
    }  # fmt: skip
    assert next(iter(now(session, "COST-1"))) == "COST-1.upper"  # what is set comes first
    assert now(session, "D-BUSH") == {
        "D-BUSH": "soft",
        "D-BUSH/soft.bush_rate": "1.2 kN/mm", "D-BUSH/hard.bush_rate": "2.4 kN/mm",
    }  # fmt: skip
    assert now(session, "D-TOOLS") == {"D-TOOLS": "own"}  # settled: its options' values are locked
    assert now(session, "G1") == {}


def test_rows_are_named_by_number_where_their_text_cannot_name_them(session: Session) -> None:
    rows = [["a[b]", "casting", 1, 1, 1, 1, False, False, 1, ""]]
    amend_item(session, "parts", {"value": rows}, "an odd name")
    assert "parts[1].set_cost" in now(session, "parts")


def test_a_choice_is_set_by_its_allowed_values(session: Session) -> None:
    page = item_page(session, "STEER-1")
    finding = replace(page.findings[0], value="as-built", required="as-built or turned-over")
    page = replace(page, findings=(finding,))
    assert settables(page) == (Settable("STEER-1.allowed", "as-built, turned-over", "", "allowed"),)


def test_why_nothing_can_be_set(session: Session) -> None:
    assert why_nothing(item_page(session, "tooling")) == (
        "check C-TOOLS computes it: change its inputs"
    )
    assert why_nothing(item_page(session, "G1")) == "a gate has no value to set"
    withdraw(session, "D-TOOLS", "nobody asks any more")
    page = item_page(session, "D-TOOLS")
    assert settables(page) == ()
    assert why_nothing(page) == "it is withdrawn; reopen it first"


def test_values_of_every_kind_are_written_as_they_are_typed(session: Session) -> None:
    page = replace(item_page(session, "volume"), facts=())
    for value, text in ((None, ""), (True, "yes"), (1.5, "1.5"), (7, "7"), ("soft", "soft")):
        assert settables(replace(page, value=value))[0].now == text


def test_an_item_page_shows_rows_shifts_and_reasons(session: Session) -> None:
    laid = item_lines(item_page(session, "parts"), 100, PLAIN)
    text = "\n".join(laid.line(at).text for at in range(len(laid)))
    assert "Rows" in text
    assert "knuckle" in text
    page = item_page(session, "D-TOOLS")
    laid = item_lines(page, 100, PLAIN)
    text = "\n".join(laid.line(at).text for at in range(len(laid)))
    assert "What moved since it was settled" in text
    assert "3500" in text
    assert "slow to change" in text
    assert "they pay back in four years" in text


def test_money_is_offered_without_its_gaps(session: Session) -> None:
    page = item_page(session, "D-BUSH")
    setting = replace(page.options[0].settings[0], text="78 000.50 EUR")
    option = replace(page.options[0], settings=(setting,))
    unknown = replace(page.options[1].settings[0], text="unknown: nobody asked")
    other = replace(page.options[1], settings=(unknown,))
    found = settables(replace(page, options=(option, other)))
    assert [each.now for each in found] == ["soft", "78000.50 EUR", ""]


def test_a_trial_keeps_what_is_typed_and_follows_what_moves() -> None:
    trial = Trial()
    trial.add(Settable("a", "1", "mm", "A"))
    trial.add(Settable("b", "2", "mm", "B"))
    trial.type("a", "5")
    trial.add(Settable("a", "1", "mm", "A"))  # taken in again: what was typed stays
    assert trial.edits == {"a": "5"}
    moved = trial.moved({"a": "3", "b": "4"})
    assert [(each.what.address, each.was, each.typed) for each in moved] == [
        ("a", "1", "5"), ("b", "2", "4"),
    ]  # fmt: skip
    assert trial.edits == {"a": "5"}
    trial.leave_out("a")
    assert len(trial) == 1


def test_a_decision_as_typed_is_a_document() -> None:
    typed = {
        "key": " D-9 ", "question": "Which?", "serves": "R-1, R-2,", "sets": "rate", "owner": "me",
        "1 key": "a", "1 title": "A", "1 value rate": "3 mm", "2 key": "b", "2 notes": "n",
        "options": "3",
    }  # fmt: skip
    assert decision_document(typed) == {
        "kind": "decision", "key": "D-9", "question": "Which?", "serves": ["R-1", "R-2"],
        "sets": ["rate"], "owner": "me",
        "options": [
            {"key": "a", "title": "A", "settings": {"rate": "3 mm"}},
            {"key": "b", "title": "b", "settings": {}, "notes": "n"},
        ],
    }  # fmt: skip
    assert option_count({}) == 2


def test_errors_in_plain_words() -> None:
    one = BadValueError("no number", item="q", field="value", remedy="Type one")
    assert plain(one) == "q, value: no number. Type one"
    assert plain(one, named=False) == "no number. Type one"
    assert plain(InputError("no", remedy="Say why with --why")) == "no"
    assert plain(ManyProblemsError([one, one])).count("no number") == 2
    assert plain(StoreWriteError("full")) == "full"
    assert "stumbled" in plain(KeyError("x"))
    assert isinstance(one, WhyboneError)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.1, glossary."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [
        each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


XTERM = {
    "ansi_black": "#000000",
    "ansi_white": "#e5e5e5",
    "ansi_bright_red": "#ff0000",
    "ansi_bright_green": "#00ff00",
    "ansi_bright_yellow": "#ffff00",
    "ansi_bright_magenta": "#ff00ff",
    "ansi_bright_cyan": "#00ffff",
    "ansi_bright_white": "#ffffff",
}
"""The default palette of xterm, recalled from memory; a terminal may show others."""


@pytest.mark.parametrize("theme", themes(), ids=lambda theme: str(theme.name))
def test_every_ink_stands_out_from_every_ground(theme: object) -> None:
    """WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1."""
    assert isinstance(theme, Theme)
    least = 7 if theme.name == CONTRAST else 4.5  # 1.4.6 asks for 7
    colours = {name: XTERM.get(value, value) for name, value in theme.variables.items()}
    for ink in INKS:
        for ground in GROUNDS:
            light, dark = sorted((luminance(colours[ink]), luminance(colours[ground])))[::-1]
            assert (light + 0.05) / (dark + 0.05) >= least, (ink, ground)


@pytest.mark.parametrize(
    ("asked", "colours", "name"),
    [
        ("", "truecolor", DARK),
        ("", "256", DARK),
        ("", "standard", SIXTEEN),
        ("Contrast", "standard", CONTRAST),
        ("light", "truecolor", LIGHT),
        ("mauve", "truecolor", DARK),
    ],
)
def test_the_look_follows_the_wish_and_the_terminal(asked: str, colours: str, name: str) -> None:
    assert look({"WHYBONE_LOOK": asked}, colours) == name
