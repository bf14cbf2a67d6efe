"""Options in columns, their dead ones dropped, and the weighted score as it is typed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.tui.conftest import OpenApp, fixed_tools
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tests.tui.test_hostile import TEXTS, assert_safe, poisoned
from tracker.services.actions import add_items, amend_item, settle, try_trial, withdraw
from tracker.services.item import item_page
from tracker.services.mending_views import MendedView
from tracker.services.session import Session
from tracker.services.trial_mending import mend_trial
from tracker.services.weighing import score, weigh
from tracker.store.open import open_store
from tracker.tui.face import Face
from tracker.tui.layout.paper import Lines
from tracker.tui.layout.ripple import proposal_at, ripple_lines
from tracker.tui.layout.roots import root_lines
from tracker.tui.layout.trials import Compared, trials_lines
from tracker.tui.layout.weighing import score_lines, weigh_lines
from tracker.tui.screens.deciding import SettleScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.score import ScoreScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.screens.weigh import WeighScreen

SIZE = (110, 44)


@pytest.fixture
def session(location: Path) -> Iterator[Session]:
    session = Session(open_store(location), fixed_tools("more"), "Ada")
    yield session
    session.store.close()


async def weigh_item(pilot: Driver, key: str) -> None:
    await settled(pilot)
    app_of(pilot).open_item(key)
    await settled(pilot)
    await press(pilot, "O")


async def test_dead_options_are_dropped_with_what_kills_them(
    make_app: OpenApp, other: Session
) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await weigh_item(pilot, "D-GEAR")
        page(pilot, WeighScreen)
        shown = seen(pilot)
        assert "▸ ahead" in shown
        assert "applied" in shown
        assert "C-SENSE.sense missed: -1" in shown
        line = next(each for each in shown.splitlines() if "standing" in each)
        assert line.split()[1:] == ["standing", "⊠", "broken", "■", "stands", "■", "stands"] or (
            line.split()[-6:] == ["⊠", "broken", "■", "stands", "■", "stands"]
        )
        await press(pilot, "right", "s")
        page(pilot, SettleScreen)
        shown = seen(pilot)
        assert "[over]" in shown
        assert "C-SENSE.sense missed: -1 against at least 1, −2 (−200 %)" in shown
        await press(pilot, "tab")
        await type_text(pilot, "it needs a seal and no more")
        await press(pilot, "ctrl+s")
        assert "a reason is wanted here" in seen(pilot)  # aft is alive: why not is for people
        await press(pilot, "tab", "tab")
        await type_text(pilot, "it costs twice as much")
        await press(pilot, "ctrl+s")
        page(pilot, WeighScreen)
        assert "Stored as 7: D-GEAR settled on over" in seen(pilot)
        assert "against it" in seen(pilot)
        await press(pilot, "s")
        assert "Cannot settle now: it is settled; reopen it first" in seen(pilot)
        await press(pilot, "l")
        assert "Cannot lean now" in seen(pilot)
        other.refresh()
        assert dict(item_page(other, "D-GEAR").paragraphs)["against ahead"].startswith("C-SENSE")


async def test_an_option_is_leaned_to_or_tried_from_its_column(make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await weigh_item(pilot, "D-GEAR")
        await press(pilot, "left", "t")
        page(pilot, TrialScreen)
        assert app_of(pilot).trial.edits == {"D-GEAR": "aft"}
        assert "would stand again" in seen(pilot)
        await press(pilot, "escape", "l")
        page(pilot, WeighScreen)
        assert "Stored as 7: D-GEAR leans to aft" in seen(pilot)
        roll = page(pilot, WeighScreen).roll()
        assert roll.point_at("C-SENSE")
        await press(pilot, "enter")
        assert page(pilot, ItemScreen).key == "C-SENSE"


async def test_a_withdrawn_decision_says_what_cannot_be_done(
    make_app: OpenApp, other: Session
) -> None:
    withdraw(other, "D-GEAR", "nobody asks any more")
    async with make_app().run_test(size=(80, 24)) as pilot:
        await weigh_item(pilot, "D-GEAR")
        await press(pilot, "t")
        assert "Cannot try now: it is withdrawn; reopen it first" in seen(pilot)


async def test_a_decision_without_options_says_so(make_app: OpenApp, other: Session) -> None:
    add_items(other, [{"kind": "decision", "key": "D-0", "question": "Which?"}], "asked")
    async with make_app().run_test(size=(80, 24)) as pilot:
        await weigh_item(pilot, "D-0")
        assert "It has no options to weigh." in seen(pilot)
        await press(pilot, "right", "s")
        assert "Cannot settle now: it has no options" in seen(pilot)


async def test_a_score_is_added_up_as_it_is_typed_and_kept_as_a_draft(make_app: OpenApp) -> None:
    """D-TOOLS: (2 · 3 + 1 · 5) ÷ 3 = 3.67 against (2 · 4 + 1 · 3) ÷ 3 = 3.67: a tie."""
    async with make_app().run_test(size=(80, 24)) as pilot:
        await weigh_item(pilot, "D-TOOLS")
        await press(pilot, "p")
        page(pilot, ScoreScreen)
        assert "Give the criteria weights" in seen(pilot)
        for text in ("2", "3", "4", "1", "5"):
            await type_text(pilot, text)
            await press(pilot, "tab")
        assert "own                 3.67" in " ".join(seen(pilot).splitlines())
        assert "a rating is wanting" in seen(pilot)
        await type_text(pilot, "3")
        ranked = [each for each in seen(pilot).splitlines() if each.startswith(" 1.")]
        assert len(ranked) == 2
        await press(pilot, "backspace")
        await type_text(pilot, "much")
        assert "rating shared" in seen(pilot)
        await press(pilot, "escape")
        page(pilot, WeighScreen)
        await press(pilot, "p")
        assert app_of(pilot).draft("score D-TOOLS")["own/COST-1"] == "3"
        await press(pilot, "ctrl+r")
        page(pilot, WeighScreen)
        assert "The weights and ratings are dropped" in seen(pilot)
        assert not app_of(pilot).draft("score D-TOOLS")


def test_the_column_picked_is_in_view_however_many_there_are(session: Session) -> None:
    view = weigh(session, "D-GEAR")
    many = replace(
        view,
        options=tuple(replace(view.options[0], key=f"o{at}") for at in range(9)),
        rows=tuple(replace(row, cells=row.cells[:1] * 9) for row in view.rows),
        costs=(),
    )
    for picked in range(9):
        lines = weigh_lines(many, picked, 79, Face())
        texts = [lines.line(at).text for at in range(len(lines))]
        assert any(f"▸ o{picked}" in text for text in texts)
    assert any("◂ 7 | 0 ▸" in text for text in texts)


def trial_layouts(session: Session, text: str) -> list[Callable[[int, Face], Lines]]:
    """Every layout of trying and weighing, of read models poisoned throughout."""
    amend_item(session, "years", {"low": "1", "high": "10"}, "it may move")
    edits = {"volume": "8000", "D-GEAR": "over"}
    ripple = poisoned(try_trial(session, edits), text)
    mended = poisoned(mend_trial(session, {"volume": "8000"}), text)
    compared = [
        Compared(text, ((text, text, text), ("", "", "")), ripple),
        Compared("b", (), None, wrong=text),
    ]
    made: list[Callable[[int, Face], Lines]] = [
        lambda width, face: ripple_lines(ripple, width, face, mended),
        lambda width, face: ripple_lines(ripple, width, face, looking=text),
        partial(trials_lines, compared, 0),
        partial(trials_lines, compared, 1),
    ]
    made += [
        partial(weigh_lines, poisoned(weigh(session, key), text), 1)
        for key in ("D-GEAR", "D-TOOLS")
    ]
    made += [
        partial(root_lines, (key, text), poisoned(item_page(session, key), text))
        for key in ("COST-1", "STEER-1", "volume", "tooling", "C-TOOLS", "D-GEAR", "G1")
    ]
    found = score((text,), {text: "1"}, {(text, text): "2"})
    made.append(partial(score_lines, found, ((text, text),)))
    return made


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_layout_of_trying_is_safe_and_fits(
    session: Session, text: str, *, ascii_only: bool
) -> None:
    face = Face(ascii_only=ascii_only)
    for make in trial_layouts(session, text):
        for width in (79, 119, 160):
            lines = make(width, face)
            for at in range(len(lines)):
                line = lines.line(at).text
                assert_safe(line)
                assert cell_len(line) <= width, line
                assert not ascii_only or line.isascii()


def test_a_line_that_is_no_proposal_stands_for_none(session: Session) -> None:
    amend_item(session, "years", {"low": "1", "high": "10"}, "it may move")
    view = mend_trial(session, {"volume": "8000"})
    assert proposal_at(view, "=0/0") is view.decisions[0].proposals[0]
    assert proposal_at(view, "D-TOOLS") is None
    assert proposal_at(view, "=mend") is None


def test_what_was_looked_at_in_vain_is_told(session: Session) -> None:
    settle(session, "D-GEAR", "over", "it fits", {"ahead": "wrong way", "aft": "dear"})
    ripple = try_trial(session, {"volume": "8000"})
    view = mend_trial(session, {"volume": "8000"})
    vain = [replace(each, paired=True, options=0) for each in view.decisions]
    assert [type(each) for each in vain] == [MendedView]
    page = ripple_lines(ripple, 99, Face(), replace(view, decisions=tuple(vain)))
    texts = [page.line(at).text for at in range(len(page))]
    assert any("no number may be moved, pairs of them too)" in text for text in texts)
