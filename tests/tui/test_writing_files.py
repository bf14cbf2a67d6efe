"""Files in and out: paths with completion, previews with every problem, nothing overwritten."""

from __future__ import annotations

import json
from pathlib import Path

from tests.tui.conftest import OpenApp
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.services.session import Session
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.taking_in import TakeInScreen
from tracker.tui.screens.writing_out import WriteOutScreen
from tracker.tui.widgets.field import Entry, Field, PickField
from tracker.tui.widgets.roll import Roll

SIZE = (120, 40)
GOOD = "key,title,unit,value\npreload,Preload,N,1.5 kN\nvolume,,,4200\n"
BAD = "key,title,unit,value\npreload,Preload,N,1.5 mm\nyears,,,three\n"


def field(pilot: Driver, name: str) -> Field:
    return {each.name: each for each in pilot.app.screen.query(Field)}[name]


async def put(pilot: Driver, name: str, text: str) -> None:
    """Type a text in one go: each letter would list the folder."""
    entry = field(pilot, name).query_one(Entry)
    entry.focus()
    entry.value = text
    await done(pilot)


async def done(pilot: Driver) -> None:
    await settled(pilot)
    await pilot.app.workers.wait_for_complete()
    await settled(pilot)


def below(pilot: Driver) -> str:
    return pilot.app.screen.query_one("#below", Roll).text


async def test_a_file_shows_what_it_would_do_and_is_taken_in(
    make_app: OpenApp, other: Session, tmp_path: Path
) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "good.csv").write_text(GOOD)
    (folder / "notes.txt").write_text("no")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "I")
        page(pilot, TakeInScreen)
        await put(pilot, "path", f"{folder}")
        await pilot.press("enter")
        await done(pilot)
        assert field(pilot, "path").value == f"{folder}/"
        assert "good.csv" in below(pilot)
        assert "notes.txt" not in below(pilot)
        await pilot.press("ctrl+l", "enter")
        await done(pilot)
        assert field(pilot, "path").value == f"{folder}/good.csv"
        assert "adds or sets 2 of kind quantity" in below(pilot)
        assert "Quantities, before" in below(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, HomeScreen)
    other.refresh()
    made = other.programme.find("preload")
    assert made is not None
    assert getattr(made, "given").value == 1500  # noqa: B009 - any record


async def test_every_problem_of_a_file_is_listed_with_its_line(
    make_app: OpenApp, tmp_path: Path
) -> None:
    (tmp_path / "bad.csv").write_text(BAD)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "I")
        await put(pilot, "path", f"{tmp_path}/bad.csv")
        assert "2 problems" in below(pilot)
        assert "line 2, preload" in below(pilot)
        assert "line 3, years" in below(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, TakeInScreen)
        assert "line 3, years" in seen(pilot)
        await put(pilot, "path", f"{tmp_path}/nowhere/x")
        assert "cannot be read" in below(pilot)


async def test_an_option_takes_only_values(make_app: OpenApp, tmp_path: Path) -> None:
    items = [{"kind": "gate", "key": "G3", "title": "Third", "date": "2027-01-01"}]
    (tmp_path / "items.json").write_text(json.dumps(items))
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "I")
        await put(pilot, "path", f"{tmp_path}/items.json")
        assert "adds 1 of kind gate" in below(pilot)
        await put(pilot, "into", "D-BUSH/soft")
        await press(pilot, "ctrl+s")
        assert field(pilot, "into").has_class("wrong")


async def test_a_table_in_other_words_is_read_as_the_form_says(
    make_app: OpenApp, other: Session, tmp_path: Path
) -> None:
    """Cells divided by semicolons, a decimal comma, and columns by names of somebody's own."""
    (tmp_path / "own.csv").write_text("Kürzel;title;Größe;unit\npreload;Preload;1,5;kN\n")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "I")
        await put(pilot, "path", f"{tmp_path}/own.csv")
        assert "Nothing would be taken in" in below(pilot)
        await put(pilot, "mapped", "Kürzel")
        assert "'Kürzel' is not HEADER=COLUMN" in below(pilot)
        await press(pilot, "ctrl+s")
        assert field(pilot, "mapped").has_class("wrong")
        await put(pilot, "mapped", "Kürzel=key; Kürzel=value")
        assert "'Kürzel=value' stands twice" in below(pilot)
        await put(pilot, "mapped", "Kürzel=key; Größe = value")
        for name, moves in (("kind", 3), ("delimiter", 2), ("comma", 1)):
            pick = next(each for each in pilot.app.screen.query(PickField) if each.name == name)
            pick.take_focus()
            await pilot.press(*["right"] * moves)
            await done(pilot)
        assert "adds or sets 1 of kind quantity" in below(pilot)
        await press(pilot, "ctrl+s")
        page(pilot, HomeScreen)
    other.refresh()
    made = other.programme.find("preload")
    assert made is not None
    assert getattr(made, "given").value == 1.5  # noqa: B009 - any record


async def test_a_table_without_its_quantity_is_put_right_in_its_field(
    make_app: OpenApp, tmp_path: Path
) -> None:
    (tmp_path / "rows.csv").write_text("a [mm]\n1\n")
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "I")
        await put(pilot, "path", f"{tmp_path}/rows.csv")
        pick = next(each for each in pilot.app.screen.query(PickField) if each.name == "create")
        pick.take_focus()
        await press(pilot, "right", "ctrl+s")
        assert field(pilot, "table").has_class("wrong")


async def test_a_file_is_written_and_never_overwritten_unasked(
    make_app: OpenApp, tmp_path: Path
) -> None:
    place = tmp_path / "history.md"
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "E")
        page(pilot, WriteOutScreen)
        await put(pilot, "path", str(place))
        await press(pilot, "ctrl+s")
        page(pilot, HomeScreen)
        assert "Wrote" in seen(pilot)
        before = place.read_bytes()
        assert b"D-GEAR" in before
        await press(pilot, "E")
        await put(pilot, "path", str(place))
        await put(pilot, "item", "D-BUSH")
        await press(pilot, "ctrl+s")
        page(pilot, WriteOutScreen)
        assert "there is a file of this name already" in seen(pilot)
        assert place.read_bytes() == before
        await put(pilot, "path", f"{tmp_path}/part.json")
        await press(pilot, "ctrl+s")
        assert "items are written whole" in seen(pilot)
        await put(pilot, "item", "")
        await press(pilot, "ctrl+s")
        page(pilot, HomeScreen)
    assert json.loads((tmp_path / "part.json").read_text())["items"]


async def test_names_that_hide_something_are_shown_and_opened(
    make_app: OpenApp, tmp_path: Path
) -> None:
    strange = tmp_path / "a\x1b[31m\u202eb.csv"
    strange.write_text(GOOD)
    async with make_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "I")
        await put(pilot, "path", f"{tmp_path}/a")
        assert "<U+001B>" in below(pilot)
        assert "\x1b" not in seen(pilot)
        await pilot.press("enter")
        await done(pilot)
        assert "adds or sets 2 of kind quantity" in below(pilot)
        assert app_of(pilot).draft("take in a file")["path"].endswith("b.csv")
        await type_text(pilot, "x")
