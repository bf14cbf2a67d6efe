"""Imported text is never markup, never drives the terminal, and never breaks a page."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len
from textual import events
from textual.content import Content

from tests.tui.conftest import CHECKS, COLUMNS, fixed_tools
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.bootstrap import make_programme
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.services.actions import add_items, lean, settle, try_values
from tracker.services.change_views import JournalLine
from tracker.services.item import item_page
from tracker.services.journal import journal_page
from tracker.services.overview import KINDS, listing, overview
from tracker.services.session import Session
from tracker.services.views import ListLine
from tracker.store.open import open_store
from tracker.tui.app import WhyboneApp
from tracker.tui.face import Face
from tracker.tui.layout.home import answer_lines, answers, pulse
from tracker.tui.layout.item import item_lines
from tracker.tui.layout.journal import change_lines, journal_row
from tracker.tui.layout.paper import Fixed, Lines, list_row
from tracker.tui.layout.ripple import ripple_lines
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.widgets.field import Area, Entry

CLICK = "[@click=app.quit]x[/]"
EVIL = f"{CLICK} [red]R-12[/red] [N/mm] \u202e\u200b\u2028 $bad \U0001f9b4 日本語 [/]"
"""Markup, an action, right-to-left override, zero width, line separator, wide characters."""
DRIVING = f"{EVIL}\x1b[31m\x1b]0;title\x07\x9b2J\r\x08\x7f"
"""The same with terminal control, which records refuse but a check's own words may hold."""
LONG = (EVIL + " ") * 150

SIZE = (100, 40)


def hostile(location: Path) -> None:
    """A programme with hostile text wherever text may stand."""
    session = make_programme(location, EVIL, "EUR", who=EVIL, with_tools=fixed_tools())
    row = [EVIL, "casting", 78000, 60000, 46, 2, False, False, 20, "tooling"]
    documents: list[dict[str, Any]] = [
        {"kind": "gate", "key": "G1", "title": EVIL, "date": "2026-03-01"},
        {"kind": "quantity", "key": "volume", "title": EVIL, "unit": "vehicle/year",
         "value": "3500", "source": EVIL},
        {"kind": "quantity", "key": "years", "title": EVIL, "unit": "year", "value": "6"},
        {"kind": "quantity", "key": "parts", "title": EVIL, "type": "table", "columns": COLUMNS,
         "value": [row]},
        {"kind": "quantity", "key": "tooling", "title": EVIL, "unit": "EUR"},
        {"kind": "quantity", "key": "tooling_each", "title": EVIL, "unit": "EUR/vehicle"},
        {"kind": "quantity", "key": "finish", "title": EVIL, "type": "choice",
         "choices": [EVIL, "plain"], "value": EVIL},
        {"kind": "quantity", "key": "nothing", "title": EVIL, "unit": "mm", "unknown": EVIL},
        {"kind": "requirement", "key": "COST-1", "statement": LONG, "quantity": "tooling",
         "upper": "90000 EUR", "owner": EVIL, "source": EVIL, "gate": "G1"},
        {"kind": "requirement", "key": "LOOK-1", "statement": EVIL, "quantity": "finish",
         "allowed": [EVIL]},
        {"kind": "decision", "key": "D-1", "question": LONG, "serves": ["COST-1", "LOOK-1"],
         "owner": EVIL, "gate": "G1",
         "options": [{"key": "a", "title": EVIL, "notes": LONG}, {"key": "b", "title": EVIL}]},
        {"kind": "check", "key": "C-TOOLS", "title": EVIL, **{
            name: CHECKS[0][name] for name in ("check", "inputs", "outputs")}, "decision": "D-1"},
    ]  # fmt: skip
    add_items(session, documents, LONG)
    lean(session, "D-1", "b", EVIL)
    settle(session, "D-1", "a", LONG, {"b": LONG})
    session.store.close()


@pytest.fixture
def evil(tmp_path: Path) -> Path:
    place = tmp_path / "evil.db"
    hostile(place)
    return place


def app_on(place: Path, *, ascii_only: bool = False) -> WhyboneApp:
    def opening() -> Session:
        return Session(open_store(place), fixed_tools("new"), EVIL)

    return WhyboneApp(opening, ascii_only=ascii_only, pace=0.0)


def assert_safe(text: str) -> None:
    bad = {char for char in text if unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs")}
    assert not bad - {"\n"}, bad


def assert_no_actions(pilot: Driver) -> None:
    """No painted segment carries an action to run when it is clicked."""
    app = app_of(pilot)
    for strip in app.screen._compositor.render_strips(app.size):
        for segment in strip:
            if segment.style is not None:
                assert "@click" not in segment.style.meta


@pytest.mark.parametrize("ascii_only", [False, True])
async def test_every_screen_shows_hostile_text_as_text(evil: Path, ascii_only: bool) -> None:
    journeys = [
        (), ("r",), ("d",), ("q",), ("c",), ("g",), ("j",), ("j", "enter"), ("f",), ("n",), ("t",),
        ("question_mark",), ("r", "enter"), ("d", "enter"), ("c", "enter"), ("g", "enter"),
        ("q", "enter"), ("q", "enter", "e"), ("q", "end", "enter"), ("r", "enter", "e"),
        ("d", "enter", "o"), ("q", "down", "down", "enter"), ("q", "down", "down", "enter", "e"),
    ]  # fmt: skip
    async with app_on(evil, ascii_only=ascii_only).run_test(size=SIZE) as pilot:
        await settled(pilot)
        for keys in journeys:
            await press(pilot, *keys)
            shown = seen(pilot)
            assert_safe(shown)
            assert_no_actions(pilot)
            assert not ascii_only or shown.isascii()
            for roll in pilot.app.screen.query("Roll"):
                assert_safe(roll.text)  # type: ignore[attr-defined] # a Roll
            await press(pilot, *["escape"] * (len(keys) + 1))
            await press(pilot, "h")
        assert pilot.app.is_running


async def test_the_markup_is_shown_and_clicking_it_runs_nothing(evil: Path) -> None:
    async with app_on(evil).run_test(size=SIZE) as pilot:
        await settled(pilot)
        assert CLICK in seen(pilot).splitlines()[0]  # the title of the programme
        for y, line in enumerate(seen(pilot).splitlines()):
            if "@click" in line:
                await pilot.click(offset=(min(line.index("@click") + 2, SIZE[0] - 1), y))
        await settled(pilot)
        assert pilot.app.is_running


async def test_notices_and_refusals_show_hostile_text_as_text(evil: Path) -> None:
    async with app_on(evil).run_test(size=SIZE) as pilot:
        await settled(pilot)
        app_of(pilot).say(DRIVING, "bad")
        await settled(pilot)
        assert CLICK in seen(pilot)
        assert_safe(seen(pilot))
        await press(pilot, "u")  # names the reasons of what was undone
        assert "Undid change 4" in seen(pilot)
        assert_safe(seen(pilot))
        assert_no_actions(pilot)


async def test_the_settle_form_and_the_chooser(evil: Path) -> None:
    async with app_on(evil).run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "u", "d", "enter", "s")
        assert_safe(seen(pilot))
        await press(pilot, "escape", "l")
        assert CLICK in seen(pilot)
        assert_safe(seen(pilot))
        assert_no_actions(pilot)


async def test_pasted_control_characters_are_spelt_out(evil: Path) -> None:
    async with app_on(evil).run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        entry = page(pilot, DecisionScreen).query(Entry).first()
        entry.focus()
        pilot.app.post_message(events.Paste("a\x1b[31mb\u202e\tc\n"))
        await settled(pilot)
        assert entry.value == "a<U+001B>[31mb<U+202E> c"
        area = page(pilot, DecisionScreen).query(Area).first()
        area.focus()
        await settled(pilot)
        pilot.app.post_message(events.Paste("one\r\ntwo\x1b\tthree"))
        await settled(pilot)
        assert area.text == "one\ntwo<U+001B> three"
        assert_safe(seen(pilot))


async def test_hostile_typing_in_the_finder_and_the_palette(evil: Path) -> None:
    async with app_on(evil).run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        await type_text(pilot, "[red]")
        assert_safe(seen(pilot))
        await press(pilot, "escape", "ctrl+p")
        await type_text(pilot, "[/]")
        await pilot.pause(0.3)
        assert pilot.app.is_running


def poisoned(model: Any, text: str) -> Any:  # noqa: ANN401 - any read model
    """A read model with a hostile text in every field that holds one."""
    if isinstance(model, str):
        return text
    if isinstance(model, tuple):
        return tuple(poisoned(each, text) for each in model)
    if is_dataclass(model) and not isinstance(model, type):
        values = {each.name: poisoned(getattr(model, each.name), text) for each in fields(model)}
        return type(model)(**values)
    return model


def figures(text: str) -> tuple[Figure, ...]:
    series = Series(title=text, y=(1.0, -2.0), labels=(text, text))
    return tuple(
        Figure(key=text, title=text, kind=kind, series=(series, series), up=Axis(text, text))
        for kind in FigureKind
    )


def one_row(line: ListLine, width: int, face: Face) -> Lines:
    return Fixed([list_row(face, line, width)])


def one_change(line: JournalLine, width: int, face: Face) -> Lines:
    return Fixed([journal_row(line, width, face)])


def layouts(session: Session, text: str) -> list[Callable[[int, Face], Lines]]:
    """Every layout, of read models poisoned throughout."""
    survey = poisoned(overview(session), text)
    made: list[Callable[[int, Face], Lines]] = [partial(pulse, survey)]
    for answer in answers(survey):
        made.append(partial(answer_lines, answer, roomy=False))
        made.append(partial(answer_lines, answer, roomy=True))
    for kind in KINDS:
        for line in listing(session, kind).lines:
            real = item_page(session, line.key)
            item = poisoned(real, text)
            object.__setattr__(item, "figures", figures(text))
            made.append(partial(item_lines, item))
            made.append(partial(one_row, poisoned(line, text)))
    for entry in journal_page(session).lines:
        change = poisoned(entry, text)
        made.append(partial(change_lines, change))
        made.append(partial(one_change, change))
    ripple = poisoned(try_values(session, {"volume": "90000"}), text)
    return [*made, partial(ripple_lines, ripple)]


TEXTS = {
    "driving": DRIVING,
    "long": LONG,
    "one word": "x" * 10_000,
    "wide": "語" * 3_000,
    "empty": "",
    "space": " ",
    "lines": "\n\n",
}


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_layout_of_hostile_models_is_safe_and_fits(
    evil: Path,
    text: str,
    ascii_only: bool,
) -> None:
    session = Session(open_store(evil), fixed_tools(), "Ada")
    face = Face(ascii_only=ascii_only)
    for lay in layouts(session, text):
        for width in (79, 119):
            lines = lay(width, face)
            for at in range(len(lines)):
                line = lines.line(at).text
                assert_safe(line)
                assert "\n" not in line
                assert cell_len(line) <= width, line
                assert not ascii_only or line.isascii()
    session.store.close()


def test_content_made_of_hostile_text_has_no_spans() -> None:
    assert Content(Face().clip(DRIVING, 400)).spans == []
