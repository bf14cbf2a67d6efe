"""Many hostile texts in each field and each widget: all is seen, nothing obeyed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import pytest
from rich.cells import cell_len
from textual import events
from textual.app import App, ComposeResult
from textual.widget import Widget
from textual.widgets import Input, Static, TextArea

from tests.tui.census import WALKS, every, go
from tests.tui.conftest import OpenApp
from tests.tui.corpus import CORPUS, HUGE, TOGETHER
from tests.tui.driving import Driver, app_of, seen, settled
from tests.tui.test_hostile import assert_no_actions, assert_safe
from tracker.services.wording import visible
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Line, Paper, Span
from tracker.tui.screens.page import Page
from tracker.tui.widgets.bars import Caution, KeyLine, Notice, TitleLine
from tracker.tui.widgets.field import Area, Entry, Field, LongField, Pick, PickField
from tracker.tui.widgets.finder import FindEntry, Finder
from tracker.tui.widgets.pane import Pane
from tracker.tui.widgets.rating import Ratings, RatingsHead
from tracker.tui.widgets.roll import Roll
from tracker.tui.widgets.toggles import Toggles

PLAIN, ASCII = Face(), Face(ascii_only=True)
WIDTH = 60


def test_the_corpus_is_large_and_various() -> None:
    assert len(CORPUS) >= 500
    assert all(len(text) >= 90_000 for text in HUGE)


@pytest.mark.parametrize("text", HUGE, ids=["word", "mixed", "words"])
def test_a_huge_text_is_wrapped_and_clipped(text: str) -> None:
    assert_kept(text, PLAIN)
    assert cell_len(PLAIN.clip(text, 80)) <= 80


def assert_kept(text: str, face: Face) -> None:
    """Nothing is lost by wrapping but the blanks at which lines end; nothing raw is left."""
    lines = face.wrap(text, WIDTH)
    for line in lines:
        assert_safe(line)
        assert "\n" not in line
        assert cell_len(line) <= WIDTH
    whole = "".join(map(face.line, text.split("\n")))
    assert "".join(lines).replace(" ", "") == whole.replace(" ", "")


def test_every_text_is_kept_when_it_is_wrapped() -> None:
    for text in CORPUS:
        assert_kept(text, PLAIN)
        assert_kept(text, ASCII)
        assert all(line.isascii() for line in ASCII.wrap(text, WIDTH))
        clipped = PLAIN.clip(text, 12)
        assert_safe(clipped)
        assert cell_len(clipped) <= 12


# --- every widget


def rows(text: str, width: int, face: Face) -> Fixed:
    paper = Paper(width, face)
    paper.head(text)
    paper.text(text)
    paper.labelled(text, text, 20)
    paper.row(Cell(text, 10), Cell(text, width - 10), target=text)
    return paper.done()


def drawn(text: str) -> Pane:
    pane = Pane(PLAIN)
    pane.draw(lambda width, _: [Line((Span(PLAIN.clip(text, width)),))])
    return pane


def rolled(text: str) -> Roll:
    roll = Roll(PLAIN)
    roll.show(lambda width: rows(text, width, PLAIN))
    return roll


def titled(text: str) -> TitleLine:
    line = TitleLine(PLAIN)
    line.left = line.right = text
    return line


def told(text: str) -> Notice:
    notice = Notice(PLAIN)
    notice.tell(text, "bad")
    return notice


def keyed(text: str) -> KeyLine:
    line = KeyLine(PLAIN)
    line.keys = ((text, text, text), ("f", text, text), ("g", "g", text))
    return line


def turned(text: str) -> Toggles:
    toggles = Toggles(PLAIN, {"a": text})
    toggles.put([("a", text), ("b", text)], {"b"})
    return toggles


def found(text: str) -> Finder:
    finder = Finder(PLAIN, always=True)
    finder.call_after_refresh(lambda: setattr(finder.query_one(Entry), "value", visible(text)))
    return finder


WIDGETS: dict[str, Callable[[str], Widget]] = {
    "TitleLine": titled,
    "Notice": told,
    "Caution": lambda _: Caution(PLAIN),
    "KeyLine": keyed,
    "Roll": rolled,
    "Pane": drawn,
    "Entry": lambda text: Entry(visible(text), compact=True),
    "FindEntry": lambda text: FindEntry(visible(text), compact=True),
    "Area": lambda text: Area(visible(text), compact=True),
    "Field": lambda text: Field(PLAIN, text, text, text, tail=text),
    "LongField": lambda text: LongField(PLAIN, text, text, text),
    "Pick": lambda text: Pick(PLAIN, text, text, (text, "b"), text),
    "PickField": lambda text: PickField(PLAIN, text, text, (text, "b"), text, tail=text),
    "Labelled": lambda text: Field(PLAIN, text, text, text, tail=text),
    "Finder": found,
    "Toggles": turned,
    "RatingsHead": lambda text: RatingsHead(PLAIN, (text, text)),
    "Ratings": lambda text: Ratings(PLAIN, text, {"a": text, "b": text}),
}


def test_every_widget_class_is_tried() -> None:
    ours = {
        name
        for name, kind in every(Widget).items()
        if kind.__module__.startswith("tracker.tui.widgets.")
    }
    assert ours == set(WIDGETS)
    other = {
        name
        for name, kind in every(Widget).items()
        if not issubclass(kind, Page) and name not in ours
    }
    assert other == {"SmallScreen"}  # shows two numbers


COMPOSED = {
    "Area", "Field", "LongField", "Pick", "PickField", "Labelled", "Finder", "Ratings",
    "RatingsHead",
}  # fmt: skip
"""Made of several widgets each, which takes time."""


class Bench(App[None]):
    """Holds one widget after the other."""

    ran = False

    def get_theme_variable_defaults(self) -> dict[str, str]:
        from tracker.tui.themes import themes

        return themes()[0].variables

    def compose(self) -> ComposeResult:
        yield Static("")

    def action_ran(self) -> None:
        self.ran = True


def painted(app: App[None]) -> Iterator[str]:
    for strip in app.screen._compositor.render_strips(app.size):
        for segment in strip:
            assert segment.style is None or "@click" not in segment.style.meta
            yield segment.text


@pytest.mark.parametrize("name", WIDGETS)
async def test_no_widget_obeys_a_hostile_text(name: str) -> None:
    async with Bench().run_test(size=(100, 60)) as pilot:
        corpus = TOGETHER if name in COMPOSED else CORPUS
        stretch = 12  # as many at a time as there is room for
        for start in range(0, len(corpus), stretch):
            texts = corpus[start : start + stretch]
            made = [WIDGETS[name](text) for text in texts]
            for each in made:
                each.styles.max_height = 5
            await pilot.app.mount_all(made)
            for each, text in zip(made, texts, strict=True):
                if isinstance(each, Field | LongField | PickField):
                    each.blame(text)
                    each.query_one(".problem", Static)
            await pilot.pause()
            for piece in painted(pilot.app):
                assert_safe(piece)
            await pilot.app.screen.remove_children()
        assert pilot.app.is_running


# --- every field of every screen


def expected(text: str, field: Input | TextArea) -> str:
    shown = visible(text.replace("\r\n", "\n").replace("\r", "\n")).replace("\t", " ")
    return shown if isinstance(field, TextArea) else shown.strip("\n").replace("\n", " ")


TYPING = {
    "AdoptScreen", "AddScreen", "AmountsScreen", "ChooseScreen", "DecisionScreen", "FindScreen",
    "FreezeScreen", "NameScreen", "PackScreen", "ReasonScreen", "ScoreScreen", "SettleScreen",
    "SupersedeScreen", "TakeInScreen", "TrialScreen", "WriteOutScreen", "WritingScreen",
}  # fmt: skip
"""Screens that take typing from the start."""


@pytest.mark.parametrize("name", sorted(TYPING))
async def test_every_field_takes_every_hostile_text_whole(
    name: str, make_app: OpenApp, monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    monkeypatch.chdir(str(tmp_path))
    async with make_app().run_test(size=(100, 50)) as pilot:
        await go(pilot, WALKS[name])
        screen, revision = pilot.app.screen, app_of(pilot).where.revision
        fields = [
            each for each in screen.query("Input, TextArea") if each.display and not each.disabled
        ]
        assert fields
        for number, field in enumerate(fields):
            assert isinstance(field, Input | TextArea)
            await fill(pilot, field, TOGETHER if number else (*CORPUS, *HUGE[:1]))
        await settled(pilot)
        assert pilot.app.screen is screen
        assert app_of(pilot).where.revision == revision
        assert_safe(seen(pilot))
        assert_no_actions(pilot)


async def fill(pilot: Driver, field: Input | TextArea, texts: Sequence[str]) -> None:
    """Paste each text and look whether all of it arrived."""
    for number, text in enumerate(texts):
        with field.prevent(Input.Changed, TextArea.Changed):
            put(field, "")
            await field._on_message(events.Paste(text))
            got = field.value if isinstance(field, Input) else field.text
        if not isinstance(field, Input) or field.max_length is None:
            assert got == expected(text, field)
        if number % 250 == 0:
            await pilot.pause()
            assert_safe(seen(pilot))
    put(field, "")


def put(field: Input | TextArea, text: str) -> None:
    if isinstance(field, Input):
        field.value = text
    else:
        field.text = text
