"""Looking rather than reading: curves, the corner, the neighbourhood, the matrix, the timeline."""

from __future__ import annotations

import pytest

from tests.tui.driving import Driver, app_of, page, press, seen, settled
from tests.unit.services.pictured import MORE, drawn_session
from tests.unit.services.small import empty_session
from tracker.services.actions import add_items, settle
from tracker.services.session import Session
from tracker.services.wording import CAUTION
from tracker.tui.app import WhyboneApp
from tracker.tui.screens.choose import ChooseScreen
from tracker.tui.screens.curves import CurvesScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.journal import ChangeScreen, JournalScreen
from tracker.tui.screens.matrix import MatrixScreen
from tracker.tui.screens.neighbours import NeighboursScreen
from tracker.tui.screens.sketch import SketchScreen
from tracker.tui.screens.timeline import TimelineScreen
from tracker.tui.screens.trial import TrialScreen

SMALL, WIDE = (80, 24), (160, 50)


def app_on(session: Session | None = None, *, ascii_only: bool = False) -> WhyboneApp:
    held = session or drawn_session()
    return WhyboneApp(lambda: held, ascii_only=ascii_only, pace=0.0)


async def look_at(pilot: Driver, key: str, *keys: str) -> str:
    """Open an item's page, then press keys."""
    await settled(pilot)
    if key:
        app_of(pilot).open_item(key)
        await settled(pilot)
    await press(pilot, *keys)
    return seen(pilot)


# --- curves


async def test_curves_show_the_band_the_present_point_and_values_at_the_cursor() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "R-FORCE", "C")
        assert page(pilot, CurvesScreen).key == "R-FORCE"
        assert "1/6 C-RAMP: force" in shown
        assert "R-FORCE upper" in shown
        assert "◆" in shown.partition("force [N]")[2]
        assert "at 40.0 mm:  a 80.0  N" in shown
        assert "● met R-FORCE" in shown
        assert CAUTION[:60] in shown
        await press(pilot, "right")
        assert "at 50.0 mm:  a 100.0  N" in seen(pilot)
        await press(pilot, "left", "left")
        assert "at 0.0 mm:  a 0.0  N" in seen(pilot)
        await press(pilot, "home")
        assert "at 40.0 mm" in seen(pilot)


async def test_pictures_are_leafed_through_and_a_sketch_has_no_cursor() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "C-RAMP", "C", "up")
        shown = seen(pilot)
        assert "6/6 C-RAMP: Ramp from the side" in shown
        assert "top" in shown
        await press(pilot, "right")
        assert "Cannot move now: it is a sketch" in seen(pilot)
        await press(pilot, "pagedown")
        assert "6/6" in seen(pilot)
        await press(pilot, "pageup", "tab", "enter")
        assert page(pilot, ItemScreen).key == "C-RAMP"


async def test_many_pictures_share_a_large_terminal_and_a_click_reads_one() -> None:
    async with app_on().run_test(size=WIDE) as pilot:
        shown = await look_at(pilot, "C-RAMP", "C")
        assert all(f"{at}/6 C-RAMP" in shown for at in (1, 2, 3, 4))
        assert "5/6" not in shown
        line = next(row for row in shown.splitlines() if "2/6 C-RAMP" in row)
        await pilot.click(offset=(line.index("2/6") + 40, 8))
        await settled(pilot)
        chosen = next(row for row in seen(pilot).splitlines() if "2/6 C-RAMP" in row)
        assert "▸ 2/6" in chosen
        await press(pilot, "pagedown")
        assert "5/6 C-RAMP" in seen(pilot)
        await pilot.click(offset=(150, 40))  # no picture is there
        await settled(pilot)
        await press(pilot, "y")
        assert "6/6 C-RAMP" in app_of(pilot).clipboard


async def test_a_trial_is_drawn_over_what_is_stored() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "slope", "e")
        await press(pilot, "end", "backspace", "backspace", "backspace", "backspace", "backspace")
        await press(pilot, "backspace", "3")
        app = app_of(pilot)
        assert app.trial.edits == {"slope": "3"}
        shown = await look_at(pilot, "R-FORCE", "C")
        assert "The trial is drawn; what is stored is dotted." in shown
        assert "at 40.0 mm:  a 120.0 (was 80.0)  N" in shown
        assert "✕ missed R-FORCE" in shown
        app.trial.type("slope", "three")
        await look_at(pilot, "R-FORCE", "C")
        assert "The trial is not drawn: " in seen(pilot)


async def test_no_picture_says_why_and_its_keys_say_so_too() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        assert "No picture: no check computes it or takes it in." in await look_at(
            pilot, "alone", "C"
        )
        for key in ("right", "tab", "z", "enter", "pagedown"):
            await press(pilot, key)
            assert "now: there is no picture" in seen(pilot)
        await pilot.click(offset=(20, 10))
        assert page(pilot, CurvesScreen)


async def test_closer_leaves_the_other_curves_out_of_the_scale() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        before = await look_at(pilot, "R-FORCE", "C")
        await press(pilot, "z")
        await press(pilot, "z")
        assert seen(pilot) == before


# --- the corner


async def test_a_point_moves_by_steps_and_goes_to_the_trial() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "top", "V")
        assert page(pilot, SketchScreen).key == "top"
        assert "top  x 100  y 20  z 60" in shown
        assert "step 1 mm   up/down: up   left/right: backward" in shown
        assert "Nothing is tried" in shown
        await press(pilot, "plus", "plus", "up", "right")
        shown = seen(pilot)
        assert "step 5 mm" in shown
        assert "top  x 95  y 20  z 65   (x -5, z +5 from stored)" in shown
        assert "The trial: no decision changes its standing or its ground" in shown
        assert app_of(pilot).trial.edits == {"D-TOP/low.top": "[95, 20, 65] mm"}
        await press(pilot, "enter")
        assert page(pilot, TrialScreen)
        assert "[95, 20, 65] mm" in seen(pilot)


async def test_a_step_too_far_breaks_a_decision_at_once_and_putting_back_mends_it() -> None:
    async with app_on().run_test(size=WIDE) as pilot:
        await look_at(pilot, "top", "V")
        await press(pilot, *["plus"] * 9, "down")
        shown = seen(pilot)
        assert "step 50 mm" in shown
        assert "z 10" in shown
        await press(pilot, "down")
        assert "The trial: breaks D-TOP" in seen(pilot)
        assert "✕ missed  R-TOP" in seen(pilot)
        await press(pilot, "home")
        assert app_of(pilot).trial.edits == {}
        assert "Nothing is tried" in seen(pilot)
        await press(pilot, *["minus"] * 20)
        assert "step 0.1 mm" in seen(pilot)


async def test_the_next_point_moves_in_its_own_unit() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "C-RAMP", "V")
        assert "foot  x 10  y 20  z 30" in seen(pilot)
        await press(pilot, "up")
        assert app_of(pilot).trial.edits == {"foot": "[1, 2, 3.1] cm"}
        await press(pilot, "tab")
        assert "top  x 100" in seen(pilot)
        await press(pilot, "shift+tab")
        assert "foot  x 10  y 20  z 31" in seen(pilot)


async def test_curves_follow_the_point_and_change_on_demand() -> None:
    session = drawn_session()
    add_items(session, MORE, "another ramp")
    async with app_on(session).run_test(size=WIDE) as pilot:
        shown = await look_at(pilot, "foot", "V")
        assert "C-RAMP: plain" in shown
        await press(pilot, "full_stop")
        assert "C-RAMP: plain" in seen(pilot)  # there is no other that takes the foot
        await press(pilot, "comma", "space")
        assert "1/1 Ramp from the side" in seen(pilot)


async def test_a_click_takes_a_point_or_the_next_curves() -> None:
    for size in (SMALL, WIDE):
        async with app_on().run_test(size=size) as pilot:
            shown = await look_at(pilot, "foot", "V")
            assert "foot  x 10" in shown
            rows = shown.splitlines()
            at = next(row for row, line in enumerate(rows) if "◇" in line)  # the top's
            await pilot.click(offset=(rows[at].index("◇"), at))
            await settled(pilot)
            assert "top  x 100" in seen(pilot)
            await pilot.click(offset=(30, 3))  # the view, away from all points
            await settled(pilot)
            assert "top  x 100" in seen(pilot)
            below = next(row for row, line in enumerate(rows) if "C-RAMP: plain" in line)
            await pilot.click(offset=(rows[below].index("C-RAMP") + 2, below))
            await settled(pilot)
            assert "C-RAMP: plain" in seen(pilot)


async def test_the_trial_taken_up_elsewhere_is_where_the_point_is() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "top", "V", "up", "escape")
        await press(pilot, "V")
        assert "z 61   (z +1 from stored)" in seen(pilot)
        await press(pilot, "up")
        assert "z 62" in seen(pilot)


async def test_a_point_that_is_settled_or_computed_says_why_it_stays() -> None:
    session = drawn_session()
    settle(session, "D-TOP", "low", "it is low enough", {"high": "too steep"})
    add_items(session, MORE, "another ramp")
    async with app_on(session).run_test(size=SMALL) as pilot:
        await look_at(pilot, "C-BACK", "V")
        assert "No point here can be moved: check C-COPY computes it" in seen(pilot)
        for key in ("up", "tab", "home", "enter"):
            await press(pilot, key)
            assert "now: no point here can be moved" in seen(pilot)


async def test_a_trial_that_does_not_hold_leaves_the_stored_sketch() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "slope", "e")
        app_of(pilot).trial.type("slope", "three")
        assert "Not worked out: " in await look_at(pilot, "top", "V")


async def test_no_sketch_says_why() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "alone", "V", "up")
        assert "No sketch: no check that takes its points draws the vehicle." in shown
        assert "Cannot nudge now: there is no sketch" in shown


# --- the neighbourhood


async def test_the_graph_is_walked_and_walked_back() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "force", "N")
        assert "It hangs on" in shown
        assert "∙ C-RAMP" in shown
        assert "● R-FORCE" in shown
        await press(pilot, "enter")
        screen = page(pilot, NeighboursScreen)
        assert screen.key == "C-RAMP"
        assert "walked from force" in seen(pilot)
        await press(pilot, "right", "down", "full_stop")
        assert page(pilot, ItemScreen).key == "spare"
        await press(pilot, "escape", "escape")
        assert page(pilot, NeighboursScreen).key == "force"
        await press(pilot, "i")
        assert page(pilot, ItemScreen).key == "force"
        await press(pilot, "escape", "escape")
        assert page(pilot, ItemScreen).key == "force"


async def test_more_steps_go_deeper_within_bounds() -> None:
    async with app_on().run_test(size=WIDE) as pilot:
        await look_at(pilot, "force", "N", "minus")
        assert "one step is the least" in seen(pilot)
        await press(pilot, "plus")
        shown = seen(pilot)
        assert "2 steps shown on either side" in shown
        assert "slope" in shown
        await press(pilot, "plus", "plus", "plus", "plus")
        assert "5 steps are the most" in seen(pilot)


async def test_an_item_alone_has_nothing_around_it() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        assert (await look_at(pilot, "alone", "N")).count("nothing") == 2
        await press(pilot, "enter")
        assert "no neighbour is at the cursor" in seen(pilot)


async def test_a_neighbour_is_walked_to_by_mouse() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "force", "N")
        row = next(at for at, line in enumerate(shown.splitlines()) if "R-FORCE" in line)
        column = shown.splitlines()[row].index("R-FORCE")
        await pilot.click(offset=(column, row))
        await settled(pilot)
        assert page(pilot, NeighboursScreen).key == "R-FORCE"


# --- the matrix


async def test_the_matrix_is_walked_mark_by_mark() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "", "X")
        assert page(pilot, MatrixScreen)
        assert "3 decisions, 3 dependencies" in shown
        await press(pilot, "tab")
        assert "D-RAMP needs of D-TOP: top" in seen(pilot)
        await press(pilot, "shift+tab", "shift+tab")
        assert "D-IDLE needs of D-TOP: top" in seen(pilot)
        await press(pilot, "tab")
        assert "D-IDLE rests on D-RAMP" in seen(pilot)
        await press(pilot, "x")
        assert "D-RAMP needs nothing of D-IDLE" in seen(pilot)
        await press(pilot, "x", "home")
        assert "D-IDLE: Anything else?" in seen(pilot)
        await press(pilot, "up", "left", "down", "right", "pageup", "pagedown", "enter")
        assert page(pilot, ItemScreen).key == "D-IDLE"


async def test_a_pair_offers_both_and_what_passes() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "", "X", "tab", "enter")
        shown = seen(pilot)
        assert page(pilot, ChooseScreen)
        assert all(key in shown for key in ("D-RAMP", "D-TOP", "passes"))
        await press(pilot, "down", "down", "enter")
        assert page(pilot, ItemScreen).key == "top"


async def test_checks_have_a_matrix_too_and_a_click_moves_the_cursor() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "", "X", "space")
        shown = seen(pilot)
        assert "Dependency matrix of checks" in shown
        assert "2 checks, 0 dependencies" in shown
        await press(pilot, "tab")
        assert "nothing depends on anything" in seen(pilot)
        row = next(at for at, line in enumerate(shown.splitlines()) if " C-COPY" in line)
        await pilot.click(offset=(29, row))
        await settled(pilot)
        assert "row 2 C-COPY" in seen(pilot)
        await pilot.click(offset=(5, row), times=2)
        await settled(pilot)
        assert not isinstance(pilot.app.screen, MatrixScreen)


async def test_an_empty_matrix_says_so() -> None:
    async with app_on(empty_session()).run_test(size=SMALL) as pilot:
        assert "No decision to show." in await look_at(pilot, "", "X")
        await press(pilot, "down", "enter", "tab")
        assert "there is no decision" in seen(pilot)
        await pilot.click(offset=(20, 8))
        await press(pilot, "escape")
        assert "The journal is empty" not in await look_at(pilot, "", "L")


# --- the timeline


async def test_the_timeline_leads_to_changes_and_into_the_journal() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "", "L")
        assert page(pilot, TimelineScreen)
        assert "2031-01: 3 changes: Ann 3" in shown
        assert "G1 2031-03-01 Concept" in shown
        assert "create the pr" in shown
        await press(pilot, "right")
        assert "2031-02: no changes" in seen(pilot)
        await press(pilot, "o")
        assert "Cannot open journal now: no change was made then" in seen(pilot)
        await press(pilot, "right", "enter")
        assert page(pilot, ItemScreen).key == "G1"
        await press(pilot, "escape", "shift+left", "shift+right", "shift+left", "end", "enter")
        assert page(pilot, ChangeScreen)
        await press(pilot, "escape", "o")
        assert page(pilot, JournalScreen).roll().target == "3"


async def test_a_month_is_chosen_by_mouse_and_the_journal_is_read_in_stretches(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("tracker.tui.screens.timeline.STRETCH", 1)
    async with app_on().run_test(size=SMALL) as pilot:
        shown = await look_at(pilot, "", "L")
        assert "2031-01: 3 changes" in shown
        row = next(at for at, line in enumerate(shown.splitlines()) if "└" in line)
        await pilot.click(offset=(6 + 6 * 2 + 1, row))
        await settled(pilot)
        assert "Gate G1 Concept, 2031-03-01" in seen(pilot)
        await pilot.click(offset=(1, row))
        await settled(pilot)
        assert "Gate G1 Concept" in seen(pilot)


# --- all of them


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("size", [SMALL, (120, 40), WIDE])
async def test_every_picture_fits_every_terminal(size: tuple[int, int], ascii_only: bool) -> None:
    async with app_on(ascii_only=ascii_only).run_test(size=size) as pilot:
        for key, letter in (("C-RAMP", "C"), ("top", "V"), ("force", "N"), ("", "X"), ("", "L")):
            shown = await look_at(pilot, key, letter)
            assert len(shown.splitlines()) == size[1]
            assert not ascii_only or shown.isascii()
            await press(pilot, "h")


async def test_a_picture_follows_a_resize() -> None:
    async with app_on().run_test(size=SMALL) as pilot:
        await look_at(pilot, "R-FORCE", "C", "right")
        await pilot.resize_terminal(*WIDE)
        await settled(pilot)
        shown = seen(pilot)
        assert "4/6 C-RAMP" in shown
        assert "at 50.0 mm" in shown
        await pilot.resize_terminal(80, 30)
        await settled(pilot)
        assert "4/6 C-RAMP" not in seen(pilot)
